"""Writes down the truth of a ride from everything that went into it."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np

from sample_rides.made import Ride
from sample_rides.noise import GRADES
from sample_rides.plan import Onset
from sample_rides.schedule import RATE_HZ
from sample_rides.truth import (
    PATH_RATE_HZ,
    TrueArena,
    TrueBout,
    TrueCourseError,
    TrueEvent,
    TruePath,
    TrueStride,
    TrueTransition,
    Truth,
)
from sample_rides.witness_movements import true_figures, true_movements


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
        movements=true_movements(ride),
        figures=true_figures(ride),
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
