"""Normal equations of a chain of epochs with a border of global parameters.

The unknowns are ``n`` epochs of ``states`` numbers each, coupled only to their neighbours, and a
few parameters that every factor may depend on. The chain's part is a banded matrix; the border is
taken out by its Schur complement. Covariances come from the selected inverse of the chain, found
by odd-even (cyclic) reduction of its block-tridiagonal form, so that the work runs in numpy over
all epochs at once.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.linalg import cho_factor, cho_solve, cho_solve_banded, cholesky_banded

from ingest.errors import RecordingError
from track.path import Floats, Ints

Where = slice | Ints
Term = tuple[int, int, Floats | float]
"""(epoch offset 0 or 1, state, derivative of the residual by that state)."""
BorderTerm = tuple[int, Floats | float]
"""(parameter, derivative of the residual by that parameter)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A set of like measurements, one residual each, with their derivatives.

    Attributes
    ----------
    kind : str
        What noise level it belongs to.
    where : slice or array of int, shape (k,)
        First epoch of each residual.
    terms : sequence of (offset, state, derivative)
    border : sequence of (parameter, derivative)
    residual : array, shape (k,)
    weight : array, shape (k,)
        Robust weight over variance.
    trust : array, shape (k,)
        The robust weight alone.
    """

    kind: str
    where: Where
    terms: Sequence[Term]
    residual: Floats
    weight: Floats
    trust: Floats
    border: Sequence[BorderTerm] = ()


class NormalEquations:
    """Accumulates factors and solves for the Gauss-Newton step."""

    def __init__(self, epochs: int, states: int, parameters: int) -> None:
        self.shape = (epochs, states, parameters)
        self._band = np.zeros((2 * states, epochs, states))
        self._cross = np.zeros((epochs, states, parameters))
        self._corner = np.zeros((parameters, parameters))
        self._rhs = np.zeros((epochs, states))
        self._corner_rhs = np.zeros(parameters)

    def add(self, factor: Factor) -> None:
        """Add a factor's weighted squares to the equations."""
        weighted_residual = factor.weight * factor.residual
        for i, (offset, state, slope) in enumerate(factor.terms):
            at = _moved(factor.where, offset)
            _accumulate(self._rhs[:, state], at, -slope * weighted_residual)
            self._add_pairs(factor, i)
            for parameter, border_slope in factor.border:
                value = factor.weight * slope * border_slope
                _accumulate(self._cross[:, state, parameter], at, value)
        self._add_corner(factor, weighted_residual)

    def add_chain(self, factor: Factor) -> None:
        """Add only what a factor adds to the chain's precision."""
        for i in range(len(factor.terms)):
            self._add_pairs(factor, i)

    @property
    def band(self) -> Floats:
        """Lower band of the chain's precision, shape (2 * states, epochs, states)."""
        return self._band

    def _add_pairs(self, factor: Factor, i: int) -> None:
        states = self.shape[1]
        offset, state, slope = factor.terms[i]
        for other_offset, other_state, other_slope in factor.terms[: i + 1]:
            apart = (offset - other_offset) * states + state - other_state
            low_offset, low_state = (other_offset, other_state) if apart >= 0 else (offset, state)
            value = factor.weight * slope * other_slope
            at = _moved(factor.where, low_offset)
            _accumulate(self._band[abs(apart), :, low_state], at, value)

    def _add_corner(self, factor: Factor, weighted_residual: Floats) -> None:
        for parameter, slope in factor.border:
            self._corner_rhs[parameter] -= np.sum(slope * weighted_residual)
            for other, other_slope in factor.border:
                self._corner[parameter, other] += np.sum(factor.weight * slope * other_slope)

    def add_prior(self, parameter: int, residual: float, sd: float) -> None:
        """Add what is known of one parameter beforehand."""
        self._corner[parameter, parameter] += 1.0 / sd**2
        self._corner_rhs[parameter] -= residual / sd**2

    def damp(self, per_state: Floats) -> None:
        """Hold each state near its present value with these precisions, shape (states,)."""
        self._band[0] += per_state

    def add_row(self, row: Floats, residual: float, sd: float) -> None:
        """Add what is known of a sum of parameters beforehand."""
        self._corner += np.outer(row, row) / sd**2
        self._corner_rhs -= row * residual / sd**2

    def add_slope(self, slope: Floats) -> None:
        """Add a term of the objective that depends on the parameters alone."""
        self._corner_rhs -= slope

    def solve(
        self, *, bounds: Mapping[int, tuple[float, float]] | None = None
    ) -> tuple[Floats, Floats, Solution]:
        """Find the Gauss-Newton step.

        Parameters
        ----------
        bounds : mapping of int to (float, float), optional
            Least and greatest step of some parameters.

        Returns
        -------
        (array, array, Solution)
            Step of the states, shape (n, states), of the parameters, and what covariance needs.
        """
        epochs, states, parameters = self.shape
        band = self._band.reshape(2 * states, -1)
        try:
            factor = cholesky_banded(band, lower=True, check_finite=False)
        except np.linalg.LinAlgError as fault:
            raise RecordingError(
                "positions: they cannot be joined into one ride (long gaps, or a way no school "
                "holds); cut the recording down to the time in the school"
            ) from fault
        sides = np.concatenate(
            [self._rhs.reshape(-1, 1), self._cross.reshape(-1, parameters)], axis=1
        )
        solved = cho_solve_banded((factor, True), sides, check_finite=False)
        free, lean = solved[:, 0], solved[:, 1:]
        cross = self._cross.reshape(-1, parameters)
        schur = self._corner - cross.T @ lean
        corner = cho_factor(schur, lower=True)
        border_step = cho_solve(corner, self._corner_rhs - cross.T @ free)
        for parameter, (low, high) in (bounds or {}).items():
            wanted = min(max(border_step[parameter], low), high)
            border_step += _held(corner, parameter, wanted - border_step[parameter])
        step = (free - lean @ border_step).reshape(epochs, states)
        lean3 = -lean.reshape(epochs, states, parameters)
        spread = cho_solve(corner, np.eye(parameters))
        gain = float((self._rhs * step).sum() + self._corner_rhs @ border_step)
        solution = Solution(band=self._band, lean=lean3, border=spread, gain=gain)
        return step, border_step, solution


@dataclass(frozen=True, kw_only=True)
class Solution:
    """What the covariance of every state follows from.

    Attributes
    ----------
    band : array, shape (2 * states, n, states)
        Lower band of the chain's precision matrix, ``band[d, k, s]`` at row ``k * states + s + d``.
    lean : array, shape (n, states, parameters)
        Derivative of the states' estimate by the parameters.
    border : array, shape (parameters, parameters)
        Covariance of the parameters.
    gain : float
        Slope of the objective along the step, negated.
    """

    band: Floats
    lean: Floats
    border: Floats
    gain: float = 0.0

    @cached_property
    def selected(self) -> tuple[Floats, Floats]:
        """Covariances given the parameters: each epoch's, and each with its successor's."""
        states = self.band.shape[2]
        n = self.band.shape[1]
        diagonal = np.empty((n, states, states))
        below = np.empty((n - 1, states, states))
        for i in range(states):
            for j in range(states):
                low, high = min(i, j), max(i, j)
                diagonal[:, i, j] = self.band[high - low, :, low]
                below[:, i, j] = self.band[states + i - j, :-1, j]
        return selected_inverse(diagonal, below)

    def marginals(self) -> Floats:
        """Covariance of each epoch's states, shape (n, states, states), parameters included."""
        return self.selected[0] + self.lean @ self.border @ self.lean.transpose(0, 2, 1)

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
        diagonal, below = self.selected
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


def _held(corner: tuple[Floats, bool], parameter: int, push: float) -> Floats:
    """Cheapest change of all parameters that moves one of them by ``push``."""
    unit = np.zeros(len(corner[0]))
    unit[parameter] = 1.0
    column: Floats = cho_solve(corner, unit)
    moved: Floats = column * (push / column[parameter])
    return moved


def _moved(where: Where, offset: int) -> Where:
    if isinstance(where, slice):
        return slice(where.start + offset, where.stop + offset)
    return where + offset


def _accumulate(target: Floats, where: Where, value: Floats) -> None:
    if isinstance(where, slice):
        target[where] += value
    else:
        np.add.at(target, where, value)
