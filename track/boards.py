"""The boards as a ruler: where the ridden line runs along a side, its distance from it is known.

Only straight riding close to a side and parallel to it counts. Circles, diagonals and centre lines
are what is to be judged and are never tied to anything.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, Size
from track.evidence import EPOCH_S
from track.path import Floats
from track.smoother_band import Factor
from track.smoother_state import OFFSET, PSI, State, V, X, Y

WANDER_M: Final = 0.35
WANDER_LENGTH_M: Final = 9.0
"""A rider strays so far from the track, sd, and is back on it after so many metres: one independent
distance from the side in so many metres, however long they take her [judgement]."""
BEYOND_M: Final = 6.0
"""So far beyond its end, by the path as it is drawn so far, a side no longer counts."""
LEAST_RUN: Final = 3
"""Epochs that a pass along a side must last: a circle's touch is shorter and bent."""
SLACK_EPOCHS: Final = 3
"""At either end, beyond the fixes, the line bends as it may: boards would come and go there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ruler:
    """What counts as riding along a side.

    Attributes
    ----------
    parallel_rad : float
        Angle to a side from which on nothing counts.
    straight_1m : float, 1/m
        Curvature above which riding is no longer 'along'.
    near_m : float
        Distance from where the boards have it, from which on nothing counts.
    chord_epochs : int
        Direction and curvature are those of chords over so many epochs either way; 0 takes the
        states' own.
    """

    parallel_rad: float
    straight_1m: float
    near_m: float
    chord_epochs: int


BY_TURNS: Final = Ruler(
    parallel_rad=float(np.radians(12.0)), straight_1m=1 / 16.0, near_m=3.0, chord_epochs=0
)
"""With a gyroscope the shape is known well: little more curved than half a 20 m circle is bent."""
BY_PLACES: Final = Ruler(
    parallel_rad=float(np.radians(20.0)), straight_1m=0.09, near_m=6.0, chord_epochs=2
)
"""Without, the heading of single epochs is known to 10 degrees, and the slow error bends and shifts
what the boards have not held yet: with the other ruler half of the riding along the sides went
unseen. Still flatter than a 20 m circle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Along:
    """Trust, per epoch, that the line runs along the long sides' or the short sides' direction.

    Attributes
    ----------
    long, short : array, shape (n,)
        0 to 1.
    """

    long: Floats
    short: Floats


def along_sides(state: State, ruler: Ruler) -> Along:
    """Where the path is straight and parallel to the arena's axes (y is the long one)."""
    psi, bend = _drawn(state, ruler.chord_epochs)
    straight = _taper(np.abs(bend) / ruler.straight_1m)
    straight[:SLACK_EPOCHS] = straight[-SLACK_EPOCHS:] = 0.0
    moving = (state.epochs[:, V] > 0.5).astype(np.float64)
    long, short = (
        _taper(np.abs(_half_turns(psi - axis)) / ruler.parallel_rad) * straight * moving
        for axis in (np.pi / 2, 0.0)
    )
    return Along(long=_lasting(long), short=_lasting(short))


def _drawn(state: State, reach: int) -> tuple[Floats, Floats]:
    """Direction, rad, and curvature, 1/m, of the line."""
    if reach == 0:
        psi = state.epochs[:, PSI]
        return psi, curvature(psi, state.epochs[:, V])
    place = state.epochs[:, X] + 1j * state.epochs[:, Y]
    at = np.arange(place.size)
    before = place - place[np.maximum(at - reach, 0)]
    after = place[np.minimum(at + reach, place.size - 1)] - place
    turn = np.where((np.abs(before) > 0.1) & (np.abs(after) > 0.1), after * np.conj(before), 1.0)
    apart_m = np.maximum(np.abs(before + after) / 2, 0.3)
    return np.angle(before + after), np.angle(turn) / apart_m


def curvature(psi: Floats, speed: Floats) -> Floats:
    """Curvature over the second around each epoch, 1/m."""
    result: Floats = np.gradient(psi, EPOCH_S) / np.maximum(speed, 0.5)
    return result


def board_factors(state: State, size: Size, ruler: Ruler) -> Iterator[Factor]:
    """Distance from a side is the track offset, give or take the rider's wander."""
    along = along_sides(state, ruler)
    lengths = np.maximum(state.epochs[:, V], 0.0) * EPOCH_S / WANDER_LENGTH_M
    half_x, half_y = HALF_WIDTH_M, HALF_LENGTH_M[size]
    for axis, half_m, trust, end, half_end_m in (
        (X, half_x, along.long, Y, half_y),
        (Y, half_y, along.short, X, half_x),
    ):
        # A side ends at its corners: what runs on along its line outside is no board.
        here = trust * _taper(np.maximum(np.abs(state.epochs[:, end]) - half_end_m, 0) / BEYOND_M)
        # All epochs, most without weight: so two points of the path can be compared by it.
        place = state.epochs[:, axis]
        side = np.sign(place)
        residual = side * place - (half_m - state.ride[OFFSET])
        weight = here * _taper(np.abs(residual) / ruler.near_m)
        yield Factor(
            kind="boards",
            where=slice(0, len(place)),
            terms=[(0, axis, side)],
            border=((OFFSET, 1.0),),
            residual=residual,
            weight=weight * lengths / WANDER_M**2,
            trust=weight,
        )


def sides_seen(state: State, size: Size, ruler: Ruler) -> dict[str, float]:
    """Metres ridden along each side: ``"+x"``, ``"-x"``, ``"+y"``, ``"-y"``."""
    seen = {}
    for factor, name in zip(board_factors(state, size, ruler), ("x", "y"), strict=True):
        side = np.asarray(factor.terms[0][2])
        metres = factor.trust * np.maximum(state.epochs[:, V], 0) * EPOCH_S
        for sign, label in ((1, "+"), (-1, "-")):
            seen[label + name] = float(metres[side == sign].sum())
    return seen


def _taper(ratio: Floats) -> Floats:
    """Tukey's biweight: 1 at nought, 0 from 1 on."""
    return np.maximum(1 - ratio**2, 0.0) ** 2


def _half_turns(angle: Floats) -> Floats:
    """Angle to the nearest of 0 and 180 degrees, rad."""
    return (angle + np.pi / 2) % np.pi - np.pi / 2


def _lasting(trust: Floats) -> Floats:
    """Trust, nought where the run of epochs with any is too short."""
    on = np.concatenate([[0], (trust > 0.05).astype(np.int64), [0]])
    starts, ends = np.flatnonzero(np.diff(on) == 1), np.flatnonzero(np.diff(on) == -1)
    out = np.zeros(len(trust))
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        if end - start >= LEAST_RUN:
            out[start:end] = trust[start:end]
    return out
