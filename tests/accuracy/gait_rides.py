"""Rides for the gait figures from both signal models, with their truth in one form."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Literal, cast

import numpy as np

from gait.bouts import Gait, Stride
from ingest.errors import TanbarkError
from ingest.recording import Recording
from sample_rides.faults import Fault
from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from sample_rides.simulate import simulate
from sample_rides.truth import Truth
from tests.second_model.model import ride
from tests.second_model.route import Leg
from track.follow import follow_motion
from track.lay_out import lay_out
from track.layout import Layout
from track.motion import Motion, on_clock, read_motion
from track.path import Path

ModelName = Literal["simulator", "second"]
MODELS: tuple[ModelName, ...] = ("simulator", "second")
SHORTEST_S = 12.0
STEPS_CHANCE = 0.2
STEPS_S = (1.6, 3.5)
"""Three to six steps of walk inside a trot or a canter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A true change of gait."""

    old: str
    new: str
    t_s: float
    between_strides: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GaitRide:
    """What the gait stage is given, and what is true.

    ``changes`` are those that were meant: into and out of a jog or a break are ``events``.
    """

    name: str
    motion: Motion
    path: Path | None
    bouts: tuple[tuple[str, float, float], ...]
    strides: tuple[Stride, ...]
    changes: tuple[Changed, ...]
    events: tuple[tuple[str, float, float], ...]
    handled_s: tuple[tuple[float, float], ...]
    rising: bool


def made(model: ModelName, seed: int) -> GaitRide:
    """One ride of one model."""
    return _simulated(seed) if model == "simulator" else _second(seed)


@cache
def _layout(name: str) -> Layout:
    return lay_out(demo_sheet(name), track_offset_m=0.8)


def _followed(recording: Recording, shift_s: float) -> tuple[Motion, Path | None]:
    """Motion on the true clock (the clocks have figures of their own), path as it is found."""
    motion = read_motion(recording)
    if motion is None:
        raise AssertionError("the rides of this check have motion")
    return on_clock(motion, shift_s), follow_motion(recording, motion).path


def _simulated(seed: int) -> GaitRide:
    rng = np.random.default_rng([seed, 61])
    scenario = replace(Scenario.drawn(seed), stride_cv=float(rng.uniform(0.01, 0.05)))
    sheet = DEMO_SHEETS[seed % len(DEMO_SHEETS)]
    truth, recording = _ridden(sheet, seed, scenario)
    motion, path = _followed(recording, truth.motion_shift_s)
    return GaitRide(
        name=f"simulator {seed} {scenario.pocket} {scenario.seat} {scenario.withers_m:.2f} m",
        motion=motion,
        path=path,
        bouts=tuple((b.gait, b.start_s, b.end_s) for b in truth.bouts),
        strides=tuple(
            Stride(t_s=s.t_s, duration_s=s.duration_s, gait=s.gait) for s in truth.strides
        ),
        changes=tuple(
            Changed(old=c.from_gait, new=c.to_gait, t_s=c.t_s, between_strides=c.between_strides)
            for c in truth.transitions
            if not any(e.start_s - 0.1 < c.t_s < e.end_s + 0.1 for e in truth.events)
        ),
        events=tuple((e.kind, e.start_s, e.end_s) for e in truth.events),
        handled_s=truth.handled_s,
        rising=scenario.seat == "rising",
    )


def _ridden(sheet: str, seed: int, scenario: Scenario) -> tuple[Truth, Recording]:
    """A ride with the first fault that its stretches are long enough for, or without one."""
    for faults in [*_faults(sheet, seed), []]:
        try:
            ridden = simulate(_layout(sheet), seed=seed, scenario=scenario, faults=faults)
        except TanbarkError:  # too short a stretch of that gait
            continue
        return ridden.truth, ridden.recording()
    raise AssertionError("a ride without faults can always be made")


def _faults(sheet: str, seed: int) -> list[list[Fault]]:
    """Where a jog or a break may be planted, in every third ride."""
    if seed % 3 != 1:
        return []
    kind: Literal["jog", "break"] = "break" if seed % 2 and sheet != DEMO_SHEETS[0] else "jog"
    word = "canter" if kind == "break" else "walk"
    return [
        [Fault(kind=kind, movement=line.number)]
        for line in _layout(sheet).movements
        if any(change.to_gait == word for change in line.changes)
    ]


def script(seed: int) -> tuple[Leg, ...]:
    """Gaits in an order that a schooling ride could have, for 8 minutes or so."""
    rng = np.random.default_rng([seed, 62])
    legs, gait, seconds = [Leg("halt", 14.0), Leg("walk", 40.0)], "walk", 54.0
    follows = {
        "halt": ["walk", "walk", "trot"],
        "walk": ["trot", "trot", "halt", "canter"],
        "trot": ["canter", "canter", "walk", "walk", "halt"],
        "canter": ["trot", "trot", "walk"],
    }
    figures = ["track", "track", "diagonal", "circle 20", "circle 15"]
    while seconds < 480.0:
        gait = str(rng.choice(follows[gait]))
        length = float(rng.uniform(4.0, 9.0) if gait == "halt" else rng.uniform(SHORTEST_S, 55.0))
        if gait in ("trot", "canter") and rng.random() < STEPS_CHANCE:
            legs += [Leg(gait, length), Leg("walk", float(rng.uniform(*STEPS_S)))]
        legs.append(Leg(gait, length, str(rng.choice(figures))))
        seconds += length
    return (*legs, Leg("walk", 25.0), Leg("halt", 12.0))


def _second(seed: int) -> GaitRide:
    ridden = ride(seed, script(seed))
    truth = ridden.truth
    motion, path = _followed(ridden.recording, truth.shift_s)
    return GaitRide(
        name=f"second {seed} {truth.pocket} {'rising' if truth.rising else 'sitting'} "
        f"{truth.height_m:.2f} m",
        motion=motion,
        path=path,
        bouts=tuple((b.gait, b.start_s, b.end_s) for b in truth.bouts),
        strides=tuple(
            Stride(t_s=s.t_s, duration_s=s.duration_s, gait=cast(Gait, s.gait))
            for s in truth.strides
        ),
        changes=tuple(
            Changed(old=c.from_gait, new=c.to_gait, t_s=c.t_s, between_strides=0.0)
            for c in truth.transitions
        ),
        events=(),
        handled_s=truth.handled_s,
        rising=truth.rising,
    )
