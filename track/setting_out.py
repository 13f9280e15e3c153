"""Help with setting out: where figures touch, and whether the school is square."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, Size
from track.lay_out import lay_out
from track.layout import Layout, Stretch
from track.sheet import Sheet


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


def _whole_m(stretch: Stretch) -> float:
    """Length of the whole figure: a turn that follows at once takes its last part."""
    if stretch.kind == "circle" and stretch.radius_m is not None:
        return 2 * math.pi * stretch.radius_m
    if stretch.kind == "half circle" and stretch.radius_m and stretch.width_m:
        return math.pi * stretch.radius_m + stretch.width_m - 2 * stretch.radius_m
    return stretch.end_m - stretch.start_m


def _touch(layout: Layout, stretch: Stretch, share: float) -> Touch:
    s = stretch.start_m + share * _whole_m(stretch)
    x, y = (float(np.interp(s, layout.s_m, line)) for line in (layout.x_m, layout.y_m))
    if stretch.kind == "half circle" and share == 1.0:
        x, y = LETTERS[layout.sheet.arena][stretch.text.split()[-1]]
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
