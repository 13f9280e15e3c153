"""From what the sheet asks to what the rider does: where each gait begins on the ridden line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np
from numpy.random import Generator

from ingest.errors import TanbarkError
from sample_rides.asked import changes_asked
from sample_rides.course import Course
from sample_rides.faults import Fault, of_kind
from sample_rides.horse import own_rate_hz, own_speed_ms
from sample_rides.plan import Mishap, Onset, Pace, Plan, Step
from sample_rides.ridden import RiddenLine
from sample_rides.rider import LEAST_BOUT_M, Rider
from sample_rides.scenario import Scenario
from track.layout import Layout
from track.sheet import GaitName

LENGTHENED_SPEED: Final = 1.15


def make_plan(
    course: Course,
    line: RiddenLine,
    layout: Layout,
    scenario: Scenario,
    *,
    faults: Sequence[Fault],
    rng: Generator,
) -> Plan:
    """Decide where every gait begins, placement errors and planted faults included."""
    rider = Rider(scenario, faults, rng)
    for asked in changes_asked(course, line, layout):
        rider.take(asked, float(line.s_m[-1]))
    paces = (
        *rider.paces(float(line.s_m[-1])),
        *_shown(line, layout),
        *_tempo(line, layout, scenario, faults),
    )
    plan = Plan(steps=tuple(rider.steps), onsets=tuple(rider.onsets), paces=paces)
    for fault in faults:
        if fault.kind in {"break", "jog"}:
            plan = _with_other_gait(plan, fault, line, layout, scenario)
        if fault.kind in {"stumble", "spook"}:
            plan = _with_start(plan, fault, line, layout)
    return plan


def _movement_spans(
    line: RiddenLine, layout: Layout, number: int | None
) -> list[tuple[float, float]]:
    return [
        (line.along(piece.course_m(movement.start_m)), line.along(piece.course_m(movement.end_m)))
        for piece in line.slices
        for movement in layout.movements
        if movement.number == number
        and piece.holds(movement.start_m)
        and piece.holds(movement.end_m)
    ]


def _shown(line: RiddenLine, layout: Layout) -> tuple[Pace, ...]:
    """Lengthened strides cover more ground at the same rate."""
    return tuple(
        Pace(start_m=start_m, end_m=end_m, speed_factor=LENGTHENED_SPEED)
        for movement in layout.sheet.movements
        if "lengthened" in movement.show
        for start_m, end_m in _movement_spans(line, layout, movement.number)
    )


def _tempo(
    line: RiddenLine, layout: Layout, scenario: Scenario, faults: Sequence[Fault]
) -> tuple[Pace, ...]:
    paces = []
    for fault in of_kind(faults, "tempo"):
        for start_m, end_m in _movement_spans(line, layout, fault.movement):
            gait = layout.gait[int(np.searchsorted(layout.s_m, _middle(layout, fault.movement)))]
            factor = 1.0 + fault.amount / 60.0 / own_rate_hz(scenario, gait)
            paces.append(
                Pace(start_m=start_m, end_m=end_m, speed_factor=factor, rate_factor=factor)
            )
    return tuple(paces)


def _middle(layout: Layout, number: int | None) -> float:
    movement = next(item for item in layout.movements if item.number == number)
    return (movement.start_m + movement.end_m) / 2.0 - 0.05


def _with_start(plan: Plan, fault: Fault, line: RiddenLine, layout: Layout) -> Plan:
    """Stumble, or spook and hurry on, in the middle of the movement."""
    kind: Literal["stumble", "spook"] = "stumble" if fault.kind == "stumble" else "spook"
    length_m = 1.5 if kind == "stumble" else 4.0
    for start_m, end_m in _movement_spans(line, layout, fault.movement):
        at_m = (start_m + end_m) / 2.0
        mishap = Mishap(kind=kind, start_m=at_m, end_m=at_m + length_m)
        plan = replace(plan, mishaps=(*plan.mishaps, mishap))
        if kind == "spook":
            hurry = Pace(start_m=at_m, end_m=at_m + 2 * length_m, speed_factor=1.3)
            plan = replace(plan, paces=(*plan.paces, hurry))
    return plan


def _with_other_gait(
    plan: Plan, fault: Fault, line: RiddenLine, layout: Layout, scenario: Scenario
) -> Plan:
    """Break the canter, or jog in the walk, in the middle of the movement's longest such bout."""
    old: GaitName = "canter" if fault.kind == "break" else "walk"
    kind: Literal["break", "jog"] = "break" if fault.kind == "break" else "jog"
    strides = 5 if kind == "break" else 3
    length_m = strides * own_speed_ms(scenario, "trot") / own_rate_hz(scenario, "trot")
    start_m, end_m, step = _longest(plan, old, _movement_spans(line, layout, fault.movement))
    room_m = length_m + 2 * LEAST_BOUT_M
    if end_m - start_m < room_m:
        raise TanbarkError(
            f"--fault {fault.kind}:{fault.movement}: no {old} of {room_m:.0f} m is ridden in it; "
            "name another movement"
        )
    from_m = (start_m + end_m - length_m) / 2.0
    to_m = from_m + length_m
    steps = [Step(s_m=from_m, gait="trot"), Step(s_m=to_m, gait=old, lead=step.lead)]
    onsets = [
        Onset(from_gait=old, to_gait="trot", s_m=from_m),
        Onset(from_gait="trot", to_gait=old, s_m=to_m),
    ]
    return replace(
        plan,
        steps=tuple(sorted([*plan.steps, *steps], key=lambda item: item.s_m)),
        onsets=tuple(sorted([*plan.onsets, *onsets], key=lambda item: item.s_m)),
        mishaps=(*plan.mishaps, Mishap(kind=kind, start_m=from_m, end_m=to_m)),
    )


def _longest(
    plan: Plan, gait: GaitName, spans_m: list[tuple[float, float]]
) -> tuple[float, float, Step]:
    """Start and end of the longest stretch of a gait within some spans, and its step."""
    ends_m = [step.s_m for step in plan.steps[1:]] + [np.inf]
    bouts = [
        (max(step.s_m, low), min(stop, high), step)
        for low, high in spans_m
        for step, stop in zip(plan.steps, ends_m, strict=True)
        if step.gait == gait
    ]
    return max(bouts, key=lambda bout: bout[1] - bout[0], default=(0.0, 0.0, plan.steps[0]))
