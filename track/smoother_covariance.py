"""Covariances of a chain of epochs with a border of global parameters.

They come from the selected inverse of the chain, found by odd-even (cyclic) reduction of its
block-tridiagonal form, so that the work runs in numpy over all epochs at once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg.lapack import dtbtrs

from track.path import Floats, Ints


@dataclass(frozen=True, kw_only=True)
class Chain:
    """The factorised precision of the epochs, the parameters being held.

    Attributes
    ----------
    band : array, shape (2 * states, states, n)
        Lower band of the precision, ``band[d, s, k]`` at row ``k * states + s + d``.
    lower : array, shape (2 * states, n * states)
        Its Cholesky factor's band.
    half : array, shape (n * states, k)
        Forward half of the solution for what the chain shares with some parameters.
    told : array of int, shape (k,)
        Which parameters.
    """

    band: Floats
    lower: Floats
    half: Floats
    told: Ints

    @cached_property
    def lean(self) -> Floats:
        """Derivative of the states' estimate by the parameters told, shape (n, states, k)."""
        whole = back_substituted(self.lower, self.half)
        _, states, n = self.band.shape
        return -whole.reshape(n, states, -1)

    @cached_property
    def selected(self) -> tuple[Floats, Floats]:
        """Covariances: each epoch's, and each with its successor's."""
        _, states, n = self.band.shape
        diagonal = np.empty((n, states, states))
        below = np.empty((n - 1, states, states))
        for i in range(states):
            for j in range(states):
                low, high = min(i, j), max(i, j)
                diagonal[:, i, j] = self.band[high - low, low]
                below[:, i, j] = self.band[states + i - j, j, :-1]
        return selected_inverse(diagonal, below)


@dataclass(frozen=True, kw_only=True)
class Solution:
    """What the covariance of every state follows from.

    Attributes
    ----------
    chain : Chain
    border : array, shape (parameters, parameters)
        Covariance of the parameters.
    gain : float
        Slope of the objective along the step, negated.
    carried : array, shape (n, states, parameters), or None
        What the states move with the parameters beside their estimate, such as with the clocks.
    """

    chain: Chain
    border: Floats
    gain: float = 0.0
    carried: Floats | None = None

    @cached_property
    def lean(self) -> Floats:
        """Derivative of the states by the parameters, shape (n, states, parameters)."""
        _, states, n = self.chain.band.shape
        lean = np.zeros((n, states, len(self.border)))
        lean[:, :, self.chain.told] = self.chain.lean
        return lean if self.carried is None else lean + self.carried

    def variances(self) -> Floats:
        """Variance of each state, shape (n, states), parameters included."""
        given: Floats = np.einsum("kii->ki", self.chain.selected[0])
        shared: Floats = ((self.lean @ self.border) * self.lean).sum(axis=2)
        return given + shared

    def joint(self, epochs: Ints, states: Sequence[int]) -> Floats:
        """Covariance of some states at some ascending epochs, parameters included.

        Returns
        -------
        array, shape (k * s, k * s)
            Ordered by epoch, then by state.
        """
        chosen = list(states)
        k, s = len(epochs), len(chosen)
        out = np.zeros((k * s, k * s))
        diagonal, below = self.chain.selected
        # Given the parameters the epochs are a Markov chain: what an epoch shares with any later
        # one is passed on link by link.
        carried = np.zeros((diagonal.shape[1], 0))
        for row, epoch in enumerate(epochs.tolist()):
            if row:
                carried = _links(diagonal, below, int(epochs[row - 1]), epoch) @ carried
            span = slice(row * s, (row + 1) * s)
            out[span, : row * s] = carried[chosen]
            out[: row * s, span] = carried[chosen].T
            out[span, span] = diagonal[epoch][np.ix_(chosen, chosen)]
            carried = np.concatenate([carried, diagonal[epoch][:, chosen]], axis=1)
        lean = self.lean[epochs][:, chosen].reshape(k * s, -1)
        result: Floats = out + lean @ self.border @ lean.T
        return result


def back_substituted(lower: Floats, half: Floats) -> Floats:
    """The second half of a solution from a Cholesky band, one column or several."""
    solved: Floats = dtbtrs(lower, half, uplo="L", trans="T")[0]
    return solved.reshape(half.shape)


def _links(diagonal: Floats, below: Floats, start: int, end: int) -> Floats:
    """Product of the chain's links from one epoch to a later one."""
    links = below[start:end] @ np.linalg.inv(diagonal[start:end])
    while len(links) > 1:
        odd = links[-1:] if len(links) % 2 else links[:0]
        links = np.concatenate([links[1::2] @ links[: len(links) // 2 * 2 : 2], odd])
    product: Floats = links[0] if len(links) else np.eye(diagonal.shape[1])
    return product


def selected_inverse(diagonal: Floats, below: Floats) -> tuple[Floats, Floats]:
    """Blocks on and next to the diagonal of a block-tridiagonal matrix's inverse.

    Parameters
    ----------
    diagonal : array, shape (n, s, s)
        Blocks on the diagonal of a symmetric positive definite matrix.
    below : array, shape (n - 1, s, s)
        Blocks below the diagonal: row ``k + 1``, column ``k``.

    Returns
    -------
    (array, array), shapes (n, s, s) and (n - 1, s, s)
        The same blocks of the inverse.

    Examples
    --------
    >>> import numpy as np
    >>> block, link = np.full((2, 1, 1), 2.0), np.full((1, 1, 1), -1.0)
    >>> [part.round(3).ravel().tolist() for part in selected_inverse(block, link)]
    [[0.667, 0.667], [0.333]]
    """
    n = len(diagonal)
    if n == 1:
        return np.asarray(np.linalg.inv(diagonal), dtype=np.float64), below
    odd_inverse = np.linalg.inv(diagonal[1::2])
    left = below[0::2]  # odd row, column of the even epoch before it
    right = below[1::2]  # row of the even epoch after it, odd column
    r = len(right)
    from_left = -odd_inverse @ left
    from_right = -odd_inverse[:r] @ right.transpose(0, 2, 1)
    even = diagonal[0::2].copy()
    even[: len(left)] += left.transpose(0, 2, 1) @ from_left
    even[1 : r + 1] += right @ from_right
    even_inverse, even_below = selected_inverse(even, right @ from_left[:r])
    to_left = from_left @ even_inverse[: len(left)]
    to_left[:r] += from_right @ even_below
    to_right = from_right @ even_inverse[1 : r + 1]
    to_right += from_left[:r] @ even_below.transpose(0, 2, 1)
    out = np.empty_like(diagonal)
    out[0::2] = even_inverse
    spread = odd_inverse + to_left @ from_left.transpose(0, 2, 1)
    spread[:r] += to_right @ from_right.transpose(0, 2, 1)
    out[1::2] = spread
    out_below = np.empty_like(below)
    out_below[0::2] = to_left
    out_below[1::2] = to_right.transpose(0, 2, 1)
    return out, out_below
