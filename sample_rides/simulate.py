"""A made-up ride from a test sheet: the same seed, scenario and faults give the same ride."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.random import Generator

from ingest import columns
from ingest.recording import Recording
from sample_rides.course import draw_course
from sample_rides.course_errors import check_faults, slice_layout
from sample_rides.faults import Fault
from sample_rides.made import Ride
from sample_rides.motion_log import MotionLog, log_motion
from sample_rides.phone import carry_phone
from sample_rides.planning import make_plan
from sample_rides.receiver import FixLog, receive
from sample_rides.ridden import ride_line
from sample_rides.scenario import Scenario
from sample_rides.schedule import make_timeline
from sample_rides.strides import make_strides
from sample_rides.trunk import move_trunk
from sample_rides.truth import Truth
from sample_rides.witness import witness
from track.layout import Layout


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedRide:
    """One made-up ride: what the phone logged, and the truth.

    Attributes
    ----------
    scenario : Scenario
    fixes : FixLog
    motion : MotionLog
    truth : Truth
    """

    scenario: Scenario
    fixes: FixLog
    motion: MotionLog
    truth: Truth

    def recording(self) -> Recording:
        """The ride as ingest would hand it on, without writing and reading files."""
        motion_s = self.motion.t_s - self.motion.t_s[0]
        if self.scenario.clocks_shared:
            motion_s = self.motion.t_s + self.scenario.clock_offset_s - self.fixes.t_s[0]
        accel, gyro = self.motion.accel_ms2, self.motion.gyro_rads
        motion = {columns.T_S: motion_s}
        motion |= {name: accel[:, k] for k, name in enumerate(columns.ACCEL_MS2)}
        motion |= {name: gyro[:, k] for k, name in enumerate(columns.GYRO_RADS)}
        fixes = {
            columns.T_S: self.fixes.t_s - self.fixes.t_s[0],
            columns.LAT_DEG: self.fixes.lat_deg,
            columns.LON_DEG: self.fixes.lon_deg,
            columns.ACCURACY_M: self.fixes.accuracy_m,
            columns.SPEED_MS: self.fixes.speed_ms,
            columns.COURSE_DEG: self.fixes.course_deg,
            columns.SEGMENT: self.fixes.segment,
        }
        return Recording(
            fixes=columns.checked_fixes(pd.DataFrame(fixes)),
            motion=columns.checked_motion(pd.DataFrame(motion)),
            clocks_shared=self.scenario.clocks_shared,
            gravity_included=self.scenario.gravity,
            sources=("ride.gpx", "motion.csv"),
        )


def simulate(
    layout: Layout,
    *,
    seed: int,
    scenario: Scenario | None = None,
    faults: Sequence[Fault] = (),
) -> SimulatedRide:
    """Ride a laid-out test.

    Parameters
    ----------
    layout : Layout
    seed : int
        Of everything random.
    scenario : Scenario, optional
        The circumstances; an ordinary, well recorded ride when left out.
    faults : sequence of Fault
        Known faults to plant.

    Raises
    ------
    TanbarkError
        A fault that this sheet cannot have.
    """
    scenario = scenario or Scenario()
    check_faults(layout, faults)
    chance = _chances(seed)
    sliced = slice_layout(layout, faults)
    course = draw_course(layout, scenario, sliced.parts, sliced.detour)
    line = ride_line(course, layout, scenario, faults, next(chance))
    plan = make_plan(course, line, layout, scenario, faults=faults, rng=next(chance))
    if plan.steps[-1].gait == "halt":
        line = line.until(plan.steps[-1].s_m)
    timeline = make_timeline(line, plan, scenario, next(chance))
    strides = make_strides(timeline, plan.paces, scenario, next(chance))
    trunk = move_trunk(line, timeline, strides, scenario, mishaps=plan.mishaps, rng=next(chance))
    entered_s = timeline.reached(line.along(course.slices[0].at_m))
    slip_s = None if scenario.slip_after_s is None else entered_s + scenario.slip_after_s
    phone = carry_phone(line, timeline, trunk, scenario, slip_s=slip_s, rng=next(chance))
    motion = log_motion(phone, scenario, next(chance))
    fixes = receive(line, timeline, scenario, next(chance))
    ride = Ride(
        layout=layout,
        scenario=scenario,
        faults=tuple(faults),
        seed=seed,
        sliced=sliced,
        line=line,
        plan=plan,
        timeline=timeline,
        strides=strides,
        trunk=trunk,
        phone=phone,
        motion=motion,
        fixes=fixes,
    )
    return SimulatedRide(scenario=scenario, fixes=fixes, motion=motion, truth=witness(ride))


def _chances(seed: int) -> Iterator[Generator]:
    """One generator per part, so that a change in one part leaves the others as they were."""
    number = 0
    while True:
        yield np.random.default_rng([seed, number])
        number += 1
