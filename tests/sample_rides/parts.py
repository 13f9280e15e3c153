"""One ride taken apart: the line, the timeline, the strides and the trunk behind it."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from sample_rides.course import draw_course
from sample_rides.course_errors import slice_layout
from sample_rides.planning import make_plan
from sample_rides.ridden import RiddenLine, ride_line
from sample_rides.scenario import Scenario
from sample_rides.schedule import Timeline, make_timeline
from sample_rides.sheets import demo_sheet
from sample_rides.strides import StridedSpan, make_strides
from sample_rides.trunk import TrunkMotion, move_trunk
from track.lay_out import lay_out
from track.layout import Layout


@cache
def layout_of(name: str) -> Layout:
    return lay_out(demo_sheet(name))


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    line: RiddenLine
    timeline: Timeline
    strides: tuple[StridedSpan, ...]
    trunk: TrunkMotion


@cache
def parts_of(name: str, scenario: Scenario, seed: int = 1) -> Parts:
    layout = layout_of(name)
    rng = np.random.default_rng(seed)
    sliced = slice_layout(layout, ())
    course = draw_course(layout, scenario, sliced.parts)
    line = ride_line(course, layout, scenario, (), rng)
    plan = make_plan(course, line, layout, scenario, faults=(), rng=rng)
    timeline = make_timeline(line, plan, scenario, rng)
    strides = make_strides(timeline, plan.paces, scenario, rng)
    trunk = move_trunk(line, timeline, strides, scenario, mishaps=(), rng=rng)
    return Parts(line=line, timeline=timeline, strides=strides, trunk=trunk)
