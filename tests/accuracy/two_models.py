"""Rides of both signal models behind one face: a recording, and what is true of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from typing import Final

import numpy as np

from ingest.recording import Recording
from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from sample_rides.simulate import simulate
from tests.second_model import ride
from track.lay_out import lay_out
from track.layout import Layout
from track.path import Floats

MODELS: Final = ("simulator", "second model")


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A recording and its truth.

    ``turn_rads`` is the path's turn rate at ``t_s``, on the positions' clock; ``bouts`` are
    (gait, start, end), ``strides_s`` the durations of the strides of each gait.
    """

    recording: Recording
    t_s: Floats
    turn_rads: Floats
    speed_ms: Floats
    shift_s: float
    lag_s: float
    bouts: tuple[tuple[str, float, float], ...]
    strides_s: dict[str, list[float]]
    moved_s: tuple[float, ...]
    what: str


@cache
def _layouts() -> tuple[Layout, ...]:
    return tuple(lay_out(demo_sheet(name)) for name in DEMO_SHEETS)


def rides(
    model: str, count: int, seed: int, *, gyro: bool = True, gravity: bool | None = None
) -> Iterator[Known]:
    """Rides of one model, everything drawn anew for each from its own seed."""
    make = _simulated if model == "simulator" else _second
    for number in range(seed, seed + count):
        yield make(number, gyro, gravity)


def _simulated(seed: int, gyro: bool, gravity: bool | None) -> Known:
    scenario = replace(Scenario.drawn(seed), gyro=gyro)
    if gravity is not None:
        scenario = replace(scenario, gravity=gravity)
    made = simulate(_layouts()[seed % len(_layouts())], seed=seed, scenario=scenario)
    truth = made.truth
    heading = np.unwrap(np.radians(truth.path.heading_deg))
    strides: dict[str, list[float]] = {}
    for stride in truth.strides:
        strides.setdefault(stride.gait, []).append(stride.duration_s)
    return Known(
        recording=made.recording(),
        t_s=truth.path.t_s,
        turn_rads=np.gradient(heading, truth.path.t_s),
        speed_ms=truth.path.speed_ms,
        shift_s=truth.motion_shift_s,
        lag_s=truth.receiver_lag_s,
        bouts=tuple((b.gait, b.start_s, b.end_s) for b in truth.bouts),
        strides_s=strides,
        moved_s=tuple(e.start_s for e in truth.events if e.kind == "phone moved"),
        what=f"{scenario.pocket}, {scenario.noise}",
    )


def _second(seed: int, gyro: bool, gravity: bool | None) -> Known:
    shared = seed % 4 != 0
    offset = float(np.random.default_rng([7, seed]).uniform(-15, 15))
    made = ride(
        seed,
        gyro=gyro,
        gravity=gravity is not False,
        clocks_shared=shared,
        clock_offset_s=offset,
        lag_s=float(np.random.default_rng([8, seed]).uniform(0, 1.5)),
    )
    truth = made.truth
    strides: dict[str, list[float]] = {}
    for stride in truth.strides:
        strides.setdefault(stride.gait, []).append(stride.duration_s)
    return Known(
        recording=made.recording,
        t_s=truth.t_s,
        turn_rads=truth.turn_rads,
        speed_ms=truth.speed_ms,
        shift_s=truth.shift_s,
        lag_s=truth.receiver_lag_s,
        bouts=tuple((b.gait, b.start_s, b.end_s) for b in truth.bouts),
        strides_s=strides,
        moved_s=truth.moved_s,
        what=truth.pocket,
    )
