"""From what the sheet asks to what the rider does: where each gait begins on the ridden line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.random import Generator

from sample_rides.course import Course, Slice
from sample_rides.faults import Fault, of_kind
from sample_rides.horse import own_rate_hz, own_speed_ms
from sample_rides.ridden import GRID_M, RiddenLine
from sample_rides.scenario import Scenario
from track.arena import LETTERS
from track.layout import Change, Layout
from track.sheet import GaitName, Rein

LEAST_BOUT_M: Final = 3.0
NEAR_LETTER_M: Final = 5.0
HALT_PLACE_SD_M: Final = 0.7
FREE_WALK_SPEED: Final = 1.12
LENGTHENED_SPEED: Final = 1.15

BETWEEN: Final[dict[tuple[GaitName, GaitName], tuple[GaitName, tuple[float, ...]]]] = {
    ("trot", "halt"): ("walk", (0.3, 0.3, 0.25, 0.15)),
    ("canter", "halt"): ("trot", (0.2, 0.3, 0.3, 0.2)),
    ("canter", "walk"): ("trot", (0.3, 0.2, 0.2, 0.2, 0.1)),
    ("halt", "trot"): ("walk", (0.6, 0.3, 0.1)),
    ("halt", "canter"): ("trot", (0.4, 0.4, 0.2)),
    ("walk", "canter"): ("trot", (0.5, 0.3, 0.2)),
}
"""Gait slipped in between, and the chances of 0, 1, 2, ... of its strides [judgement]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A gait from some place on; a halt stands there for ``stand_s``.

    ``after_halt`` marks the step that moves off from a halt at the same place.
    """

    s_m: float
    gait: GaitName
    lead: Rein | None = None
    stand_s: float = 0.0
    after_halt: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Onset:
    """One change of gait as it was ridden.

    Attributes
    ----------
    from_gait, to_gait : str
    s_m : float, m
        Ridden distance at which the new gait begins.
    moving_off : bool
        From a halt: the instant is the end of the standing.
    between_m : float or None, m
        Where the old gait ended, when strides of neither lie between.
    movement, change : int or None
        Number of the movement and of its change, from 1; None outside the sheet.
    run : int
    window_m : (float, float) or None, m
        Ridden distance of the letter (equal) or of the window.
    """

    from_gait: GaitName
    to_gait: GaitName
    s_m: float
    moving_off: bool = False
    between_m: float | None = None
    movement: int | None = None
    change: int | None = None
    run: int = 1
    window_m: tuple[float, float] | None = None

    @property
    def off_place_m(self) -> float | None:
        """Onset against its letter or window along the ridden line, negative = early."""
        if self.window_m is None:
            return None
        low, high = self.window_m
        return self.s_m - low if self.s_m < low else max(self.s_m - high, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """Speed and stride rate against the ordinary, over a stretch of the ridden line."""

    start_m: float
    end_m: float
    speed_factor: float
    rate_factor: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Mishap:
    """Strides in a gait that was not asked for."""

    kind: Literal["break", "jog"]
    start_m: float
    end_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Everything the rider does, by place."""

    steps: tuple[Step, ...]
    onsets: tuple[Onset, ...]
    paces: tuple[Pace, ...]
    mishaps: tuple[Mishap, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """A change of gait wanted at a place, before it is ridden."""

    wanted_m: float
    to_gait: GaitName
    lead: Rein | None = None
    movement: int | None = None
    number: int | None = None
    run: int = 1
    change: Change | None = None
    window_m: tuple[float, float] | None = None


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
    rider = _Rider(scenario, faults, rng)
    for asked in _asked(course, line, layout):
        rider.take(asked, float(line.s_m[-1]))
    paces = (
        *rider.paces(float(line.s_m[-1])),
        *_shown(line, layout),
        *_tempo(line, layout, scenario, faults),
    )
    plan = Plan(steps=tuple(rider.steps), onsets=tuple(rider.onsets), paces=paces)
    for fault in (*of_kind(faults, "break"), *of_kind(faults, "jog")):
        plan = _with_mishap(plan, fault, line, layout, scenario)
    return plan


def _asked(course: Course, line: RiddenLine, layout: Layout) -> list[_Asked]:
    """Every change wanted, in riding order."""
    wanted = [
        _Asked(wanted_m=line.along(course_m), to_gait=gait) for course_m, gait in course.gaits
    ]
    for piece in course.slices:
        for movement in layout.movements:
            for number, change in enumerate(movement.changes, start=1):
                if not piece.holds(change.start_m):
                    continue
                window_m = _window(change, piece, line, layout)
                asked = _Asked(
                    wanted_m=window_m[0],
                    to_gait=change.to_gait,
                    lead=change.lead,
                    movement=movement.number,
                    number=number,
                    run=piece.run,
                    change=change,
                    window_m=window_m,
                )
                wanted.append(asked)
                if change.where == "from":
                    back_m = line.along(piece.course_m(change.end_m))
                    wanted.append(_Asked(wanted_m=back_m, to_gait=change.from_gait, run=piece.run))
    return sorted(wanted, key=lambda asked: asked.wanted_m)


def _window(change: Change, piece: Slice, line: RiddenLine, layout: Layout) -> tuple[float, float]:
    """Ridden distances of a change's letter(s), each at the line's nearest approach."""
    places = [word for word in change.place.split() if word in LETTERS[layout.sheet.arena]]
    ends_m = (change.start_m, change.end_m)
    about = [line.along(piece.course_m(end_m)) for end_m in ends_m]
    if change.where in {"at", "from"}:
        about[1] = about[0]
        places = places[:1] * 2
    if len(places) == 2:
        near = [
            line.nearest(LETTERS[layout.sheet.arena][letter], at_m, NEAR_LETTER_M)
            for letter, at_m in zip(places, about, strict=True)
        ]
        return near[0], near[1]
    return about[0], about[1]


class _Rider:
    """Takes one asked change after another."""

    def __init__(self, scenario: Scenario, faults: Sequence[Fault], rng: Generator) -> None:
        self.scenario = scenario
        self.faults = faults
        self.rng = rng
        self.steps: list[Step] = []
        self.onsets: list[Onset] = []
        self.free_from_m: list[tuple[float, float | None]] = []

    @property
    def gait(self) -> GaitName:
        return self.steps[-1].gait

    def stride_m(self, gait: GaitName) -> float:
        return own_speed_ms(self.scenario, gait) / own_rate_hz(self.scenario, gait)

    def take(self, asked: _Asked, end_m: float) -> None:
        """Ride one change."""
        if not self.steps:
            self.steps.append(Step(s_m=0.0, gait=asked.to_gait, lead=asked.lead))
            return
        free = asked.change is not None and asked.change.free
        self._end_free(asked.wanted_m)
        via = asked.change.via if asked.change is not None else None
        if asked.to_gait == self.gait and (via is None or via == self.gait):
            if free:
                self.free_from_m.append((asked.wanted_m, None))
            return
        onset_m = float(np.clip(self._onset_m(asked), self._least_m(), end_m - 1.0))
        if asked.to_gait == "halt":
            onset_m = round(onset_m / GRID_M) * GRID_M
        if asked.to_gait == self.gait and via is not None:
            self._through(asked, onset_m, via)
        else:
            self._change(asked, onset_m, via)
        if free:
            self.free_from_m.append((onset_m, None))

    def paces(self, end_m: float) -> tuple[Pace, ...]:
        """Free walk covers more ground at the same rate."""
        self._end_free(end_m)
        return tuple(
            Pace(start_m=start_m, end_m=stop_m or end_m, speed_factor=FREE_WALK_SPEED)
            for start_m, stop_m in self.free_from_m
        )

    def _end_free(self, at_m: float) -> None:
        if self.free_from_m and self.free_from_m[-1][1] is None:
            self.free_from_m[-1] = (self.free_from_m[-1][0], at_m)

    def _least_m(self) -> float:
        """A gait is kept for a few metres at least; from a halt one moves off on the spot."""
        last = self.steps[-1]
        return last.s_m if last.gait == "halt" else last.s_m + LEAST_BOUT_M

    def _onset_m(self, asked: _Asked) -> float:
        if self.gait == "halt":
            return self.steps[-1].s_m
        if asked.window_m is None:
            return asked.wanted_m
        low, high = asked.window_m
        sd_m = HALT_PLACE_SD_M if asked.to_gait == "halt" else self.scenario.placement_sd_m
        error_m = sd_m * self.scenario.imperfection * self.rng.standard_normal()
        if asked.change is not None and asked.change.where in {"between", "part"}:
            error_m = 0.3 * error_m + self.rng.uniform(0.2, 0.8) * (high - low)
        return low + error_m + self._late_m(asked)

    def _late_m(self, asked: _Asked) -> float:
        late = [
            fault
            for fault in of_kind(self.faults, "late")
            if fault.movement == asked.movement and fault.change == asked.number
        ]
        metres = sum(fault.amount for fault in late if fault.unit == "m")
        strides = sum(fault.amount for fault in late if fault.unit == "strides")
        gait = self.gait if asked.to_gait == "halt" else asked.to_gait
        return metres + strides * self.stride_m(gait)

    def _strides_between(self, asked: _Asked, via: GaitName | None) -> tuple[GaitName, int] | None:
        if via is not None:
            low, high = (asked.change.via_steps if asked.change else None) or (6, 10)
            return via, round(int(self.rng.integers(low, high + 1)) / 2)
        between = BETWEEN.get((self.gait, asked.to_gait))
        if between is None:
            return None
        count = int(self.rng.choice(len(between[1]), p=between[1]))
        return (between[0], count) if count else None

    def _row(self, asked: _Asked, to_gait: GaitName, s_m: float, between_m: float | None) -> Onset:
        return Onset(
            from_gait=self.gait,
            to_gait=to_gait,
            s_m=s_m,
            moving_off=self.gait == "halt" and between_m is None,
            between_m=between_m,
            movement=asked.movement,
            change=asked.number,
            run=asked.run,
            window_m=asked.window_m,
        )

    def _through(self, asked: _Asked, onset_m: float, via: GaitName) -> None:
        """Some strides of another gait, and on in the old one: two transitions."""
        lead = asked.lead
        between = self._strides_between(asked, via)
        length_m = (between[1] if between else 1) * self.stride_m(via)
        self.onsets.append(self._row(asked, via, onset_m, None))
        self.steps.append(Step(s_m=onset_m, gait=via))
        back = replace(asked, window_m=None)
        self.onsets.append(self._row(back, asked.to_gait, onset_m + length_m, None))
        self.steps.append(Step(s_m=onset_m + length_m, gait=asked.to_gait, lead=lead))

    def _change(self, asked: _Asked, onset_m: float, via: GaitName | None) -> None:
        """One change, with strides of neither gait before it where they happen."""
        between = self._strides_between(asked, via)
        between_m: float | None = None
        if between is not None:
            gait, count = between
            length_m = self._between_length_m(gait, count, asked.to_gait)
            if self.gait == "halt":
                between_m, onset_m = onset_m, onset_m + length_m
            elif onset_m - length_m > self._least_m():
                between_m = onset_m - length_m
        self.onsets.append(self._row(asked, asked.to_gait, onset_m, between_m))
        if between is not None and between_m is not None:
            self.steps.append(Step(s_m=between_m, gait=between[0], after_halt=self.gait == "halt"))
        stand_s = 0.0
        if asked.to_gait == "halt":
            asked_s = asked.change.halt_s if asked.change is not None else None
            stand_s = (asked_s or 4.0) + float(self.rng.uniform(-0.8, 1.2))
        self.steps.append(
            Step(
                s_m=onset_m,
                gait=asked.to_gait,
                lead=asked.lead,
                stand_s=stand_s,
                after_halt=self.gait == "halt",
            )
        )

    def _between_length_m(self, gait: GaitName, count: int, to_gait: GaitName) -> float:
        """Ground covered by the strides between; the last ones before a halt are slower."""
        length_m = count * self.stride_m(gait)
        if to_gait != "halt":
            return length_m
        duration_s = count / own_rate_hz(self.scenario, gait)
        speed_ms, brake_ms2 = own_speed_ms(self.scenario, gait), 0.9
        braking_s = speed_ms / brake_ms2
        if duration_s < braking_s:
            return 0.5 * brake_ms2 * duration_s**2
        return speed_ms * (duration_s - braking_s / 2.0)


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


def _with_mishap(
    plan: Plan, fault: Fault, line: RiddenLine, layout: Layout, scenario: Scenario
) -> Plan:
    """Break the canter, or jog in the walk, in the middle of the movement's longest such bout."""
    old: GaitName = "canter" if fault.kind == "break" else "walk"
    kind: Literal["break", "jog"] = "break" if fault.kind == "break" else "jog"
    strides = 5 if fault.kind == "break" else 3
    length_m = strides * own_speed_ms(scenario, "trot") / own_rate_hz(scenario, "trot")
    ends = [step.s_m for step in plan.steps[1:]] + [float(line.s_m[-1])]
    bouts = [
        (min(stop, high) - max(step.s_m, low), max(step.s_m, low), min(stop, high), step)
        for low, high in _movement_spans(line, layout, fault.movement)
        for step, stop in zip(plan.steps, ends, strict=True)
        if step.gait == old
    ]
    room_m, start_m, end_m, step = max(
        bouts, key=lambda bout: bout[0], default=(0.0, 0.0, 0.0, plan.steps[0])
    )
    if room_m < length_m + 2 * LEAST_BOUT_M:
        return plan
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
