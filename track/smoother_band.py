"""Normal equations of a chain of epochs with a border of global parameters.

The unknowns are ``n`` epochs of ``states`` numbers each, coupled only to their neighbours, and a
few parameters that every factor may depend on. The chain's part is a banded matrix; the border is
taken out by its Schur complement.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.linalg import cho_factor, cho_solve
from scipy.linalg.lapack import dpbtrf, dtbtrs

from ingest.errors import RecordingError
from track.path import Floats, Ints
from track.smoother_covariance import Chain, Solution, back_substituted

Where = slice | Ints
Adder = Callable[[Floats, Where, Floats], None]
Term = tuple[int, int, Floats | float]
"""(epoch offset 0 or 1, state, derivative of the residual by that state)."""
BorderTerm = tuple[int, Floats | float]
"""(parameter, derivative of the residual by that parameter)."""


HEAVY_TAIL: Final = 4.0
"""Degrees of freedom of the t-distribution for fixes and for steps of speed and turn rate: an
occasional wild fix, a transition, the start of a figure."""


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


def factor_of(
    kind: str,
    where: Where,
    terms: list[Term],
    residual: Floats,
    sd: Floats | float,
    *,
    trust: Floats | None = None,
    border: tuple[tuple[int, Floats | float], ...] = (),
) -> Factor:
    """A factor from the standard deviation of its residuals and, where robust, its trust."""
    given = np.ones(len(residual)) if trust is None else trust
    return Factor(
        kind=kind,
        where=where,
        terms=terms,
        residual=residual,
        weight=given / np.broadcast_to(np.asarray(sd, dtype=np.float64) ** 2, residual.shape),
        trust=given,
        border=border,
    )


def heavy(squares: Floats, numbers: int, freedom: float = HEAVY_TAIL) -> Floats:
    """Weight of a t-distributed residual from its squared standardised length."""
    return (freedom + numbers) / (freedom + squares)


class NormalEquations:
    """Accumulates factors and solves for the Gauss-Newton step."""

    def __init__(self, epochs: int, states: int, parameters: int) -> None:
        self.shape = (epochs, states, parameters)
        # Epochs run fastest while factors are added, states where the equations are solved.
        self._band = np.zeros((2 * states, states, epochs))
        # The right-hand side, and what the chain shares with each parameter.
        self._sides = np.zeros((1 + parameters, states, epochs))
        self._rhs, self._cross = self._sides[0], self._sides[1:]
        self._corner = np.zeros((parameters, parameters))
        self._corner_rhs = np.zeros(parameters)

    def add(self, factor: Factor) -> None:
        """Add a factor's weighted squares to the equations."""
        weighted_residual = factor.weight * factor.residual
        add = adding(factor.where)
        for i, (offset, state, slope) in enumerate(factor.terms):
            at = _moved(factor.where, offset)
            add(self._rhs[state], at, -slope * weighted_residual)
            self._add_pairs(factor, i, add)
            for parameter, border_slope in factor.border:
                value = factor.weight * slope * border_slope
                add(self._cross[parameter, state], at, value)
        self._add_corner(factor, weighted_residual)

    def _add_pairs(self, factor: Factor, i: int, add: Adder) -> None:
        states = self.shape[1]
        offset, state, slope = factor.terms[i]
        for other_offset, other_state, other_slope in factor.terms[: i + 1]:
            apart = (offset - other_offset) * states + state - other_state
            low_offset, low_state = (other_offset, other_state) if apart >= 0 else (offset, state)
            value = factor.weight * slope * other_slope
            at = _moved(factor.where, low_offset)
            add(self._band[abs(apart), low_state], at, value)

    def _add_corner(self, factor: Factor, weighted_residual: Floats) -> None:
        for parameter, slope in factor.border:
            self._corner_rhs[parameter] -= np.sum(slope * weighted_residual)
            for other, other_slope in factor.border:
                self._corner[parameter, other] += np.sum(factor.weight * slope * other_slope)

    def add_prior(self, parameter: int, residual: float, sd: float) -> None:
        """Add what is known of one parameter beforehand."""
        self._corner[parameter, parameter] += 1.0 / sd**2
        self._corner_rhs[parameter] -= residual / sd**2

    def add_row(self, row: Floats, residual: float, sd: float) -> None:
        """Add what is known of a sum of parameters beforehand."""
        self._corner += np.outer(row, row) / sd**2
        self._corner_rhs -= row * residual / sd**2

    def hold(self, parameter: int, sd: float) -> None:
        """Hold a parameter where it is, to within ``sd``: it moves nothing, and nothing it."""
        self._cross[parameter] = 0.0
        self._corner[parameter] = self._corner[:, parameter] = self._corner_rhs[parameter] = 0.0
        self._corner[parameter, parameter] = 1.0 / sd**2

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
        lower = self._chain_root()
        told = np.flatnonzero(self._cross.any(axis=(1, 2)))
        sides = _by_epoch(self._sides[np.append(0, told + 1)])
        # Half of each solution is enough for the border; only what is left of the right-hand side
        # is taken all the way back, and the derivatives by the parameters when they are asked for.
        half = dtbtrs(lower, sides, uplo="L", overwrite_b=True)[0]
        half_step, half_cross = half[:, 0], half[:, 1:]
        schur, left = self._corner.copy(), self._corner_rhs.copy()
        schur[np.ix_(told, told)] -= half_cross.T @ half_cross
        left[told] -= half_cross.T @ half_step
        corner = cho_factor(schur, lower=True)
        border_step = cho_solve(corner, left)
        for bound, (low, high) in (bounds or {}).items():
            wanted = min(max(float(border_step[bound]), low), high)
            border_step += _held(corner, bound, wanted - float(border_step[bound]))
        step = back_substituted(lower, half_step - half_cross @ border_step[told])
        step = step.reshape(epochs, states)
        gain = float((self._rhs * step.T).sum() + self._corner_rhs @ border_step)
        solution = Solution(
            chain=Chain(band=self._band, lower=lower, half=half_cross, told=told),
            border=cho_solve(corner, np.eye(parameters)),
            gain=gain,
        )
        return step, border_step, solution

    def _chain_root(self) -> Floats:
        """Lower Cholesky band of the chain's precision, shape (2 * states, n * states)."""
        epochs, states, _ = self.shape
        band = np.ascontiguousarray(self._band.transpose(2, 1, 0)).reshape(epochs * states, -1).T
        lower, fault = dpbtrf(band, lower=1, overwrite_ab=1)
        if fault:
            raise RecordingError(
                "positions: they cannot be joined into one ride (long gaps, or a way no school "
                "holds); cut the recording down to the time in the school"
            )
        return np.asarray(lower)


def _by_epoch(rows: Floats) -> Floats:
    """Rows of (states, epochs) as columns that go through the states of each epoch in turn.

    Returns
    -------
    array, shape (n * states, k)
        Columns are contiguous.
    """
    k, states, epochs = rows.shape
    return np.ascontiguousarray(rows.transpose(0, 2, 1)).reshape(k, epochs * states).T


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


def adding(where: Where) -> Adder:
    """How values are added at some epochs: the quick way where none comes twice."""
    if isinstance(where, slice) or bool((where[1:] > where[:-1]).all()):
        return _add_once
    return _add_each


def _add_each(target: Floats, where: Where, value: Floats) -> None:
    np.add.at(target, np.asarray(where), value)


def _add_once(target: Floats, where: Where, value: Floats) -> None:
    target[where] += value
