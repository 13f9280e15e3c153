"""One whole ride of the second model, from a script and a seed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd
from scipy.ndimage import gaussian_filter1d

from ingest.columns import MOTION_COLUMNS
from ingest.recording import Recording
from tests.second_model.beats import FOOTFALLS, G_MS2, springy, swing
from tests.second_model.horse import draw_horse
from tests.second_model.pocket import Body, sampled, sense
from tests.second_model.receiver import Place, fixes_table
from tests.second_model.route import STEP_M, Leg, Route, build_route
from tests.second_model.timeline import (
    GRID_HZ,
    Timeline,
    fidgets,
    speed_ms,
    standing,
    timeline,
    trains,
)
from tests.second_model.truth import (
    Floats,
    SecondTruth,
    TrueBout,
    TrueFigure,
    TrueStride,
    TrueTransition,
)

WORKING = (
    Leg("halt", 12), Leg("walk", 60), Leg("trot", 45), Leg("trot", 50, "circle 20"),
    Leg("walk", 25), Leg("halt", 7), Leg("walk", 12), Leg("trot", 30, "diagonal"),
    Leg("trot", 55, "circle 20"), Leg("canter", 35), Leg("trot", 20),
    Leg("canter", 40, "circle 20"), Leg("trot", 25, "circle 10"), Leg("walk", 40, "diagonal"),
    Leg("halt", 9),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondRide:
    """A recording as it would come through the door, and the truth beside it."""

    recording: Recording
    truth: SecondTruth


def _body(
    rng: np.random.Generator, line: Timeline, t_s: Floats, xy_m: tuple[Floats, Floats], rising: bool
) -> tuple[Body, Floats, Floats]:
    dt = 1 / GRID_HZ
    velocity = np.column_stack([np.gradient(v, dt) for v in xy_m])
    speed = np.hypot(*velocity.T)
    heading = _heading(velocity, speed)
    turn = np.gradient(heading, dt)
    train, share = trains(rng, line, t_s, rising)
    force = springy(1 - share + train.base + train.both, GRID_HZ, rng.uniform(4.5, 7), 0.5)
    push = np.column_stack(
        [
            rng.uniform(1.5, 3.0) * swing(train.both, GRID_HZ, rng.uniform(2, 3), 0.4),
            rng.uniform(1.0, 2.0) * swing(train.signed, GRID_HZ, rng.uniform(1.2, 2.5), 0.4),
            G_MS2 * (force - 1),
        ]
    ) + fidgets(rng, line, t_s)
    lean = -np.arctan(speed * turn / G_MS2) * rng.uniform(0.7, 1.0)
    body = Body(
        t_s=t_s, rate_hz=GRID_HZ, heading_rad=heading,
        lean_rad=gaussian_filter1d(lean, 0.3 * GRID_HZ), push_ms2=push,
        ground_ms2=np.gradient(velocity, dt, axis=0), both=train.both, signed=train.signed,
        first=train.first, moving=share,
    )  # fmt: skip
    return body, speed, turn


def _heading(velocity: Floats, speed: Floats) -> Floats:
    """Course, held where the horse stands."""
    course = np.unwrap(np.arctan2(velocity[:, 1], velocity[:, 0]))
    going = np.flatnonzero(speed > 0.1)
    if len(going) == 0:
        return np.zeros_like(speed)
    held = np.interp(np.arange(len(speed)), going, course[going])
    return np.asarray(gaussian_filter1d(held, 0.1 * GRID_HZ))


def _walk_route(
    rng: np.random.Generator, line: Timeline, t_s: Floats, speed: Floats, size: str
) -> tuple[Floats, Floats, Route, Floats]:
    s = np.concatenate([[0.0], np.cumsum(speed[1:] + speed[:-1]) / (2 * GRID_HZ)])
    ends = line.figure_ends_s

    def figure_at(distance: float) -> str:
        when = float(np.interp(distance, s, t_s))
        return line.figures[min(int(np.searchsorted(ends, when, side="right")), len(ends) - 1)]

    route = build_route(rng, size, float(s[-1]) + 5.0, figure_at, float(rng.uniform(0.5, 1.1)))
    grid = np.arange(len(route.x_m)) * STEP_M
    x = gaussian_filter1d(np.interp(s, grid, route.x_m), 0.05 * GRID_HZ)
    y = gaussian_filter1d(np.interp(s, grid, route.y_m), 0.05 * GRID_HZ)
    return x, y, route, s


def _motion_table(
    rng: np.random.Generator, body: Body, pocket: str, rate_hz: float, *, gravity: bool, gyro: bool
) -> tuple[pd.DataFrame, tuple[float, ...], tuple[tuple[float, float], ...]]:
    sensed = sense(rng, body, pocket, gravity)
    n = int((body.t_s[-1] - body.t_s[0]) * rate_hz)
    at = body.t_s[0] + (np.arange(n) + 0.15 * rng.random(n)) / rate_hz
    accel = sampled(rng, body.t_s, sensed.accel_ms2, at, sd=0.04, bias=0.05)
    turn = sampled(rng, body.t_s, sensed.gyro_rads, at, sd=0.01, bias=0.003)
    if not gyro:
        turn = np.full_like(turn, np.nan)
    table = pd.DataFrame(np.column_stack([at, accel, turn]), columns=list(MOTION_COLUMNS))
    return table, sensed.moved_s, sensed.handled_s


def ride(
    seed: int,
    script: Sequence[Leg] = WORKING,
    *,
    height_m: float | None = None,
    pocket: str | None = None,
    rising: bool | None = None,
    rate_hz: float | None = None,
    gravity: bool = True,
    gyro: bool = True,
    positions: bool = True,
    clocks_shared: bool = True,
    clock_offset_s: float | None = None,
    lag_s: float | None = None,
    walls: bool = True,
    size: str = "20x40",
) -> SecondRide:
    """Ride a script.

    Parameters
    ----------
    seed : int
    script : sequence of Leg
    height_m : float, m
        Withers; drawn from 1.20-1.75 when left out.
    pocket : {"trunk", "thigh", "loose"}
    rising : bool
        Trot ridden rising (alternate peaks 2.54 / 1.95) or sitting.
    rate_hz : float, Hz
        Of the motion log: 50 or 100 when left out.
    gravity, gyro, positions : bool
        Whether the log has gravity in the accelerometer, a gyroscope, and positions.
    clocks_shared : bool
        When False the motion's stamps count from its first sample, and either of the two may
        start up to a minute after the other.
    clock_offset_s : float, s
        Motion clock minus position clock, pure delay counted in; within ±5 s when left out.
    lag_s : float, s
        Time constant of the receiver's low-pass; 0 to 1.2 s when left out.
    walls : bool
        Whether steps of position along one wall may happen.
    size : {"20x40", "20x60"}
    """
    rng = np.random.default_rng([20, seed])
    horse = draw_horse(rng, height_m)
    pocket = pocket or str(rng.choice(["trunk", "thigh", "loose"]))
    rising = bool(rng.random() < 0.7) if rising is None else rising
    rate = rate_hz or float(rng.choice([50.0, 100.0]))
    lag = float(rng.uniform(0.0, 1.2)) if lag_s is None else lag_s
    shift = float(rng.uniform(-5, 5)) if clock_offset_s is None else clock_offset_s

    shared = clocks_shared and positions
    early = float(rng.uniform(0, 60)) if positions and not shared and rng.random() < 0.5 else 0.0

    line = timeline(rng, horse, script, -early)
    t = np.arange(-early, line.bouts[-1].end_s, 1 / GRID_HZ)
    speed = speed_ms(rng, horse, line, t) * standing(line, t)
    x, y, route, s = _walk_route(rng, line, t, speed, size)
    body, speed, turn = _body(rng, line, t, (x, y), rising)
    motion, moved, handled = _motion_table(rng, body, pocket, rate, gravity=gravity, gyro=gyro)
    if not shared:
        motion, shift = _on_own_clock(rng, motion, 60.0 if positions and early == 0.0 else 0.0)
    else:
        motion = motion.assign(t_s=motion["t_s"] + shift)

    place = Place(
        lat_deg=float(rng.uniform(-55, 60)), lon_deg=float(rng.uniform(-170, 170)),
        bearing_deg=float(rng.uniform(0, 360)),
    )  # fmt: skip
    fixes = None
    if positions:
        fixes = fixes_table(
            rng, t_s=t, x_m=x, y_m=y, speed_ms=speed, place=place, lag_s=lag, walls=walls
        )
    recording = Recording(
        fixes=fixes, motion=motion, clocks_shared=shared,
        gravity_included=gravity, sources=("second model",),
    )  # fmt: skip
    truth = SecondTruth(
        t_s=t[::10], x_m=x[::10], y_m=y[::10], speed_ms=speed[::10], turn_rads=turn[::10],
        bouts=line.bouts, strides=_strides(line), transitions=_transitions(line.bouts),
        figures=_figures(route, s, t), rising=rising, height_m=horse.height_m, pocket=pocket,
        shift_s=shift, clock_offset_s=shift if shared else None, receiver_lag_s=lag,
        handled_s=handled, moved_s=moved, x_lat_deg=place.lat_deg, x_lon_deg=place.lon_deg,
        bearing_deg=place.bearing_deg, size=size,
    )  # fmt: skip
    return SecondRide(recording=recording, truth=truth)


def _on_own_clock(
    rng: np.random.Generator, motion: pd.DataFrame, most_s: float
) -> tuple[pd.DataFrame, float]:
    """Stamp the motion from its first sample, up to ``most_s`` after the ride began."""
    late = float(motion["t_s"].iloc[0] + rng.uniform(0, most_s))
    kept = motion[motion["t_s"] >= late].reset_index(drop=True)
    start = float(kept["t_s"].iloc[0])
    return kept.assign(t_s=kept["t_s"] - start), -start


def _transitions(bouts: tuple[TrueBout, ...]) -> tuple[TrueTransition, ...]:
    return tuple(
        TrueTransition(from_gait=old.gait, to_gait=new.gait, t_s=new.start_s)
        for old, new in pairwise(bouts)
    )


def _strides(line: Timeline) -> tuple[TrueStride, ...]:
    return tuple(
        TrueStride(t_s=float(start), duration_s=float(length), gait=bout.gait)
        for bout, starts in zip(line.bouts, line.starts_s, strict=True)
        if bout.gait in FOOTFALLS
        for start, length in zip(starts[:-1], np.diff(starts), strict=True)
    )


def _figures(route: Route, s: Floats, t: Floats) -> tuple[TrueFigure, ...]:
    return tuple(
        TrueFigure(
            rein=rein, nominal_m=nominal,
            start_s=float(np.interp(first, s, t)), end_s=float(np.interp(last, s, t)),
        )
        for rein, nominal, first, last in route.circles
        if last < s[-1]
    )  # fmt: skip
