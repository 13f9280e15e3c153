"""The sheet in time: call sheet and busy spots."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from track.layout import Layout
from track.path import Floats
from track.sheet import GaitName

BUSY_S: Final = 6.0
"""Two commands closer together than this leave no time to prepare."""
SAME_PLACE_M: Final = 1.0
HALT_S: Final = 3.0
"""Standing time where the sheet gives none: sheets ask for 3 to 6 s [seen]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Speeds:
    """Speed of each gait: medium walk, working trot, working canter.

    After Clayton, Equine Vet J 1994-95 [recalled].
    """

    walk_ms: float = 1.73
    trot_ms: float = 3.61
    canter_ms: float = 3.91

    def of(self, gait: GaitName) -> float:
        """Speed of a gait, m/s; a halt takes no distance."""
        table = {"walk": self.walk_ms, "trot": self.trot_ms, "canter": self.canter_ms}
        return table.get(gait, self.walk_ms)


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """Something to do at a place.

    Attributes
    ----------
    movement : int
    text : str
    s_m : float, m
        Along the line.
    t_s : float, s
        Since the line's start (A).
    to_next_s : float or None, s
        Until the next command; None for the last.
    busy : bool
        True when the next comes within :data:`BUSY_S`.
    """

    movement: int
    text: str
    s_m: float
    t_s: float
    to_next_s: float | None = None
    busy: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CallSheet:
    """When each command comes, and how long the test takes."""

    commands: tuple[Command, ...]
    starts_s: tuple[tuple[int, float, float], ...]
    """Number, start and end in seconds of every movement that is ridden."""
    total_s: float

    @property
    def busy(self) -> tuple[tuple[Command, Command], ...]:
        """Pairs of commands that come within six seconds."""
        pairs = zip(self.commands[:-1], self.commands[1:], strict=True)
        return tuple((a, b) for a, b in pairs if a.busy)


def call_sheet(layout: Layout, speeds: Speeds | None = None) -> CallSheet:
    """Time the test at given speeds.

    Parameters
    ----------
    layout : Layout
    speeds : Speeds, optional
        Of this horse; usual ones when left out.
    """
    clock = _Clock(layout, speeds or Speeds())
    asked = _together(sorted(_asked(layout), key=lambda row: (row.s_m, row.order)))
    times = [clock.at(row.s_m, after_halts=row.order) for row in asked]
    starts = tuple(
        (line.number, clock.at(line.start_m, after_halts=1), clock.leaves(line.end_m))
        for line in layout.movements
        if line.end_m > line.start_m or line.changes
    )
    return CallSheet(
        commands=tuple(_command(place, asked, times, clock) for place in range(len(asked))),
        starts_s=starts,
        total_s=clock.leaves(layout.length_m),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """Something asked at a place; ``order`` is 0 up to a halt there and 1 after it."""

    s_m: float
    order: int
    movement: int
    text: str


def _together(asked: Sequence[_Asked]) -> list[_Asked]:
    """Commands of one movement at one place become one."""
    rows: list[_Asked] = []
    for item in asked:
        last = rows[-1] if rows else None
        same = last and (item.movement, item.order) == (last.movement, last.order)
        if last and same and item.s_m - last.s_m < SAME_PLACE_M:
            rows[-1] = replace(last, text=f"{last.text}, {item.text}")
        else:
            rows.append(item)
    return rows


def _command(place: int, asked: Sequence[_Asked], times: Sequence[float], clock: _Clock) -> Command:
    row = asked[place]
    after = asked[place + 1] if place + 1 < len(asked) else None
    busy = (
        after is not None
        and after.s_m - row.s_m > SAME_PLACE_M
        and clock.at(after.s_m, after_halts=0) - clock.leaves(row.s_m) < BUSY_S
    )
    return Command(
        movement=row.movement,
        text=row.text,
        s_m=row.s_m,
        t_s=times[place],
        to_next_s=None if after is None else times[place + 1] - times[place],
        busy=busy,
    )


class _Clock:
    """Seconds along a layout, halts counted."""

    def __init__(self, layout: Layout, speeds: Speeds) -> None:
        pace = np.array([1.0 / speeds.of(gait) for gait in layout.gait])
        self._s = layout.s_m
        self._t: Floats = np.concatenate([[0.0], np.cumsum(np.diff(layout.s_m) * pace[:-1])])
        changes = [change for line in layout.movements for change in line.changes]
        self._halts = [
            (change.start_m, HALT_S if change.halt_s is None else change.halt_s)
            for change in changes
            if change.to_gait == "halt"
        ]

    def at(self, s_m: float, *, after_halts: int) -> float:
        """Time at a place; ``after_halts`` counts the halt at that place as well."""
        stood = sum(
            halt_s
            for at, halt_s in self._halts
            if at < s_m - 0.5 or (after_halts and at < s_m + 0.5)
        )
        return float(np.interp(s_m, self._s, self._t)) + stood

    def leaves(self, s_m: float) -> float:
        """Time at which a place is left, its halt over."""
        return self.at(s_m, after_halts=1)


def _asked(layout: Layout) -> Iterator[_Asked]:
    """Every command with its place, changes of gait before figures."""
    stands = [c.start_m for line in layout.movements for c in line.changes if c.to_gait == "halt"]

    def after_halt(s_m: float) -> int:
        return int(any(abs(s_m - stand) < SAME_PLACE_M for stand in stands))

    for line in layout.movements:
        for change in line.changes:
            order = 0 if change.to_gait == "halt" else after_halt(change.start_m)
            yield _Asked(s_m=change.start_m, order=order, movement=line.number, text=change.text)
        for stretch in line.stretches:
            text = stretch.text
            if stretch.filled or (stretch.kind in ("track", "line") and stretch.start_m > 0.0):
                continue
            if stretch.start_m == 0.0:
                text = f"enter in {layout.sheet.enter}, {text}"
            yield _Asked(
                s_m=stretch.start_m,
                order=after_halt(stretch.start_m),
                movement=line.number,
                text=text,
            )
