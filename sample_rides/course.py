"""The whole way the horse is taken, as asked: to the arena, the test, and home again.

The test's own line comes from its layout, in one slice or more; everything else is drawn here.
Errors of course (a movement left out, ridden twice, ...) are other ways of slicing the layout.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from sample_rides.geometry import Line, Piece, connect, trace
from sample_rides.outside import keyhole_and_up, lap_length_m, lead_in, pose_at, way_out
from sample_rides.scenario import Scenario
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M
from track.layout import Layout
from track.path import Floats
from track.sheet import GaitName

AFTER_M: Final = 0.2
"""What follows the test comes after a change asked for at its very end."""
RUN_OUT_M: Final = 4.0
"""Room to pull up where nothing is ridden after the test."""
RUN_UP_M: Final = 9.0
"""The gait of the entry is taken this far before the test's line begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """A part of the layout as it is ridden: layout metres, and where it begins on the course."""

    start_m: float
    end_m: float
    at_m: float
    run: int = 1

    def course_m(self, layout_m: float) -> float:
        """Course metres of a place on the layout."""
        return self.at_m + layout_m - self.start_m

    def holds(self, layout_m: float) -> bool:
        """Whether the slice passes a place of the layout, both its ends included."""
        return self.start_m - 1e-6 <= layout_m <= self.end_m + 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """The line asked for, from getting on to getting off.

    Attributes
    ----------
    s_m, x_m, y_m : array, shape (n,), m
        Ascending distance along the course, and the place.
    slices : tuple of Slice
        Where the test is ridden, in riding order.
    gaits : tuple of (float, str)
        Gait taken outside the sheet's own changes, and from where.
    """

    s_m: Floats
    x_m: Floats
    y_m: Floats
    slices: tuple[Slice, ...]
    gaits: tuple[tuple[float, GaitName], ...]


class _Drawing:
    """Collects lines end to end."""

    def __init__(self) -> None:
        self.x_m: list[Floats] = []
        self.y_m: list[Floats] = []
        self.length_m = 0.0
        self.slices: list[Slice] = []
        self.gaits: list[tuple[float, GaitName]] = []

    def add(self, x_m: Floats, y_m: Floats) -> None:
        """Append points; the first repeats the last one of the line before."""
        if self.x_m:
            x_m, y_m = x_m[1:], y_m[1:]
            gap = np.hypot(x_m[:1] - self.x_m[-1][-1], y_m[:1] - self.y_m[-1][-1])
            self.length_m += float(gap.sum())
        self.length_m += float(np.hypot(np.diff(x_m), np.diff(y_m)).sum())
        if len(x_m):
            self.x_m.append(x_m)
            self.y_m.append(y_m)

    def add_slice(self, layout: Layout, start_m: float, end_m: float, run: int) -> None:
        """Append a part of the layout."""
        at_m = self.length_m
        inside = (layout.s_m > start_m + 1e-6) & (layout.s_m < end_m - 1e-6)
        s_m = np.concatenate([[start_m], layout.s_m[inside], [end_m]])
        self.add(np.interp(s_m, layout.s_m, layout.x_m), np.interp(s_m, layout.s_m, layout.y_m))
        self.slices.append(Slice(start_m=start_m, end_m=end_m, at_m=at_m, run=run))

    def course(self) -> Course:
        x_m, y_m = np.concatenate(self.x_m), np.concatenate(self.y_m)
        steps = np.hypot(np.diff(x_m), np.diff(y_m))
        keep = np.concatenate([[True], steps > 1e-6])
        s_m = np.concatenate([[0.0], np.cumsum(steps)])
        return Course(
            s_m=s_m[keep],
            x_m=x_m[keep],
            y_m=y_m[keep],
            slices=tuple(self.slices),
            gaits=tuple(self.gaits),
        )


Part = tuple[float, float, int]
"""Start and end in layout metres, and the run."""


def draw_course(
    layout: Layout, scenario: Scenario, parts: tuple[Part, ...], detour: Line | None = None
) -> Course:
    """Draw the whole course of a ride.

    Parameters
    ----------
    layout : Layout
    scenario : Scenario
        Decides what is ridden before and after the test.
    parts : tuple of (start_m, end_m, run)
        The layout's slices in riding order; neighbours are joined by the shortest way.
    detour : Line, optional
        Ridden between the first and the second part instead of the shortest way.
    """
    drawing = _Drawing()
    before = lead_in(layout, scenario)
    if before is not None:
        drawing.gaits.append((0.0, "walk"))
        if scenario.before == "boards" and scenario.lap_gait == "trot":
            drawing.gaits += [(6.0, "trot"), (lap_length_m(layout) * scenario.laps, "walk")]
        drawing.add(before.x_m, before.y_m)
        drawing.gaits.append((drawing.length_m - RUN_UP_M, layout.sheet.enter))
    else:
        drawing.gaits.append((0.0, layout.sheet.enter))
    for index, (start_m, end_m, run) in enumerate(parts):
        if index:
            _join(drawing, layout, parts[index - 1], parts[index], detour if index == 1 else None)
        drawing.add_slice(layout, start_m, end_m, run)
    if scenario.after:
        drawing.gaits.append((drawing.length_m + AFTER_M, "walk"))
        home = trace(*way_out(layout, pose_at(layout, parts[-1][1])))
    else:
        home = trace(pose_at(layout, parts[-1][1]), [Piece(RUN_OUT_M)])
    drawing.add(home.x_m, home.y_m)
    return drawing.course()


def _join(
    drawing: _Drawing, layout: Layout, before: Part, after: Part, detour: Line | None
) -> None:
    start, end = pose_at(layout, before[1]), pose_at(layout, after[0])
    at_m = drawing.length_m
    if detour is not None:
        drawing.add(detour.x_m, detour.y_m)
    elif after[2] != before[2]:
        drawing.gaits.append((at_m + AFTER_M, "walk"))
        out = trace(*way_out(layout, start))
        drawing.add(out.x_m, out.y_m)
        round_again = trace(out.end, keyhole_and_up(out.end, end))
        drawing.add(round_again.x_m, round_again.y_m)
        drawing.gaits.append((drawing.length_m - RUN_UP_M, layout.sheet.enter))
        return
    elif np.hypot(start.x_m - end.x_m, start.y_m - end.y_m) > 0.3:
        size = layout.sheet.arena
        way = connect(start, end, HALF_WIDTH_M - 0.4, HALF_LENGTH_M[size] - 0.4)
        drawing.add(way.x_m, way.y_m)
    index = int(np.searchsorted(layout.s_m, after[0] + 0.05))
    drawing.gaits.append((drawing.length_m, layout.gait[min(index, len(layout.gait) - 1)]))
