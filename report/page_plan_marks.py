"""Marks on a ridden line: line patterns, halts, quarters, onsets of gaits, and their words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from markupsafe import Markup

from report import words_labels as labels
from report import words_page as w
from report.arena_letters import letter
from report.arena_svg import Frame, arrow, cross_tick, line_d, stroke, text
from report.page_labels import Room, spots_beside
from report.page_path import DrawnPath, Piece, quarter_times, strides_between
from report.result import TransitionRow
from track.arena import LETTERS, Size
from track.path import Floats

LABEL_LEAST_M: Final = 4.0
"""A shorter stretch of a gait carries no label."""
HALT_HALF_PX: Final = 5.0
WHISKER_PX: Final = 9.0
INSIDE_PX: Final = 18.0
"""Strides are written so far inside a circle's line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A figure ridden: where its quarters are marked."""

    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Strides:
    """Starts and lengths of all strides, for counting."""

    t_s: Floats
    duration_s: Floats


def in_px(frame: Frame, x_m: Floats, y_m: Floats) -> Floats:
    """Points in pixels, shape (n, 2)."""
    return np.column_stack(
        [(x_m - frame.left_m) * frame.px_per_m, (frame.high_m - y_m) * frame.px_per_m]
    )


def gait_line(frame: Frame, piece: Piece) -> Markup:
    """One gait's stretch in its line pattern; a square where the horse stood."""
    if piece.gait == "halt":
        px, py = frame.px(float(piece.x_m.mean()), float(piece.y_m.mean()))
        half = HALT_HALF_PX
        d = f"M{px - half:.1f} {py - half:.1f}h{2 * half:g}v{2 * half:g}h-{2 * half:g}Z"
        return stroke(d, "stand")
    return stroke(line_d(frame, piece.x_m, piece.y_m), f"gait {piece.gait}")


def way(frame: Frame, pieces: Sequence[Piece]) -> Markup:
    """The way it was ridden: early on the longest piece, and at the end of the last."""
    moving = [p for p in pieces if p.gait != "halt" and len(p.x_m) > 4]
    if not moving:
        return Markup("")
    longest = max(moving, key=lambda p: len(p.x_m))
    heads = []
    for piece, share in ((longest, 0.22), (moving[-1], 1.0)):
        i = min(len(piece.x_m) - 1, max(1, int(share * len(piece.x_m))))
        x, y = piece.x_m, piece.y_m
        heading = float(np.arctan2(y[i] - y[i - 1], x[i] - x[i - 1]))
        heads.append(arrow(frame, float(x[i]), float(y[i]), heading))
    return Markup("").join(heads)


def gait_labels(frame: Frame, pieces: Sequence[Piece], room: Room) -> Iterable[Markup]:
    """The gaits' names beside their lines, where there is room."""
    for piece in pieces:
        length = float(np.hypot(np.diff(piece.x_m), np.diff(piece.y_m)).sum())
        if piece.gait == "unknown" or (piece.gait != "halt" and length < LABEL_LEAST_M):
            continue
        word = labels.GAITS[piece.gait]
        spot = room.place(word, _label_spots(frame, piece, word))
        yield text(spot.x, spot.y + 4, word, "on-line")


def _label_spots(frame: Frame, piece: Piece, word: str) -> list[tuple[float, float]]:
    points = in_px(frame, piece.x_m, piece.y_m)
    if piece.gait != "halt":
        return spots_beside(points[:, 0], points[:, 1], word)
    x, y = (float(v) for v in points.mean(axis=0))
    aside = 12 + 3.2 * len(word)
    return [
        (x - aside, y), (x + aside, y), (x, y - 18), (x, y + 18),
        (x - aside, y - 14), (x + aside, y - 14), (x - aside, y + 14), (x + aside, y + 14),
    ]  # fmt: skip


def middle_letters(frame: Frame, size: Size, names: Sequence[str], room: Room) -> Iterable[Markup]:
    """Letters on the centre line, each on the side that the lines leave free."""
    for name in names:
        px, py = frame.px(*LETTERS[size][name])
        spots = [
            (px + side * gap, py + down)
            for gap in (15, 22)
            for down in (0, -9, 9)
            for side in (1, -1)
        ]
        spot = room.place("M", spots)
        yield letter(frame, size, name, spot.x, spot.y, bold=True)


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
    radius_px = float(np.ptp(whole.x_m)) / 2 * frame.px_per_m
    share = max(0.5, 1 - INSIDE_PX / radius_px)
    spots = [(*frame.px(cx, cy), w.STRIDES_PER_QUARTER)]
    for start, end in pairwise(times.tolist()):
        count = strides_between(strides.t_s, strides.duration_s, start, end)
        x, y = ridden.at((start + end) / 2)
        px, py = frame.px(cx + share * (float(x) - cx), cy + share * (float(y) - cy))
        spots.append((px, py, f"{count:.1f}"))
    room.taken += [room.box(words, px, py) for px, py, words in spots]
    return [text(px, py + 4, words, "mark") for px, py, words in spots]


def onset(frame: Frame, ridden: DrawnPath, change: TransitionRow) -> list[Markup]:
    """A heavy tick where the new gait began, and its doubt beside the line like a measure.

    A halt's square marks it already: nothing is drawn for a change into or out of one.
    """
    if change.x_m is None or change.y_m is None or "halt" in (change.from_gait, change.to_gait):
        return []
    heading = float(ridden.heading_rad(change.t_s))
    tick = cross_tick(frame, change.x_m, change.y_m, heading, half_px=7, kind="onset")
    speed = max(ridden.speed_ms(change.t_s), 0.8)
    along = 2 * float(np.hypot(speed * change.t_sd_s, ridden.sd_m(change.t_s)))
    piece = ridden.whole(change.t_s - along / speed, change.t_s + along / speed)
    return [tick, *_measure(frame, ridden, piece)]


def _measure(frame: Frame, ridden: DrawnPath, piece: Piece) -> list[Markup]:
    """A line beside a stretch, on its inner side, with ends like a draughtsman's measure."""
    turn = ridden.heading_rad(piece.t_s)
    i = len(turn) // 2
    outward = piece.x_m[i] * -np.sin(turn[i]) + piece.y_m[i] * np.cos(turn[i])
    off = (-1.0 if outward > 0 else 1.0) * WHISKER_PX / frame.px_per_m
    x, y = piece.x_m - np.sin(turn) * off, piece.y_m + np.cos(turn) * off
    ends = [
        cross_tick(frame, float(x[i]), float(y[i]), float(turn[i]), half_px=4, kind="whisker")
        for i in (0, -1)
    ]
    return [stroke(line_d(frame, x, y), "whisker"), *ends]
