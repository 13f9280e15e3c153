"""The drawings of the floor plan page: the line asked for, movement by movement and whole."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np
from markupsafe import Markup

from report import words_plan
from report.arena_letters import letter_label_m, letters, letters_shown
from report.arena_svg import (
    Frame,
    arrow,
    boards,
    centre_line,
    cross_tick,
    line_d,
    scale_bar,
    school_frame,
    stroke,
    svg,
    text,
)
from report.page_labels import Box, Room
from track.arena import LETTERS, Size
from track.layout import Change, Layout, MovementLine
from track.path import Floats

SMALL_PX: Final = {"20x40": 270.0, "20x60": 330.0}
WHOLE_PX: Final = 560.0
ARROW_EVERY_M: Final = 25.0
THIN: Final = 3
"""Every third point of the line (0.3 m) is drawn."""


def commands_of(layout: Layout, line: MovementLine) -> tuple[str, ...]:
    """What the movement asks, in the sheet's words; changes and figures as they come."""
    asked = layout.sheet.movements[line.number - 1]
    items = [(s.start_m, 1, s.text) for s in line.stretches if not s.filled]
    items += [(change.start_m, 0, change.text) for change in line.changes]
    texts = [words for _, _, words in sorted(items, key=lambda item: item[:2])]
    if asked.of:
        texts.append(words_plan.of_line(asked.of))
    if asked.show:
        texts.append(words_plan.SHOW.format(asked.show))
    return tuple(texts)


def small_plan(layout: Layout, line: MovementLine) -> Markup:
    """One movement on the ground, with the way up to it in a hairline."""
    size = layout.sheet.arena
    frame = school_frame(size, tallest_px=SMALL_PX[size])
    rows = _rows(layout, line.start_m, line.end_m)
    before = _rows(layout, max(line.start_m - 8.0, 0.0), line.start_m)
    named, middle = _named(layout, line), frozenset("DLXIG")
    parts = [
        centre_line(frame, size),
        *_windows(frame, layout, line.changes),
        boards(frame, size),
        letters(frame, size, asked=named - middle, middle=False),
        *_beside(frame, size, named & middle),
        stroke(line_d(frame, layout.x_m[before], layout.y_m[before]), "lead-in"),
        *_gait_lines(frame, layout, rows),
        *_marks(frame, layout, line.changes),
        *_arrows(frame, layout, line.start_m, line.end_m),
        *_start(frame, layout, line.start_m),
    ]
    return svg(
        frame,
        parts,
        title=words_plan.PLAN_TITLE.format(line.number),
        desc="; ".join(commands_of(layout, line)),
        name=f"plan-{line.number}",
    )


def whole_plan(layout: Layout) -> Markup:
    """The whole test on one plan, each movement's number where it starts."""
    size = layout.sheet.arena
    frame = school_frame(size, tallest_px=WHOLE_PX)
    rows = np.arange(0, layout.s_m.size, THIN)
    x, y = layout.x_m[rows], layout.y_m[rows]
    room = _room(frame, size, x, y)
    parts = [
        centre_line(frame, size),
        boards(frame, size),
        letters(frame, size),
        stroke(line_d(frame, x, y), "whole"),
        *_arrows(frame, layout, 0.0, layout.length_m, every_m=60.0, kind="arrow ink faint"),
        *(_number(frame, layout, line, room) for line in layout.movements if _ridden(line)),
        scale_bar(frame),
    ]
    title = words_plan.WHOLE_TITLE
    return svg(frame, parts, title=title, desc=words_plan.WHOLE_DESC, name="plan-whole")


def _ridden(line: MovementLine) -> bool:
    return bool(line.stretches or line.changes)


def _rows(layout: Layout, start_m: float, end_m: float) -> np.ndarray:
    inside = np.flatnonzero((layout.s_m >= start_m - 0.05) & (layout.s_m <= end_m + 0.05))
    return np.append(inside[::THIN], inside[-1:]) if inside.size else inside


def _named(layout: Layout, line: MovementLine) -> frozenset[str]:
    words = " ".join(commands_of(layout, line))
    return frozenset(re.findall(r"\b[A-Z]\b", words)) & frozenset(LETTERS[layout.sheet.arena])


def _beside(frame: Frame, size: Size, names: frozenset[str]) -> list[Markup]:
    """Letters of the centre line, clear of a line ridden along it."""
    out = []
    for name in sorted(names):
        px, py = frame.px(*LETTERS[size][name])
        out.append(text(px + 13, py - 5, name, "letter asked"))
    return out


def _gait_lines(frame: Frame, layout: Layout, rows: np.ndarray) -> list[Markup]:
    """The line in the pattern of each gait."""
    if rows.size < 2:
        return []
    gait = np.array(layout.gait)[rows]
    gait = np.where(gait == "halt", np.roll(gait, 1), gait)
    cuts = [0, *(np.flatnonzero(gait[1:] != gait[:-1]) + 1).tolist(), rows.size]
    out = []
    for first, last in pairwise(cuts):
        piece = rows[first : min(last + 1, rows.size)]
        d = line_d(frame, layout.x_m[piece], layout.y_m[piece])
        out.append(stroke(d, f"gait ink {gait[first]}"))
    return out


def _windows(frame: Frame, layout: Layout, changes: Sequence[Change]) -> list[Markup]:
    """Where a change may come: the line, widened."""
    out = []
    for change in changes:
        if change.end_m > change.start_m and not change.free:
            rows = _rows(layout, change.start_m, change.end_m)
            out.append(stroke(line_d(frame, layout.x_m[rows], layout.y_m[rows]), "window"))
    return out


def _marks(frame: Frame, layout: Layout, changes: Sequence[Change]) -> list[Markup]:
    """A tick across the line where a change is asked at a place; a square where she halts."""
    out = []
    for change in changes:
        x, y, heading = _at(layout, change.start_m)
        if change.to_gait == "halt":
            px, py = frame.px(x, y)
            out.append(stroke(f"M{px - 3.5:.1f} {py - 3.5:.1f}h7v7h-7Z", "stand ink"))
        elif change.start_m == change.end_m and change.from_gait != "halt":
            out.append(cross_tick(frame, x, y, heading, half_px=7, kind="onset"))
    return out


def _arrows(
    frame: Frame,
    layout: Layout,
    start_m: float,
    end_m: float,
    *,
    every_m: float = ARROW_EVERY_M,
    kind: str = "arrow ink",
) -> list[Markup]:
    count = max(round((end_m - start_m) / every_m), 1)
    places = start_m + (np.arange(count) + 0.6) * (end_m - start_m) / count
    if end_m - start_m < 1.0:
        return []
    return [arrow(frame, *_at(layout, s), kind=kind) for s in places.tolist()]


def _start(frame: Frame, layout: Layout, s_m: float) -> list[Markup]:
    px, py = frame.px(*_at(layout, s_m)[:2])
    return [
        Markup('<circle class="begin" cx="{}" cy="{}" r="3"/>').format(f"{px:.1f}", f"{py:.1f}")
    ]


def _at(layout: Layout, s_m: float) -> tuple[float, float, float]:
    x, y, heading = (
        float(np.interp(s_m, layout.s_m, values))
        for values in (layout.x_m, layout.y_m, layout.heading_rad)
    )
    return x, y, heading


def _room(frame: Frame, size: Size, x: Floats, y: Floats) -> Room:
    room = Room(width=frame.width_px, height=frame.height_px)
    for name in letters_shown(frame, size):
        px, py = frame.px(*letter_label_m(size, name))
        room.taken.append(Box(x=px, y=py, width=18, height=18))
    room.inked.append(np.array([frame.px(a, b) for a, b in zip(x, y, strict=True)][::2]))
    return room


def _number(frame: Frame, layout: Layout, line: MovementLine, room: Room) -> Markup:
    """A movement's number beside the place where it starts."""
    x, y, heading = _at(layout, line.start_m)
    px, py = frame.px(x, y)
    spots = [
        (px + reach * np.cos(angle), py + reach * np.sin(angle))
        for reach in (11.0, 16.0, 22.0, 30.0)
        for angle in (np.arange(8) * np.pi / 4 - heading + np.pi / 2).tolist()
    ]
    words = str(line.number)
    box = room.place(words, spots)
    dot = Markup('<circle class="begin" cx="{}" cy="{}" r="2.4"/>').format(f"{px:.1f}", f"{py:.1f}")
    return dot + text(box.x, box.y + 4.5, words, "number")
