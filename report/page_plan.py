"""The small plan of one stretch of riding: ridden over asked, with its band of doubt."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from markupsafe import Markup

from report.arena_letters import letter_spot, letters, letters_shown
from report.arena_svg import (
    TALLEST_PX,
    Frame,
    band,
    boards,
    centre_line,
    ground_shown_m,
    line_d,
    part_frame,
    scale_bar,
    school_frame,
    stroke,
    svg,
)
from report.page_labels import Box, Room
from report.page_path import DrawnPath, Piece
from report.page_plan_marks import (
    Strides,
    Turn,
    gait_labels,
    gait_line,
    in_px,
    middle_letters,
    onset,
    quarter_marks,
    way,
)
from report.result import TransitionRow
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, Size
from track.layout import Layout, MovementLine
from track.path import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOf:
    """What one small plan shows.

    Attributes
    ----------
    name : str
        Unique on the page, written by us.
    title, desc : str
        For those who cannot see it.
    size : {"20x40", "20x60"}
    ends_known : bool
    start_s, end_s : float or None, s
        The ridden stretch; None draws only what was asked.
    asked : MovementLine or None
    parts : sequence of (float, float), s
        Stretches that sentences point at, in their order.
    turns : sequence of Turn
    transitions : sequence of TransitionRow
    tallest_px : float
    """

    name: str
    title: str
    desc: str
    size: Size
    ends_known: bool
    start_s: float | None
    end_s: float | None
    asked: MovementLine | None = None
    parts: Sequence[tuple[float, float]] = ()
    turns: Sequence[Turn] = ()
    transitions: Sequence[TransitionRow] = ()
    tallest_px: float = TALLEST_PX


def small_plan(
    plan: PlanOf, ridden: DrawnPath | None, layout: Layout | None, strides: Strides
) -> Markup:
    """Draw one stretch of riding over what was asked.

    Parameters
    ----------
    plan : PlanOf
    ridden : DrawnPath or None
        In the arena's frame; None draws only what was asked.
    layout : Layout or None
    strides : Strides

    Returns
    -------
    Markup
        One ``<svg>``.
    """
    asked = _asked_xy(plan.asked, layout)
    pieces = _pieces(plan, ridden)
    frame = _frame(plan, asked, pieces)
    room = _room(frame, plan, asked, pieces)
    parts = [*_ground(frame, plan, pieces, layout), stroke(line_d(frame, *asked), "line")]
    if ridden is not None and pieces:
        parts += _ridden_parts(frame, plan, ridden, strides, room)
    if plan.ends_known:
        parts += middle_letters(frame, plan.size, _middle_names(frame, plan), room)
    parts += [*gait_labels(frame, pieces, room), scale_bar(frame)]
    return svg(frame, parts, title=plan.title, desc=plan.desc, name=plan.name)


def _asked_xy(asked: MovementLine | None, layout: Layout | None) -> tuple[Floats, Floats]:
    if asked is None or layout is None:
        return np.empty(0), np.empty(0)
    inside = (layout.s_m >= asked.start_m - 0.05) & (layout.s_m <= asked.end_m + 0.05)
    rows = np.flatnonzero(inside)[::3]
    return layout.x_m[rows], layout.y_m[rows]


def _pieces(plan: PlanOf, ridden: DrawnPath | None) -> tuple[Piece, ...]:
    if ridden is None or plan.start_s is None or plan.end_s is None:
        return ()
    return ridden.pieces(plan.start_s, plan.end_s)


def _frame(plan: PlanOf, asked: tuple[Floats, Floats], pieces: Sequence[Piece]) -> Frame:
    y = np.concatenate([asked[1], *(p.y_m for p in pieces)])
    if not y.size:
        return school_frame(plan.size, tallest_px=plan.tallest_px)
    end = HALF_LENGTH_M[plan.size] + 2
    low, high = float(np.clip(y.min(), -end, end)), float(np.clip(y.max(), -end, end))
    return part_frame(plan.size, low - 2.5, high + 2.5, tallest_px=plan.tallest_px)


def named_letters(asked: MovementLine | None, size: Size) -> frozenset[str]:
    """The letters that a movement's commands name, terms filled in left out."""
    if asked is None:
        return frozenset()
    words = [s.text for s in asked.stretches if not s.filled] + [c.text for c in asked.changes]
    found = {name for text in words for name in re.findall(r"\b[A-Z]\b", text)}
    return frozenset(found & set(LETTERS[size]))


def _is_middle(size: Size, name: str) -> bool:
    x, y = LETTERS[size][name]
    return x == 0 and abs(y) < HALF_LENGTH_M[size]


def _middle_names(frame: Frame, plan: PlanOf) -> list[str]:
    named = named_letters(plan.asked, plan.size)
    shown = letters_shown(frame, plan.size, asked=named, middle=False)
    return [name for name in shown if _is_middle(plan.size, name)]


def _room(
    frame: Frame, plan: PlanOf, asked: tuple[Floats, Floats], pieces: Sequence[Piece]
) -> Room:
    """The room that letters, boards and lines leave for words."""
    room = Room(width=frame.width_px, height=frame.height_px)
    for name in letters_shown(frame, plan.size, middle=False):
        px, py = letter_spot(frame, plan.size, name)
        room.taken.append(Box(x=px, y=py, width=18, height=18))
    room.taken.append(Box(x=frame.width_px - 40, y=frame.height_px - 6, width=90, height=14))
    room.taken += [_stand_box(frame, piece) for piece in pieces if piece.gait == "halt"]
    for x_m, y_m in [asked, *((p.x_m, p.y_m) for p in pieces)]:
        room.inked.append(in_px(frame, x_m, y_m))
    y = np.arange(*ground_shown_m(frame, plan.size), 0.4)
    room.inked += [in_px(frame, np.full(y.size, x), y) for x in (-HALF_WIDTH_M, HALF_WIDTH_M)]
    x = np.arange(-HALF_WIDTH_M, HALF_WIDTH_M, 0.4)
    end = HALF_LENGTH_M[plan.size]
    room.inked += [in_px(frame, x, np.full(x.size, y)) for y in (-end, end) if frame.shows(y)]
    return room


def _stand_box(frame: Frame, piece: Piece) -> Box:
    px, py = frame.px(float(piece.x_m.mean()), float(piece.y_m.mean()))
    return Box(x=px, y=py, width=16, height=16)


def _ground(
    frame: Frame, plan: PlanOf, pieces: Sequence[Piece], layout: Layout | None
) -> list[Markup]:
    bands = [band(frame, p.x_m, p.y_m, p.sd_m) for p in pieces if p.gait != "halt"]
    edge = {n for n in named_letters(plan.asked, plan.size) if not _is_middle(plan.size, n)}
    drawn = letters(frame, plan.size, asked=edge, middle=False, ends_known=plan.ends_known)
    return [
        centre_line(frame, plan.size), *bands, *_windows(frame, plan.asked, layout),
        boards(frame, plan.size), drawn,
    ]  # fmt: skip


def _windows(frame: Frame, asked: MovementLine | None, layout: Layout | None) -> list[Markup]:
    """Where a change was asked for between two places: the asked line, widened."""
    if asked is None or layout is None:
        return []
    out = []
    for change in asked.changes:
        if change.where in ("between", "part") and change.end_m > change.start_m:
            rows = (layout.s_m >= change.start_m) & (layout.s_m <= change.end_m)
            out.append(stroke(line_d(frame, layout.x_m[rows], layout.y_m[rows]), "window"))
    return out


def _ridden_parts(
    frame: Frame, plan: PlanOf, ridden: DrawnPath, strides: Strides, room: Room
) -> list[Markup]:
    pieces = _pieces(plan, ridden)
    parts = _pointed_at(frame, plan, ridden)
    parts += [gait_line(frame, piece) for piece in pieces]
    for turn in plan.turns:
        parts += quarter_marks(frame, ridden, turn, strides, room)
    for change in plan.transitions:
        parts += onset(frame, ridden, change)
    return [*parts, way(frame, pieces)]


def _pointed_at(frame: Frame, plan: PlanOf, ridden: DrawnPath) -> list[Markup]:
    out = []
    for number, (start, end) in enumerate(plan.parts, start=1):
        piece = ridden.whole(start, max(end, start + 0.5))
        out.append(stroke(line_d(frame, piece.x_m, piece.y_m), f"part part-{number}"))
    return out


def whole_plan(
    ridden: DrawnPath, size: Size | None, *, ends_known: bool, name: str, title: str, desc: str
) -> Markup:
    """Every minute of the ride on one plan: spaghetti, drawn on request only."""
    t = ridden.t_s
    pieces = ridden.pieces(float(t[0]), float(t[-1]))
    frame = school_frame(size, tallest_px=620) if size else _open_frame(ridden)
    ground = [] if size is None else [
        centre_line(frame, size), boards(frame, size), letters(frame, size, ends_known=ends_known),
    ]  # fmt: skip
    lines = [
        stroke(line_d(frame, p.x_m, p.y_m), f"gait {p.gait} thin")
        for p in pieces
        if p.gait != "halt"
    ]
    stands = [gait_line(frame, p) for p in pieces if p.gait == "halt"]
    drawn = [*ground, *lines, *stands, scale_bar(frame)]
    return svg(frame, drawn, title=title, desc=desc, name=name)


def _open_frame(ridden: DrawnPath) -> Frame:
    x, y = np.asarray(ridden.row.x_m), np.asarray(ridden.row.y_m)
    left, right, low, high = x.min() - 3, x.max() + 3, y.min() - 3, y.max() + 3
    scale = min(9.0, 320 / (right - left), 620 / (high - low))
    return Frame(left_m=left, right_m=right, low_m=low, high_m=high, px_per_m=scale)
