"""The school drawn as a surveyor would: boards and lines in ink, C at the top.

Drawings are strings of SVG in pixels. A :class:`Frame` says which metres they show and how large;
everything else takes a frame and metres. Line patterns and colours live in the style sheet, under
the class names used here, so that a page prints in black and white.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import cos, hypot, sin
from typing import Final

import numpy as np
from markupsafe import Markup

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, Size
from track.path import Floats

PX_PER_M: Final = 8.6
MARGIN_M: Final = 3.4
LEAST_MARGIN_PX: Final = 26.0
CUT_GAP_M: Final = 2.8
"""Room beyond a break line, for the scale."""
SNAP_M: Final = 6.0
"""A cut this near to an end of the school is not worth making."""
TALLEST_PX: Final = 440.0
DOUBT_SDS: Final = 2.0
"""Half-width of the band of doubt, in standard uncertainties: about 95 in 100."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What part of the ground a drawing shows, and at what size.

    Attributes
    ----------
    left_m, right_m, low_m, high_m : float, m
        The ground shown.
    px_per_m : float
        Scale.
    """

    left_m: float
    right_m: float
    low_m: float
    high_m: float
    px_per_m: float = PX_PER_M

    @property
    def width_px(self) -> float:
        """Width of the drawing."""
        return (self.right_m - self.left_m) * self.px_per_m

    @property
    def height_px(self) -> float:
        """Height of the drawing."""
        return (self.high_m - self.low_m) * self.px_per_m

    def px(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Pixels from the top left corner."""
        return (x_m - self.left_m) * self.px_per_m, (self.high_m - y_m) * self.px_per_m

    def shows(self, y_m: float) -> bool:
        """Whether this height of the ground is inside the drawing."""
        return self.low_m <= y_m <= self.high_m


def school_frame(size: Size, *, tallest_px: float = TALLEST_PX) -> Frame:
    """Frame for the whole school with room for the letters."""
    return part_frame(size, -HALF_LENGTH_M[size], HALF_LENGTH_M[size], tallest_px=tallest_px)


def part_frame(
    size: Size, low_m: float, high_m: float, *, least_m: float = 20.0,
    tallest_px: float = TALLEST_PX,
) -> Frame:  # fmt: skip
    """Frame for the part of the school between two heights, widened to a readable least.

    Parameters
    ----------
    size : {"20x40", "20x60"}
    low_m, high_m : float, m
        What must be seen along the long side.
    least_m : float, m
        Shortest part that is drawn.
    tallest_px : float
        The scale shrinks so that the drawing is no taller.
    """
    end = HALF_LENGTH_M[size]
    spare = max(0.0, least_m - (high_m - low_m)) / 2
    low, high = max(low_m - spare, -end), min(high_m + spare, end)
    low, high = max(min(low, high - least_m), -end), min(max(high, low + least_m), end)
    low = -end if low + end < SNAP_M else low
    high = end if end - high < SNAP_M else high
    scale = min(PX_PER_M, tallest_px / (high - low + 2 * MARGIN_M))
    margin = max(MARGIN_M, LEAST_MARGIN_PX / scale)
    side = HALF_WIDTH_M + margin
    return Frame(
        left_m=-side, right_m=side, low_m=low - margin, high_m=high + margin, px_per_m=scale
    )


def line_d(frame: Frame, x_m: Floats, y_m: Floats) -> str:
    """Path data of a line through points, in the frame's pixels.

    Examples
    --------
    >>> frame = Frame(left_m=0, right_m=10, low_m=0, high_m=10, px_per_m=10)
    >>> line_d(frame, np.array([0.0, 1.0]), np.array([0.0, 2.5]))
    'M0 100L10 75'
    """
    xs = (np.asarray(x_m) - frame.left_m) * frame.px_per_m
    ys = (frame.high_m - np.asarray(y_m)) * frame.px_per_m
    points = [f"{number(x)} {number(y)}" for x, y in zip(xs.tolist(), ys.tolist(), strict=True)]
    return "M" + "L".join(points) if points else ""


def band(frame: Frame, x_m: Floats, y_m: Floats, sd_m: Floats) -> Markup:
    """The band of doubt round a line: ``DOUBT_SDS`` to either side, as wide strokes.

    Strokes of equal width (to half a pixel) are joined, so a steady doubt is one path.
    """
    widths = np.maximum(0.5 * np.round(4 * DOUBT_SDS * sd_m * frame.px_per_m), 1.0)
    edges = np.flatnonzero(np.diff(widths)) + 1
    parts = []
    for first, last in zip([0, *edges.tolist()], [*edges.tolist(), len(x_m) - 1], strict=True):
        piece = slice(first, last + 1)
        parts.append(
            stroke(line_d(frame, x_m[piece], y_m[piece]), "band", width_px=float(widths[first]))
        )
    return Markup("").join(parts)


def stroke(d: str, kind: str, *, width_px: float | None = None) -> Markup:
    """A line of one class of the style sheet; a width only where the data set it."""
    width = (
        Markup("") if width_px is None else Markup(' stroke-width="{}"').format(number(width_px))
    )
    return Markup('<path class="{}" d="{}"{}/>').format(kind, d, width)


def boards(frame: Frame, size: Size) -> Markup:
    """The boards; break marks where the school goes on."""
    end = HALF_LENGTH_M[size]
    low, high = ground_shown_m(frame, size)
    sides = [_segment(frame, (x, low), (x, high)) for x in (-HALF_WIDTH_M, HALF_WIDTH_M)]
    ends = [
        _segment(frame, (-HALF_WIDTH_M, y), (HALF_WIDTH_M, y))
        for y in (-end, end) if frame.shows(y)
    ]  # fmt: skip
    parts = [stroke("".join(sides + ends), "boards")]
    parts += [stroke(_break_d(frame, y), "cut") for y in (low, high) if abs(y) < end]
    return Markup("").join(parts)


def centre_line(frame: Frame, size: Size) -> Markup:
    """The centre line, to be drawn under everything."""
    low, high = ground_shown_m(frame, size)
    return stroke(_segment(frame, (0, low), (0, high)), "centre")


def ground_shown_m(frame: Frame, size: Size) -> tuple[float, float]:
    """Lowest and highest y of the school that a drawing shows; a cut leaves room beyond it."""
    end = HALF_LENGTH_M[size]
    return (
        -end if frame.low_m < -end else frame.low_m + CUT_GAP_M,
        end if frame.high_m > end else frame.high_m - CUT_GAP_M,
    )


def _segment(frame: Frame, start: tuple[float, float], end: tuple[float, float]) -> str:
    return line_d(frame, np.array([start[0], end[0]]), np.array([start[1], end[1]]))


def _break_d(frame: Frame, y_m: float) -> str:
    """A draughtsman's break line across the school."""
    x = np.array([-HALF_WIDTH_M - 1.2, -1.0, -0.4, 0.4, 1.0, HALF_WIDTH_M + 1.2])
    y = y_m + np.array([0.0, 0.0, 0.9, -0.9, 0.0, 0.0])
    return line_d(frame, x, y)


def text(x_px: float, y_px: float, words: str, kind: str, *, anchor: str = "middle") -> Markup:
    """Words in a drawing, escaped."""
    return Markup('<text class="{}" x="{}" y="{}" text-anchor="{}">{}</text>').format(
        kind, number(x_px), number(y_px), anchor, words
    )


def arrow(frame: Frame, x_m: float, y_m: float, heading_rad: float, kind: str = "arrow") -> Markup:
    """An open arrow head on a line, pointing the way it was ridden."""
    px, py = frame.px(x_m, y_m)
    ends = [
        (px - 8 * cos(heading_rad + turn), py + 8 * sin(heading_rad + turn))
        for turn in (0.42, -0.42)
    ]
    points = [ends[0], (px, py), ends[1]]
    return stroke("M" + "L".join(f"{number(x)} {number(y)}" for x, y in points), kind)


def cross_tick(
    frame: Frame, x_m: float, y_m: float, heading_rad: float, *, half_px: float, kind: str
) -> Markup:
    """A short stroke across a line."""
    px, py = frame.px(x_m, y_m)
    dx, dy = -sin(heading_rad) * half_px, -cos(heading_rad) * half_px
    return stroke(f"M{number(px - dx)} {number(py - dy)}L{number(px + dx)} {number(py + dy)}", kind)


def scale_bar(frame: Frame, length_m: float = 5.0) -> Markup:
    """A bar of so many metres in the lower right corner."""
    right = frame.width_px - 4
    left, y = right - length_m * frame.px_per_m, frame.height_px - 5
    d = f"M{number(left)} {number(y - 4)}V{number(y)}H{number(right)}V{number(y - 4)}"
    return stroke(d, "scale") + text(left - 4, y, f"{length_m:g} m", "scale-text", anchor="end")


def svg(
    frame: Frame, parts: Iterable[Markup], *, title: str, desc: str, name: str, kind: str = "plan"
) -> Markup:
    """A whole drawing with its title and description for screen readers.

    Parameters
    ----------
    name : str
        Unique on the page; written by us, never from a file.
    """
    body = Markup("").join(parts)
    return Markup(
        '<svg class="{kind}" role="img" aria-labelledby="{name}-t {name}-d" '
        'viewBox="0 0 {w} {h}" width="{w}" height="{h}" xmlns="http://www.w3.org/2000/svg">'
        '<title id="{name}-t">{title}</title><desc id="{name}-d">{desc}</desc>{body}</svg>'
    ).format(
        kind=kind, name=name, w=number(frame.width_px), h=number(frame.height_px),
        title=title, desc=desc, body=body,
    )  # fmt: skip


def thinned(x_m: Sequence[float] | Floats, y_m: Sequence[float] | Floats, step_m: float) -> Floats:
    """Indices of points at least ``step_m`` apart along a line, first and last always kept."""
    kept = [0]
    for i in range(1, len(x_m)):
        if hypot(x_m[i] - x_m[kept[-1]], y_m[i] - y_m[kept[-1]]) >= step_m:
            kept.append(i)
    if kept[-1] != len(x_m) - 1:
        kept.append(len(x_m) - 1)
    return np.array(kept if len(x_m) else [], dtype=np.int64)


def number(value: float) -> str:
    """A pixel to one decimal, without a trailing zero or a minus nought."""
    return f"{round(float(value), 1) + 0.0:.1f}".removesuffix(".0")
