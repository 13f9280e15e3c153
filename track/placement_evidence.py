"""School or no school: how much better a school explains the straight passages of a ride.

A school is ridden along lines that come back: its sides, half the width or length from its middle,
and lines between them; whoever rides inside does not cross the boards. Three accounts of the
straight passages are compared by their likelihood: a school of the size found, a rectangle of
another size (a field, a block of lanes), and lines anywhere. Each pays for what it leaves free.
Passages are taken from the path before the boards have drawn it anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import expit

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, Size
from track.boards import BY_TURNS, curvature
from track.evidence import EPOCH_S
from track.path import Floats, Ints
from track.smoother_state import PSI, State, V, X, Y

STRAIGHT_1M: Final = 1 / 25.0
LEAST_PASSAGE_M: Final = 8.0
SAME_LINE_M: Final = 2.0
SAME_LINE_S: Final = 4.0
LATERAL_SD_M: Final = 1.6
"""Slow error of the fixes and a rider's wander, across a passage."""
SIDE_SHARE: Final = 0.6
"""Share of passages parallel to a side that run along a side [judgement]."""
ANYWHERE_M: Final = 60.0
"""Outside a school, parallel passages lie within so many metres [judgement]: lanes, field edges."""
OFFSETS_M: Final = np.arange(0.3, 2.6, 0.1)
"""Distances from the boards that riders keep to."""
USUAL_OFFSET_M: Final = 0.8
OFFSET_SD_M: Final = 0.35
MIDDLES_M: Final = np.arange(-4.0, 4.01, 0.25)
"""Where the middle of the school may lie against the pose found, along one axis."""
STRAY_SHARE: Final = 0.05
NEAR_BOARDS_M: Final = 4.0
ABOUT_M: Final = 2.0
OUTSIDE_M: Final = 6.0
"""A ride is inside to the one and outside from the other on, beyond the boards: fixes are off."""
HELD_M: Final = 200.0
MOST_HELD: Final = 3.0
"""So many metres inside without leaving make a school more likely by a unit, but not for ever."""
EXIT_COST: Final = 2.0
"""Log odds against a school of each time that the ride went out over its boards..."""
FREE_EXITS: Final = 2
"""... but for going out and going home."""
LEAST_LOG_ODDS: Final = 3.0
"""A school is believed at odds of twenty to one."""
TOLD_LOG_ODDS: Final = 3.0
"""What a size, a sheet or an arena file handed in adds [judgement]."""


Axes = tuple[tuple[Floats, float], ...]
"""Per axis: places of the passages across it, and half the distance between its boards."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Passages:
    """Straight passages of a ride, shape (n,) each, in metres and seconds of some frame.

    Attributes
    ----------
    x_m, y_m : array
        Mean place.
    from_x_m, from_y_m, to_x_m, to_y_m : array
        Ends.
    start_s, end_s : array, s
        From the first epoch.
    """

    x_m: Floats
    y_m: Floats
    from_x_m: Floats
    from_y_m: Floats
    to_x_m: Floats
    to_y_m: Floats
    start_s: Floats
    end_s: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class SchoolEvidence:
    """What the passages say of a school.

    Attributes
    ----------
    log_odds : float
        Natural logarithm of the odds of a school against the better of the two other accounts,
        without the prior.
    passages, along_sides, exits : int
        Straight passages inside and parallel to a side, those of them that ran along a side, and
        times that the ride went out over the boards.
    along_ends : int
        Those that ran along a short side.
    inside_m : float, m
        Ridden inside.
    against : {"anywhere", "another rectangle"}
        The better of the other accounts.
    """

    log_odds: float
    passages: int
    along_sides: int
    exits: int
    against: str
    along_ends: int
    inside_m: float

    @property
    def both_ways(self) -> bool:
        """Whether long and short sides alike had passages along them."""
        return 0 < self.along_ends < self.along_sides

    @property
    def told(self) -> str:
        """The evidence as one clause, for people."""
        inside = (
            f"{self.along_sides} of {self.passages} straight passages ran along its sides"
            if self.passages
            else "no straight passage ran along its sides"
        )
        out = (
            f", and the ride went out over its boards {self.exits} times"
            if self.exits > FREE_EXITS
            else ""
        )
        return inside + out


def passages_of(state: State) -> Passages:
    """Straight passages of at least some metres; pieces of one line are counted once."""
    e = state.epochs
    bent = np.abs(curvature(e[:, PSI], e[:, V])) >= STRAIGHT_1M
    straight = np.concatenate([[False], ~bent & (e[:, V] > 0.6), [False]])
    edges = np.flatnonzero(straight[1:] != straight[:-1])
    rows: list[tuple[int, int]] = []
    for first, after in edges.reshape(-1, 2).tolist():
        _join(rows, e, first, after - 1)
    ends = np.array([row for row in rows if _length(e, *row) >= LEAST_PASSAGE_M], dtype=np.int64)
    return _measured(e, ends.reshape(-1, 2))


def _join(rows: list[tuple[int, int]], e: Floats, first: int, last: int) -> None:
    """Add a straight run, or lengthen the one before where it goes on along the same line."""
    if rows:
        start, end = rows[-1]
        dx, dy = e[last, X] - e[start, X], e[last, Y] - e[start, Y]
        length = max(float(np.hypot(dx, dy)), 1e-6)
        between = e[start : last + 1]
        off = np.abs((between[:, X] - e[start, X]) * dy - (between[:, Y] - e[start, Y]) * dx)
        if (first - end) * EPOCH_S <= SAME_LINE_S and float(off.max()) / length < SAME_LINE_M:
            rows[-1] = (start, last)
            return
    rows.append((first, last))


def _length(e: Floats, first: int, last: int) -> float:
    return float(np.hypot(e[last, X] - e[first, X], e[last, Y] - e[first, Y]))


def _measured(e: Floats, ends: Ints) -> Passages:
    total = np.concatenate([np.zeros((1, 2)), np.cumsum(e[:, [X, Y]], axis=0)])
    first, last = ends[:, 0], ends[:, 1]
    mean = (total[last + 1] - total[first]) / (last - first + 1)[:, None]
    return Passages(
        x_m=mean[:, 0],
        y_m=mean[:, 1],
        from_x_m=e[first, X],
        from_y_m=e[first, Y],
        to_x_m=e[last, X],
        to_y_m=e[last, Y],
        start_s=np.asarray(first * EPOCH_S, dtype=np.float64),
        end_s=np.asarray(last * EPOCH_S, dtype=np.float64),
    )


def school_evidence(state: State, size: Size) -> SchoolEvidence:
    """Compare a school with no school.

    Parameters
    ----------
    state : State
        The path before the boards drew it, in the arena's frame.
    size : {"20x40", "20x60"}

    Returns
    -------
    SchoolEvidence
    """
    found = passages_of(state)
    half_x, half_y = HALF_WIDTH_M, HALF_LENGTH_M[size]
    inside = (np.abs(found.x_m) < half_x + NEAR_BOARDS_M) & (
        np.abs(found.y_m) < half_y + NEAR_BOARDS_M
    )
    inside_m, exits = _contained(state, half_x, half_y)
    held = min(inside_m / HELD_M, MOST_HELD) - EXIT_COST * max(exits - FREE_EXITS, 0)
    way = np.arctan2(found.to_y_m - found.from_y_m, found.to_x_m - found.from_x_m)
    long = inside & (np.abs(np.cos(way)) < np.sin(BY_TURNS.parallel_rad))
    short = inside & (np.abs(np.sin(way)) < np.sin(BY_TURNS.parallel_rad))
    axes = ((found.x_m[long], half_x), (found.y_m[short], half_y))
    school, offset_m = _as_school(axes)
    other = _as_another(axes)
    along = [_on_sides(place, half - offset_m) for place, half in axes]
    return SchoolEvidence(
        log_odds=school + held - max(other, 0.0),
        passages=int(np.count_nonzero(long | short)),
        along_sides=sum(along),
        along_ends=along[1],
        exits=exits,
        against="another rectangle" if other > 0 else "anywhere",
        inside_m=inside_m,
    )


def _contained(state: State, half_x: float, half_y: float) -> tuple[float, int]:
    """Metres ridden inside, and how often the path then went well out over the boards."""
    e = state.epochs
    beyond = np.maximum(np.abs(e[:, X]) - half_x, np.abs(e[:, Y]) - half_y)
    inside_m = float(np.maximum(e[beyond < ABOUT_M, V], 0.0).sum()) * EPOCH_S
    side = np.where(beyond < ABOUT_M, 1, np.where(beyond > OUTSIDE_M, -1, 0))
    told = side[side != 0]
    return inside_m, int(np.count_nonzero((told[:-1] == 1) & (told[1:] == -1)))


def _on_sides(place_m: Floats, half_m: float) -> int:
    return int(np.count_nonzero(np.abs(np.abs(place_m) - half_m) < 2 * LATERAL_SD_M))


def _as_school(axes: Axes) -> tuple[float, float]:
    """Worth of a school against lines anywhere, and the distance from the boards it is best at."""
    worth = np.array([
        sum(_worth(place, half - offset) for place, half in axes)
        - 0.5 * ((offset - USUAL_OFFSET_M) / OFFSET_SD_M) ** 2
        for offset in OFFSETS_M.tolist()
    ])  # fmt: skip
    best = int(np.argmax(worth))
    return float(worth[best]), float(OFFSETS_M[best])


def _as_another(axes: Axes) -> float:
    """Worth of a rectangle of any size, its two freedoms paid for."""
    halves = np.arange(3.0, ANYWHERE_M / 2, 0.5).tolist()
    price = float(np.log(ANYWHERE_M / 2 / LATERAL_SD_M))
    return sum(max(_worth(place, half) for half in halves) - price for place, _ in axes)


def _worth(place_m: Floats, half_m: float) -> float:
    """Log likelihood ratio of two sides so far from their middle against lines anywhere.

    The middle is where it fits best within a few metres, and is paid for.
    """
    if not len(place_m):
        return 0.0
    off = np.abs(place_m[:, None] - MIDDLES_M)
    z = (off - half_m) / LATERAL_SD_M
    on_side = np.exp(-0.5 * z**2) / (2 * LATERAL_SD_M * np.sqrt(2 * np.pi))
    between = expit(-(off - half_m) / (0.6 * LATERAL_SD_M)) / (2 * half_m)
    density = (1 - STRAY_SHARE) * (SIDE_SHARE * on_side + (1 - SIDE_SHARE) * between)
    ratio = np.log(density * ANYWHERE_M + STRAY_SHARE).sum(axis=0)
    return float(ratio.max() - np.log(ANYWHERE_M / LATERAL_SD_M))
