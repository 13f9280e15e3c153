"""The sheet in time and on the ground: call sheet, busy spots, and help with setting out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, Size
from track.lay_out import lay_out
from track.layout import Layout, Stretch
from track.path import Floats
from track.sheet import GaitName, Sheet

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Touch:
    """A point of a figure, board to board, and how to find it from the letters."""

    x_m: float
    y_m: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingOut:
    """Where one figure goes on the ground."""

    movement: int
    figure: str
    touches: tuple[Touch, ...]


def setting_out(sheet: Sheet) -> tuple[SettingOut, ...]:
    """Where every circle, half circle, serpentine and loop goes, in metres from the letters.

    Board to board, as the figures are named; each figure once.
    """
    layout = lay_out(sheet, track_offset_m=0.0)
    seen: dict[str, SettingOut] = {}
    for line in layout.movements:
        for stretch in line.stretches:
            if stretch.text not in seen and _shares(stretch):
                seen[stretch.text] = SettingOut(
                    movement=line.number,
                    figure=stretch.text,
                    touches=tuple(_touch(layout, stretch, share) for share in _shares(stretch)),
                )
    return tuple(seen.values())


def _shares(stretch: Stretch) -> Sequence[float]:
    """Where along a figure its points lie: quarters, turning points, crossings."""
    if stretch.kind == "serpentine":
        return [k / (2 * stretch.loops) for k in range(1, 2 * stretch.loops)]
    return {"circle": (0.0, 0.25, 0.5, 0.75), "half circle": (0.0, 0.5, 1.0), "loop": (0.5,)}.get(
        stretch.kind, ()
    )


def _touch(layout: Layout, stretch: Stretch, share: float) -> Touch:
    s = stretch.start_m + share * (stretch.end_m - stretch.start_m)
    x, y = (float(np.interp(s, layout.s_m, line)) for line in (layout.x_m, layout.y_m))
    return Touch(x_m=x, y_m=y, text=place_text(layout.sheet.arena, x, y))


def place_text(size: Size, x_m: float, y_m: float) -> str:
    """A point in metres from the nearest letter.

    Examples
    --------
    >>> place_text("20x40", 10.0, 10.0)
    '4 m from M towards B'
    >>> place_text("20x60", 0.0, 10.0)
    '2 m from I towards X'
    >>> place_text("20x40", -10.0, 0.0)
    'E'
    """
    on_side = [
        (name, at)
        for name, at in LETTERS[size].items()
        if (abs(at[0] - x_m) < 0.3 and abs(x_m) > 9.7)
        or (abs(at[0]) < 0.3 and abs(x_m) < 0.3)
        or (abs(at[1] - y_m) < 0.3 and abs(at[1]) == HALF_LENGTH_M[size])
    ]
    if on_side:
        return _along(on_side, x_m, y_m)
    side = "B" if x_m > 0 else "E"
    level = _along(_centre(size), 0.0, y_m)
    if len(level) == 1:
        return f"{_metres(abs(x_m))} from {level} towards the {side} side"
    return f"{_metres(abs(x_m))} from the centre line on the {side} side, level with {level}"


def _centre(size: Size) -> list[tuple[str, tuple[float, float]]]:
    return [(name, at) for name, at in LETTERS[size].items() if at[0] == 0.0]


def _along(letters: Sequence[tuple[str, tuple[float, float]]], x_m: float, y_m: float) -> str:
    """From the nearest of some letters towards the next nearest beyond the point."""
    ranked = sorted(letters, key=lambda item: math.dist(item[1], (x_m, y_m)))
    name, at = ranked[0]
    away = math.dist(at, (x_m, y_m))
    if away < 0.15:
        return name
    beyond = [
        other
        for other, there in ranked[1:]
        if (there[0] - at[0]) * (x_m - at[0]) + (there[1] - at[1]) * (y_m - at[1]) > 0
    ]
    if beyond:
        return f"{_metres(away)} from {name} towards {beyond[0]}"
    return f"{_metres(away)} from {name} towards the corner"


def _metres(value: float) -> str:
    return f"{round(value, 1):g} m"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """A distance to check with a tape before the school is used."""

    text: str
    length_m: float


def tape_check(size: Size) -> tuple[Tape, ...]:
    """Diagonals and sides that say whether the school is square."""
    long = 2 * HALF_LENGTH_M[size]
    wide = 2 * HALF_WIDTH_M
    (kx, ky), (mx, my) = LETTERS[size]["K"], LETTERS[size]["M"]
    return (
        Tape(text="corner to corner, both diagonals", length_m=math.hypot(wide, long)),
        Tape(text="K to M and F to H", length_m=math.hypot(mx - kx, my - ky)),
        Tape(text="corner to K, F, H, M along the long side", length_m=6.0),
    )
