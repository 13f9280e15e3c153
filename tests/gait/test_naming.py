"""Rides that hold few gaits: each is still called what it is, from motion alone."""

from __future__ import annotations

import numpy as np
import pytest

from gait.bouts import gait_at
from gait.decode import look_of
from gait.features import signals_of
from gait.model import RATE_SPAN, STATES, starting_model, try_gaits
from gait.naming import other_namings
from gait.stage import decode
from tests.gait.made import made_ride
from tests.second_model.model import ride
from tests.second_model.route import Leg
from track.motion import on_clock, read_motion

LEGS = {
    "walk": [Leg("halt", 10.0), Leg("walk", 180.0), Leg("halt", 10.0)],
    "trot": [Leg("halt", 10.0), Leg("trot", 180.0), Leg("halt", 10.0)],
    "canter": [Leg("halt", 10.0), Leg("canter", 180.0), Leg("halt", 10.0)],
}


@pytest.mark.parametrize("gait", LEGS)
@pytest.mark.parametrize("height_m", [1.2, 1.7])
def test_one_gait_alone_in_a_pocket_that_hardly_rolls(gait: str, height_m: float) -> None:
    """Walk's double beat lies on canter's, and a jacket's pocket shows both the same lines."""
    ridden = ride(5, LEGS[gait], height_m=height_m, pocket="trunk", positions=False)
    motion = read_motion(ridden.recording)
    assert motion is not None
    gaits = decode(on_clock(motion, ridden.truth.shift_s), None)
    bout = next(b for b in ridden.truth.bouts if b.gait == gait)
    t_s = np.arange(bout.start_s + 2.0, bout.end_s - 2.0, 0.5)
    assert np.mean([told == gait for told in gait_at(gaits, t_s)]) > 0.98


def test_gaits_that_are_plainly_apart_have_one_naming() -> None:
    made = made_ride([("walk", 40.0), ("trot", 40.0), ("canter", 40.0)], seed=3)
    look = look_of(made.motion, signals_of(made.motion), None, 4.0, 1.0)
    starts = np.array([start for _, start, _ in made.bouts])
    at = np.searchsorted(starts, look.windows.t_s, side="right") - 1
    state = np.array([STATES.index(made.bouts[max(i, 0)][0]) for i in at])
    tried = try_gaits(look.windows, starting_model(), RATE_SPAN)
    assert other_namings(look, tried, state) == []
    # A canter half of which is as quiet as a walk is doubted.
    walk = STATES.index("walk")
    mixed = np.where(state == walk, STATES.index("canter"), state)
    doubted = other_namings(look, tried, mixed)
    assert any(np.mean((other == walk) == (state == walk)) > 0.97 for other in doubted)
