"""The small plan of one stretch of riding: ridden over asked, with its band of doubt."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from markupsafe import Markup

from report import words_page as w
from report.arena_svg import (
    Frame,
    arrow,
    band,
    boards,
    centre_line,
    cross_tick,
    letter_label_m,
    letters,
    letters_shown,
    line_d,
    part_frame,
    scale_bar,
    school_frame,
    stroke,
    svg,
    text,
)
from report.page_labels import Box, Room, spots_beside
from report.page_path import DrawnPath, Piece, quarter_times, strides_between
from report.result import TransitionRow
from track.arena import HALF_LENGTH_M, LETTERS, Size
from track.layout import Layout, MovementLine
from track.path import Floats

LABEL_LEAST_M: Final = 4.0
"""A shorter stretch of a gait carries no label."""
HALT_HALF_PX: Final = 5.0
WHISKER_PX: Final = 9.0
INSIDE: Final = 0.72
"""Where strides are written, as a share of the way out from the middle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A figure ridden: where its quarters are marked."""

    start_s: float
    end_s: float


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Strides:
    """Starts and lengths of all strides, for counting."""

    t_s: Floats
    duration_s: Floats


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
    frame = _frame(plan.size, asked, pieces)
    room = Room(width=frame.width_px, height=frame.height_px)
    _take_letters(room, frame, plan)
    for x_m, y_m in [asked, *((p.x_m, p.y_m) for p in pieces)]:
        room.inked.append(_px(frame, x_m, y_m))
    parts = [*_ground(frame, plan, pieces, layout), stroke(line_d(frame, *asked), "line")]
    if ridden is not None and pieces:
        parts += _ridden_parts(frame, plan, ridden, strides, room)
    parts.append(scale_bar(frame))
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


def _frame(size: Size, asked: tuple[Floats, Floats], pieces: Sequence[Piece]) -> Frame:
    y = np.concatenate([asked[1], *(p.y_m for p in pieces)])
    if not y.size:
        return school_frame(size)
    end = HALF_LENGTH_M[size] + 2
    low, high = float(np.clip(y.min(), -end, end)), float(np.clip(y.max(), -end, end))
    return part_frame(size, low - 2.5, high + 2.5)


def _px(frame: Frame, x_m: Floats, y_m: Floats) -> Floats:
    return np.column_stack(
        [(x_m - frame.left_m) * frame.px_per_m, (frame.high_m - y_m) * frame.px_per_m]
    )


def named_letters(asked: MovementLine | None, size: Size) -> frozenset[str]:
    """The letters that a movement's commands name, terms filled in left out."""
    if asked is None:
        return frozenset()
    words = [s.text for s in asked.stretches if not s.filled] + [c.text for c in asked.changes]
    found = {name for text_ in words for name in re.findall(r"\b[A-Z]\b", text_)}
    return frozenset(found & set(LETTERS[size]))


def _take_letters(room: Room, frame: Frame, plan: PlanOf) -> None:
    if not plan.ends_known:
        return
    named = named_letters(plan.asked, plan.size)
    for name in letters_shown(frame, plan.size, asked=named, middle=False):
        px, py = frame.px(*letter_label_m(plan.size, name))
        room.taken.append(Box(x=px, y=py, width=16, height=18))
    room.taken.append(Box(x=frame.width_px - 40, y=frame.height_px - 6, width=90, height=14))


def _ground(
    frame: Frame, plan: PlanOf, pieces: Sequence[Piece], layout: Layout | None
) -> list[Markup]:
    bands = [band(frame, p.x_m, p.y_m, p.sd_m) for p in pieces if p.gait != "halt"]
    named = named_letters(plan.asked, plan.size)
    drawn = letters(frame, plan.size, asked=named, middle=False, ends_known=plan.ends_known)
    return [
        centre_line(frame, plan.size),
        *bands,
        *_windows(frame, plan.asked, layout),
        boards(frame, plan.size),
        drawn,
    ]


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
    parts += [_arrow(frame, pieces), *_gait_labels(frame, pieces, room)]
    return parts


def _pointed_at(frame: Frame, plan: PlanOf, ridden: DrawnPath) -> list[Markup]:
    out = []
    for number, (start, end) in enumerate(plan.parts, start=1):
        piece = ridden.whole(start, max(end, start + 0.5))
        out.append(stroke(line_d(frame, piece.x_m, piece.y_m), f"part part-{number}"))
    return out


def gait_line(frame: Frame, piece: Piece) -> Markup:
    """One gait's stretch in its line pattern; a square where the horse stood."""
    if piece.gait == "halt":
        px, py = frame.px(float(piece.x_m.mean()), float(piece.y_m.mean()))
        half = HALT_HALF_PX
        d = f"M{px - half:.1f} {py - half:.1f}h{2 * half:g}v{2 * half:g}h-{2 * half:g}Z"
        return stroke(d, "stand")
    return stroke(line_d(frame, piece.x_m, piece.y_m), f"gait {piece.gait}")


def _arrow(frame: Frame, pieces: Sequence[Piece]) -> Markup:
    """The way it was ridden: at the end of the last piece that moves."""
    moving = [p for p in pieces if p.gait != "halt" and len(p.x_m) > 4]
    if not moving:
        return Markup("")
    longest = max(moving, key=lambda p: len(p.x_m))
    parts = []
    for piece, share in ((longest, 0.22), (moving[-1], 1.0)):
        i = min(len(piece.x_m) - 2, int(share * (len(piece.x_m) - 1)))
        heading = np.arctan2(
            piece.y_m[i + 1] - piece.y_m[i - 1], piece.x_m[i + 1] - piece.x_m[i - 1]
        )
        parts.append(arrow(frame, float(piece.x_m[i + 1]), float(piece.y_m[i + 1]), float(heading)))
    return Markup("").join(parts)


def _gait_labels(frame: Frame, pieces: Sequence[Piece], room: Room) -> Iterable[Markup]:
    for piece in pieces:
        length = float(np.hypot(np.diff(piece.x_m), np.diff(piece.y_m)).sum())
        if piece.gait == "unknown" or (piece.gait != "halt" and length < LABEL_LEAST_M):
            continue
        word = w.GAITS[piece.gait]
        spot = room.place(word, _label_spots(frame, piece, word))
        yield text(spot.x, spot.y + 4, word, "on-line")


def _label_spots(frame: Frame, piece: Piece, word: str) -> list[tuple[float, float]]:
    points = _px(frame, piece.x_m, piece.y_m)
    if piece.gait != "halt":
        return spots_beside(points[:, 0], points[:, 1], word)
    x, y = (float(v) for v in points.mean(axis=0))
    aside = 16 + 3.2 * len(word)
    return [(x - aside, y), (x + aside, y), (x, y - 20), (x, y + 22), (x - aside, y - 14)]


def quarter_marks(
    frame: Frame, ridden: DrawnPath, turn: Turn, strides: Strides, room: Room
) -> list[Markup]:
    """Marks at the quarters of a figure, and the strides each quarter took."""
    times = quarter_times(ridden, turn.start_s, turn.end_s)
    out = []
    for t in times.tolist():
        x, y = ridden.at(t)
        heading = float(ridden.heading_rad(t))
        out.append(cross_tick(frame, float(x), float(y), heading, half_px=6, kind="quarter"))
    if len(times) == 5 and strides.t_s.size:
        out += _quarter_counts(frame, ridden, times, strides, room)
    return out


def _quarter_counts(
    frame: Frame, ridden: DrawnPath, times: Floats, strides: Strides, room: Room
) -> list[Markup]:
    """Strides of each quarter, written towards the middle of the circle."""
    whole = ridden.whole(float(times[0]), float(times[-1]))
    cx = float(whole.x_m.min() + whole.x_m.max()) / 2
    cy = float(whole.y_m.min() + whole.y_m.max()) / 2
    spots = [(*frame.px(cx, cy), w.STRIDES_PER_QUARTER)]
    for start, end in pairwise(times.tolist()):
        count = strides_between(strides.t_s, strides.duration_s, start, end)
        x, y = ridden.at((start + end) / 2)
        px, py = frame.px(cx + INSIDE * (float(x) - cx), cy + INSIDE * (float(y) - cy))
        spots.append((px, py, f"{count:.1f}"))
    room.taken += [room.box(words, px, py) for px, py, words in spots]
    return [text(px, py + 4, words, "mark") for px, py, words in spots]


def onset(frame: Frame, ridden: DrawnPath, change: TransitionRow) -> list[Markup]:
    """A heavy tick where the new gait began, and its doubt beside the line like a measure."""
    if change.x_m is None or change.y_m is None:
        return []
    heading = float(ridden.heading_rad(change.t_s))
    stands = change.to_gait == "halt"  # the square marks it
    parts = (
        []
        if stands
        else [cross_tick(frame, change.x_m, change.y_m, heading, half_px=7, kind="onset")]
    )
    speed = max(ridden.speed_ms(change.t_s), 0.8)
    along = 2 * float(np.hypot(speed * change.t_sd_s, ridden.sd_m(change.t_s)))
    piece = ridden.whole(change.t_s - along / speed, change.t_s + along / speed)
    side = -1.0 if change.x_m * -np.sin(heading) + change.y_m * np.cos(heading) > 0 else 1.0
    turn = ridden.heading_rad(piece.t_s)
    off = side * WHISKER_PX / frame.px_per_m
    x, y = piece.x_m - np.sin(turn) * off, piece.y_m + np.cos(turn) * off
    parts.append(stroke(line_d(frame, x, y), "whisker"))
    parts += [
        cross_tick(frame, float(x[i]), float(y[i]), float(turn[i]), half_px=4, kind="whisker")
        for i in (0, -1)
    ]
    return parts


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
    return svg(
        frame, [*ground, *lines, *stands, scale_bar(frame)], title=title, desc=desc, name=name
    )


def _open_frame(ridden: DrawnPath) -> Frame:
    x, y = np.asarray(ridden.row.x_m), np.asarray(ridden.row.y_m)
    left, right, low, high = x.min() - 3, x.max() + 3, y.min() - 3, y.max() + 3
    scale = min(9.0, 320 / (right - left), 620 / (high - low))
    return Frame(left_m=left, right_m=right, low_m=low, high_m=high, px_per_m=scale)
