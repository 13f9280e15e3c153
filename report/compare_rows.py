"""Rides side by side: a row per measure, gait and rein, with what could have been seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from gait.compare import (
    Contrast,
    LineEnd,
    along,
    between,
    called,
    line_ends,
    mean_interval,
    sessions_needed,
    shares,
    smallest_change,
)
from report import words_compare as w
from report.compare_readings import GAITS, MEASURES, Key, readings_of
from report.compare_rides import CompareRide, Season
from report.result import Value
from track.path import Floats

Seen = Literal["changed", "none seen", "cannot tell"]
FEWEST_A_SIDE: Final = 3
"""Two rides agree or differ by luck: nothing is called on them."""
FEWEST_ON_LINE: Final = 5
PRIMARY_SHARE: Final = 0.5
PRIMARY: Final = (
    Key(gait="trot", measure="tempo", rein="all"), Key(gait="canter", measure="tempo", rein="all"),
)  # fmt: skip
"""Declared beforehand: what a coach asks first gets half of the allowed error."""
REINS: Final = ("all", "left", "right", "left less right")


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One measure in the rides of one side.

    Attributes
    ----------
    values, sd : array, shape (n,)
        One value per ride and its doubt within the ride.
    numbers : tuple of int
        The rides' numbers.
    """

    values: Floats
    sd: Floats
    numbers: tuple[int, ...]

    @property
    def mean(self) -> float | None:
        """Mean over rides; None without any."""
        return float(self.values.mean()) if self.values.size else None

    @property
    def interval(self) -> tuple[float, float] | None:
        """95 % interval of the mean; None with fewer than two rides."""
        return mean_interval(self.values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One measure of one gait on one rein, before and after.

    Attributes
    ----------
    key : Key
    before, after : Side
    contrast : Contrast or None
        None where there are too few rides for an interval.
    change : float or None
    smallest : float or None
        Smallest change that would have been called in 8 of 10 such comparisons.
    seen : {"changed", "none seen", "cannot tell"}
    because : str
        Where it cannot be told, what would settle it.
    ends : tuple of LineEnd or None
        For a line, where it begins and ends.
    """

    key: Key
    before: Side
    after: Side
    contrast: Contrast | None
    change: float | None
    smallest: float | None
    seen: Seen
    because: str
    ends: tuple[LineEnd, LineEnd] | None = None

    @property
    def primary(self) -> bool:
        """True for what was declared beforehand."""
        return self.key in PRIMARY


def compared(season: Season) -> list[Row]:
    """Every row of a comparison, in the order of gaits, measures and reins."""
    readings = {ride.number: readings_of(ride.result) for ride in (*season.before, *season.after)}
    keys = {key for own in readings.values() for key in own}
    rows = [
        _row(
            key,
            _side(key, season.before, readings),
            _side(key, season.after, readings),
            line=season.split == "line",
        )
        for key in sorted(keys, key=_place)
    ]
    return _judged(rows, line=season.split == "line")


def _place(key: Key) -> tuple[int, int, int]:
    return GAITS.index(key.gait), MEASURES.index(key.measure), REINS.index(key.rein)


def _side(key: Key, rides: Sequence[CompareRide], readings: dict[int, dict[Key, Value]]) -> Side:
    known = [ride.number for ride in rides if key in readings[ride.number]]
    return Side(
        values=np.array([readings[number][key].value for number in known]),
        sd=np.array([readings[number][key].sd for number in known]),
        numbers=tuple(known),
    )


def _row(key: Key, before: Side, after: Side, *, line: bool) -> Row:
    contrast = _on_line(before, after) if line else between(
        before.values, after.values, before.sd, after.sd
    )  # fmt: skip
    change = None if contrast is None else contrast.value
    if change is None and before.mean is not None and after.mean is not None:
        change = after.mean - before.mean
    return Row(
        key=key,
        before=before,
        after=after,
        contrast=contrast,
        change=change,
        smallest=None,
        seen="cannot tell",
        because=_too_few(before, after, line=line) or ("" if contrast else w.ALL_ALIKE),
        ends=_line_of(before, after)[1] if line else None,
    )


def _on_line(before: Side, after: Side) -> Contrast | None:
    values = np.concatenate([before.values, after.values])
    order = np.array([*before.numbers, *after.numbers], dtype=np.float64)
    return along(values, order)


def _line_of(before: Side, after: Side) -> tuple[Floats, tuple[LineEnd, LineEnd] | None]:
    """Places of the rides, and the ends of the line through them."""
    order = np.array([*before.numbers, *after.numbers], dtype=np.float64)
    return order, line_ends(np.concatenate([before.values, after.values]), order)


def _too_few(before: Side, after: Side, *, line: bool) -> str:
    """What would settle a row that has too few rides; empty where there are enough."""
    counts = before.values.size, after.values.size
    if line:
        return w.TOO_FEW_LINE.format(w.rides(sum(counts))) if sum(counts) < FEWEST_ON_LINE else ""
    if min(counts) >= FEWEST_A_SIDE:
        return ""
    if min(counts) == 0:
        return w.ONE_SIDE.format(w.BEFORE if counts[0] == 0 else w.AFTER)
    return w.TOO_FEW.format(*(w.rides(count) for count in counts))


def _judged(rows: Sequence[Row], *, line: bool) -> list[Row]:
    """Call what changed, all rows together; say of the rest how small a change would have shown."""
    tested = [row for row in rows if not row.because and row.contrast is not None]
    if not tested:
        return list(rows)
    weights = weights_of([row.primary for row in tested])
    chances = [row.contrast.chance for row in tested if row.contrast is not None]
    told = iter(zip(called(chances, weights), shares(weights).tolist(), strict=True))
    return [
        row
        if row.because or row.contrast is None
        else _seen(row, row.contrast, *next(told), len(tested), line=line)
        for row in rows
    ]


def weights_of(primary: Sequence[bool]) -> list[float]:
    """Weight of every test: half for those declared beforehand, half for all others.

    Examples
    --------
    >>> weights_of([True, False, False])
    [0.5, 0.25, 0.25]
    """
    first = sum(primary)
    rest = len(primary) - first
    if first in (0, len(primary)):
        return [1.0 / len(primary)] * len(primary)
    return [PRIMARY_SHARE / first if one else (1.0 - PRIMARY_SHARE) / rest for one in primary]


def _seen(
    row: Row, contrast: Contrast, changed: bool, level: float, count: int, *, line: bool
) -> Row:
    low, high = contrast.interval()
    made = replace(row, smallest=smallest_change(contrast.se, contrast.df, level))
    if changed:
        return replace(made, seen="changed")
    if low <= 0.0 <= high:
        return replace(made, seen="none seen")
    needed = w.MORE_RIDES if line else _needed(row, contrast, level)
    return replace(made, because=w.BY_CHANCE.format(count, needed))


def _needed(row: Row, contrast: Contrast, level: float) -> str:
    sizes = row.before.values.size, row.after.values.size
    spread = contrast.se / np.sqrt(1.0 / max(sizes[0], 1) + 1.0 / max(sizes[1], 1))
    needed = sessions_needed(contrast.value, float(spread), level)
    return w.MANY_NEEDED if needed is None else w.NEEDED.format(needed)
