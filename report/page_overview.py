"""The whole test on one plan, each movement a link to its row."""

from __future__ import annotations

import numpy as np
from markupsafe import Markup

from report import words_page as w
from report import words_said as sentences
from report.arena_letters import letters
from report.arena_svg import Frame, boards, centre_line, line_d, school_frame, text
from report.page_labels import Box, Room, spots_beside
from track.arena import LETTERS
from track.layout import Layout, MovementLine
from track.path import Floats

NUMBERED_FIRST_M = 9.0
"""A movement's number stands beside this much of its beginning."""


def overview(layout: Layout) -> Markup:
    """Draw the line asked for with the movements' numbers; hovering or focus lights one up."""
    size = layout.sheet.arena
    frame = school_frame(size, tallest_px=560)
    room = Room(width=frame.width_px, height=frame.height_px)
    for place in LETTERS[size].values():
        px, py = frame.px(*place)
        room.taken.append(Box(x=px, y=py, width=24, height=22))
    ridden = [m for m in layout.movements if m.end_m > m.start_m]
    lines = [_line(frame, layout, m) for m in ridden]
    marks = [_number(frame, layout, m, room) for m in ridden]
    links = [_link(m, line, mark) for m, line, mark in zip(ridden, lines, marks, strict=True)]
    return Markup(
        '<svg class="plan" role="group" aria-labelledby="overview-t" viewBox="0 0 {w} {h}" '
        'width="{w}" height="{h}"><title id="overview-t">{title}</title>{ground}{links}</svg>'
    ).format(
        w=round(frame.width_px), h=round(frame.height_px), title=w.OVERVIEW,
        ground=centre_line(frame, size) + boards(frame, size) + letters(frame, size, middle=False),
        links=Markup("").join(links),
    )  # fmt: skip


def _points(layout: Layout, movement: MovementLine, until_m: float) -> tuple[Floats, Floats]:
    rows = np.flatnonzero((layout.s_m >= movement.start_m) & (layout.s_m <= until_m))[::3]
    return layout.x_m[rows], layout.y_m[rows]


def _line(frame: Frame, layout: Layout, movement: MovementLine) -> str:
    return line_d(frame, *_points(layout, movement, movement.end_m))


def _number(frame: Frame, layout: Layout, movement: MovementLine, room: Room) -> Markup:
    until = min(movement.end_m, movement.start_m + NUMBERED_FIRST_M)
    x, y = _points(layout, movement, until)
    px = (x - frame.left_m) * frame.px_per_m
    py = (frame.high_m - y) * frame.px_per_m
    words = str(movement.number)
    spot = room.place(words, spots_beside(px, py, words))
    return text(spot.x, spot.y + 4, words, "on-line")


def _link(movement: MovementLine, line: str, mark: Markup) -> Markup:
    return Markup(
        '<a class="o-{n}" href="#m{n}" aria-label="{words}"><path class="hit" d="{d}"/>'
        '<path class="over" d="{d}"/>{mark}</a>'
    ).format(n=movement.number, words=sentences.MOVEMENT.format(movement.number), d=line, mark=mark)
