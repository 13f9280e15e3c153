"""The simulator's phone carried along an invented ride, for swinging pockets and slipping phones.

Forces and turn rates in the phone's own axes come from ``sample_rides``: gait, trunk, pendulum in
the pocket, sensor faults. They go through the motion stage as a recorded log would; nothing of
the truth but its line and its time gets there.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from scipy.ndimage import gaussian_filter1d

from ingest import columns
from ingest.recording import Recording
from sample_rides.imperfections import GRID_M
from sample_rides.motion_log import log_motion
from sample_rides.phone import carry_phone
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ, Span, Timeline
from sample_rides.strides import make_strides
from sample_rides.trunk import move_trunk
from tests.accuracy.invented import Faults, Floats, Ride
from track.motion import Motion, read_motion

POCKETS = ("thigh", "jacket", "chest")


def carried(truth: Ride, faults: Faults, rng: np.random.Generator) -> Motion | None:
    """Motion of a phone carried along, on a clock that is ahead by the faults' offset."""
    scenario = Scenario(
        pocket=POCKETS[rng.integers(3)],  # type: ignore[arg-type]
        orientation_deg=(rng.uniform(-180, 180), rng.uniform(-80, 80), rng.uniform(-180, 180)),
        swing=faults.swing,
        handling=False,
        seat="rising" if rng.random() < 0.7 else "sitting",
        gyro_bias_rads=(rng.normal(0, 0.004), rng.normal(0, 0.004), rng.normal(0, 0.004)),
    )
    slip_s = float(truth.t_s[-1] * rng.uniform(0.25, 0.75)) if faults.slips else None
    t_s = np.arange(0.0, truth.t_s[-1], 1 / RATE_HZ)
    gone_m = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(truth.x_m), np.diff(truth.y_m)))])
    line, s_m = _line(truth, gone_m), np.interp(t_s, truth.t_s, gone_m)
    s_m = gaussian_filter1d(s_m, 0.1 * RATE_HZ)
    timeline = _timeline(truth, line, t_s, s_m)
    strides = make_strides(timeline, (), scenario, rng)
    trunk = move_trunk(line, timeline, strides, scenario, mishaps=(), rng=rng)
    phone = carry_phone(line, timeline, trunk, scenario, slip_s=slip_s, rng=rng)
    log = log_motion(phone, scenario, rng)
    table = {columns.T_S: log.t_s}
    table |= {name: log.accel_ms2[:, k] for k, name in enumerate(columns.ACCEL_MS2)}
    table |= {name: log.gyro_rads[:, k] for k, name in enumerate(columns.GYRO_RADS)}
    motion = read_motion(
        Recording(motion=columns.checked_motion(pd.DataFrame(table)), sources=("invented",))
    )
    if motion is None:
        return None
    moved_s = tuple(moved + faults.offset_s for moved in motion.moved_s)
    return replace(motion, t_s=motion.t_s + faults.offset_s, moved_s=moved_s)


def _line(truth: Ride, gone_m: Floats) -> RiddenLine:
    """The ridden line by distance."""
    s_m = np.arange(0.0, gone_m[-1], GRID_M)
    moving = np.concatenate([[True], np.diff(gone_m) > 0])
    x, y = (
        gaussian_filter1d(np.interp(s_m, gone_m[moving], values[moving]), 0.15 / GRID_M)
        for values in (truth.x_m, truth.y_m)
    )
    heading = np.unwrap(np.arctan2(np.gradient(y), np.gradient(x)))
    return RiddenLine(
        s_m=s_m, x_m=x, y_m=y, heading_rad=heading, course_m=s_m, slices=(),
        curvature_1m=np.gradient(heading, GRID_M),
    )  # fmt: skip


def _timeline(truth: Ride, line: RiddenLine, t_s: Floats, s_m: Floats) -> Timeline:
    speed = np.gradient(s_m, t_s)
    reached = np.interp(line.s_m, s_m, t_s)
    return Timeline(
        t_s=t_s, s_m=s_m, speed_ms=speed, spans=_spans(truth, t_s), handled_s=(),
        line_m=line.s_m, reached_s=reached, left_s=reached,
    )  # fmt: skip


def _spans(truth: Ride, t_s: Floats) -> tuple[Span, ...]:
    """Bouts of gaits, halts cut out of them."""
    starts = [0.0, *truth.changes_s, float(t_s[-1])]
    gaits = ["walk", *truth.gaits]
    spans: list[Span] = []
    for gait, start, end in zip(gaits, starts[:-1], starts[1:], strict=True):
        at = start
        for halted, moved_off in truth.halts:
            if start <= halted < end:
                spans += [_span(truth, gait, at, halted), _span(truth, "halt", halted, moved_off)]
                at = moved_off
        spans.append(_span(truth, gait, at, end))
    return tuple(spans)


def _span(truth: Ride, gait: str, start_s: float, end_s: float) -> Span:
    lead = None
    if gait == "canter":
        first, last = np.interp([start_s, end_s], truth.t_s, truth.heading_rad)
        lead = "left" if last > first else "right"
    return Span(gait=gait, start_s=start_s, end_s=end_s, lead=lead)  # type: ignore[arg-type]
