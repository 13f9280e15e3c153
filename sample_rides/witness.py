"""Writes down the truth of a ride from everything that went into it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Final

import numpy as np

from sample_rides.course import Slice
from sample_rides.course_errors import Sliced
from sample_rides.faults import Fault
from sample_rides.figures import fit_circle, out_of_round_m, width_m
from sample_rides.motion_log import MotionLog
from sample_rides.noise import GRADES
from sample_rides.phone import PhoneMotion
from sample_rides.plan import Onset, Plan
from sample_rides.receiver import FixLog
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ, Timeline
from sample_rides.strides import StridedSpan
from sample_rides.trunk import TrunkMotion
from sample_rides.truth import (
    PATH_RATE_HZ,
    TrueArena,
    TrueBout,
    TrueCourseError,
    TrueEvent,
    TrueFigure,
    TrueMovement,
    TruePath,
    TrueStride,
    TrueTransition,
    Truth,
)
from track.arena import LETTERS
from track.layout import Layout, MovementLine, Stretch

SAME_PLACE_M: Final = 0.6
NEAR_LETTER_M: Final = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ride:
    """Everything a ride was made of."""

    layout: Layout
    scenario: Scenario
    faults: tuple[Fault, ...]
    seed: int
    sliced: Sliced
    line: RiddenLine
    plan: Plan
    timeline: Timeline
    strides: tuple[StridedSpan, ...]
    trunk: TrunkMotion
    phone: PhoneMotion
    motion: MotionLog
    fixes: FixLog

    @property
    def zero_s(self) -> float:
        """Simulation time of ``t_s = 0``: the first fix shows what was a delay before it."""
        return float(self.fixes.t_s[0]) - self.scenario.receiver_delay_s

    def passing_m(self, piece: Slice, layout_m: float) -> float:
        """Ridden distance of a place on the layout; a letter counts at its nearest approach."""
        about_m = self.line.along(piece.course_m(layout_m))
        for passage in self.layout.passages:
            if abs(passage.s_m - layout_m) < SAME_PLACE_M:
                place = LETTERS[self.layout.sheet.arena].get(passage.letter)
                if place is not None:
                    return self.line.nearest(place, about_m, NEAR_LETTER_M)
        return about_m


def witness(ride: Ride) -> Truth:
    """Tell the truth of a ride."""
    scenario, zero_s = ride.scenario, ride.zero_s
    offset_s = scenario.clock_offset_s - scenario.receiver_delay_s
    shift_s = offset_s if scenario.clocks_shared else zero_s - float(ride.motion.t_s[0])
    return Truth(
        path=_path(ride),
        bouts=_bouts(ride),
        strides=_strides(ride),
        transitions=tuple(_transition(ride, onset) for onset in ride.plan.onsets),
        movements=_movements(ride),
        figures=_figures(ride),
        events=_events(ride),
        course_errors=_course_errors(ride),
        arena=TrueArena(
            size=ride.layout.sheet.arena,
            x_lat_deg=scenario.lat_deg,
            x_lon_deg=scenario.lon_deg,
            bearing_deg=scenario.bearing_deg,
            track_offset_m=ride.layout.track_offset_m,
        ),
        clock_offset_s=offset_s if scenario.clocks_shared else None,
        motion_shift_s=shift_s,
        receiver_lag_s=scenario.receiver_lag_s,
        handled_s=tuple((a - zero_s, b - zero_s) for a, b in ride.timeline.handled_s),
        rising_s=tuple((a - zero_s, b - zero_s) for a, b in ride.trunk.rising_s),
        noise={
            "grade": scenario.noise,
            **asdict(GRADES[scenario.noise]),
            "frozen_fixes": int(ride.fixes.frozen.sum()),
            "wild_fixes": int(ride.fixes.wild.sum()),
        },
        scenario=asdict(scenario),
        faults=tuple(asdict(fault) for fault in ride.faults),
        seed=ride.seed,
    )


def _path(ride: Ride) -> TruePath:
    every = round(RATE_HZ / PATH_RATE_HZ)
    s_m = ride.timeline.s_m[::every]
    line = ride.line
    return TruePath(
        t_s=ride.timeline.t_s[::every] - ride.zero_s,
        x_m=np.interp(s_m, line.s_m, line.x_m),
        y_m=np.interp(s_m, line.s_m, line.y_m),
        heading_deg=np.degrees(np.interp(s_m, line.s_m, line.heading_rad)),
        speed_ms=ride.timeline.speed_ms[::every],
    )


def _bouts(ride: Ride) -> tuple[TrueBout, ...]:
    """The gaits, with the time the phone is in the hand cut out as unknown."""
    zero_s = ride.zero_s
    bouts = []
    for span in ride.timeline.spans:
        start_s, end_s = span.start_s, span.end_s
        for from_s, to_s in ride.timeline.handled_s:
            if from_s < end_s and to_s > start_s:
                cut = (max(start_s, from_s) - zero_s, min(end_s, to_s) - zero_s)
                bouts.append(TrueBout(gait="unknown", start_s=cut[0], end_s=cut[1]))
                start_s, end_s = (to_s, end_s) if from_s <= start_s else (start_s, from_s)
        if end_s > start_s:
            bouts.append(
                TrueBout(
                    gait=span.gait, start_s=start_s - zero_s, end_s=end_s - zero_s, lead=span.lead
                )
            )
    return tuple(sorted(bouts, key=lambda bout: bout.start_s))


def _strides(ride: Ride) -> tuple[TrueStride, ...]:
    return tuple(
        TrueStride(
            t_s=float(start_s) - ride.zero_s, duration_s=float(duration_s), gait=strided.span.gait
        )
        for strided in ride.strides
        for start_s, duration_s in zip(
            strided.boundary_s[:-1], np.diff(strided.boundary_s), strict=True
        )
    )


def _instant_s(ride: Ride, onset: Onset) -> float:
    if onset.moving_off:
        return ride.timeline.left(onset.s_m)
    return ride.timeline.reached(onset.s_m)


def _transition(ride: Ride, onset: Onset) -> TrueTransition:
    at_s = _instant_s(ride, onset)
    between = 0.0
    if onset.between_m is not None:
        between = sum(
            float(strided.phase_of(strided.span.end_s))
            for strided in ride.strides
            if abs(strided.span.end_s - at_s) < 0.01
        )
    off_m, to_halt = onset.off_place_m, onset.to_gait == "halt"
    return TrueTransition(
        from_gait=onset.from_gait,
        to_gait=onset.to_gait,
        t_s=at_s - ride.zero_s,
        x_m=float(np.interp(onset.s_m, ride.line.s_m, ride.line.x_m)),
        y_m=float(np.interp(onset.s_m, ride.line.s_m, ride.line.y_m)),
        between_strides=between,
        placement_m=None if to_halt else off_m,
        halt_place_m=off_m if to_halt else None,
        movement=onset.movement,
        change=onset.change,
        run=onset.run,
    )


def _halts(ride: Ride, run: int) -> list[Onset]:
    return [
        onset
        for onset in ride.plan.onsets
        if onset.to_gait == "halt" and onset.movement is not None and onset.run == run
    ]


def _boundary_s(ride: Ride, piece: Slice, movement: MovementLine) -> float:
    """When a movement ends: where its last term ends; after its halt, when the horse moves off."""
    at_m = ride.passing_m(piece, movement.end_m)
    at_s = ride.timeline.reached(at_m)
    for halt in _halts(ride, piece.run):
        if abs(halt.s_m - at_m) < NEAR_LETTER_M:
            if halt.movement is not None and halt.movement <= movement.number:
                return ride.timeline.left(halt.s_m)
            return min(at_s, ride.timeline.reached(halt.s_m))
    return at_s


def _movements(ride: Ride) -> tuple[TrueMovement, ...]:
    """Movements as they were ridden; one left out is not told.

    One that was ridden twice lasts from the first start to the last end, one that was begun again
    starts where it was begun again.
    """
    gone = {number for kind, number, _ in ride.sliced.errors if kind == "left-out"}
    again = {number for kind, number, _ in ride.sliced.errors if kind == "restart"}
    doubled = {number for kind, number, _ in ride.sliced.errors if kind == "doubled"}
    rows: list[TrueMovement] = []
    for run in dict.fromkeys(piece.run for piece in ride.line.slices):
        pieces = [piece for piece in ride.line.slices if piece.run == run]
        for movement in ride.layout.movements:
            asked = ride.layout.sheet.movements[movement.number - 1]
            if asked.of or movement.number in gone:
                continue
            starts = [piece for piece in pieces if piece.holds(movement.start_m)]
            ends = [piece for piece in pieces if piece.holds(movement.end_m)]
            first = starts[-1 if movement.number in again else 0]
            last = ends[-1 if movement.number in doubled else 0]
            start_s = _start_s(ride, first, movement, rows)
            row = TrueMovement(
                number=movement.number,
                run=run,
                start_s=start_s,
                end_s=_boundary_s(ride, last, movement) - ride.zero_s,
            )
            rows.append(row)
    return tuple(rows)


def _start_s(ride: Ride, piece: Slice, movement: MovementLine, rows: list[TrueMovement]) -> float:
    """Where the movement before ends; on a slice of its own, where the slice begins."""
    opens = abs(movement.start_m - piece.start_m) < SAME_PLACE_M
    if opens or not rows or rows[-1].run != piece.run:
        return ride.timeline.reached(ride.passing_m(piece, movement.start_m)) - ride.zero_s
    return rows[-1].end_s


def _figures(ride: Ride) -> tuple[TrueFigure, ...]:
    return tuple(
        _figure(ride, piece, movement, stretch)
        for piece in ride.line.slices
        for movement in ride.layout.movements
        for stretch in movement.stretches
        if stretch.kind in {"circle", "half circle"}
        and piece.holds(stretch.start_m)
        and piece.holds(stretch.end_m)
    )


def _figure(ride: Ride, piece: Slice, movement: MovementLine, stretch: Stretch) -> TrueFigure:
    line = ride.line
    start_m, end_m = (ride.passing_m(piece, end) for end in (stretch.start_m, stretch.end_m))
    within = (line.s_m >= start_m) & (line.s_m <= end_m)
    x_m, y_m = line.x_m[within], line.y_m[within]
    circle = fit_circle(x_m, y_m)
    full = stretch.kind == "circle"
    return TrueFigure(
        kind="circle" if full else "half circle",
        rein=stretch.rein or "left",
        start_s=ride.timeline.reached(start_m) - ride.zero_s,
        end_s=ride.timeline.reached(end_m) - ride.zero_s,
        movement=movement.number,
        run=piece.run,
        diameter_m=2.0 * circle.radius_m,
        width_m=width_m(x_m, y_m, float(np.interp(start_m, line.s_m, line.heading_rad))),
        out_of_round_m=out_of_round_m(x_m, y_m, circle) if full else None,
        length_minus_width_m=float(np.ptp(y_m) - np.ptp(x_m)),
        centre_x_m=circle.centre_x_m,
        centre_y_m=circle.centre_y_m,
    )


def _events(ride: Ride) -> tuple[TrueEvent, ...]:
    zero_s = ride.zero_s
    events = [
        TrueEvent(
            kind=mishap.kind,
            start_s=ride.timeline.reached(mishap.start_m) - zero_s,
            end_s=ride.timeline.reached(mishap.end_m) - zero_s,
        )
        for mishap in ride.plan.mishaps
    ]
    if ride.phone.slipped_s is not None:
        slipped_s = ride.phone.slipped_s - zero_s
        events.append(TrueEvent(kind="phone moved", start_s=slipped_s - 0.4, end_s=slipped_s + 0.4))
    return tuple(sorted(events, key=lambda event: event.start_s))


def _course_errors(ride: Ride) -> tuple[TrueCourseError, ...]:
    rows = []
    for kind, movement, layout_m in ride.sliced.errors:
        piece = ride.line.slices[-1] if kind == "twice" else ride.line.slices[0]
        at_m = ride.passing_m(piece, layout_m)
        at_s = ride.timeline.reached(at_m) - ride.zero_s
        rows.append(TrueCourseError(kind=kind, movement=movement, t_s=at_s))
    return tuple(rows)
