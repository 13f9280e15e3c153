"""What a fitted pace knows of time beside a swing of the pocket, and what it claims to know."""

from dataclasses import replace

import numpy as np
import pytest

from gait.strides import is_steady
from tests.gait.made import made_ride
from tests.gait.test_strides import timing_error_s, tracked


@pytest.mark.parametrize(("swing_hz", "most_s"), [(0.21, 0.004), (0.55, 0.0065), (7.5, 0.0045)])
def test_a_swing_away_from_the_beat_costs_little_and_is_told(
    swing_hz: float, most_s: float
) -> None:
    made = made_ride([("walk", 90.0)], seed=6, noise_ms2=0.2)
    t = made.motion.t_s
    swing = 3.0 * np.sin(2.0 * np.pi * swing_hz * t + 1.5 * np.sin(0.17 * t))
    swung = replace(made, motion=replace(made.motion, up_ms2=made.motion.up_ms2 + swing))
    found = tracked(swung, "walk")
    error_s, claimed_s = timing_error_s(swung, found).std(), np.median(found.corner_sd_s)
    assert error_s < most_s
    assert 0.6 * claimed_s < error_s < 1.3 * claimed_s


@pytest.mark.parametrize(("uneven", "steady"), [(0.0, True), (0.5, False)])
def test_a_rise_of_another_height_each_time_is_no_steady_one(uneven: float, steady: bool) -> None:
    made = made_ride([("trot", 60.0)], seed=7, rising=True, noise_ms2=0.2)
    t = made.motion.t_s
    edges = np.array([start for start, _, _ in made.strides] + [made.bouts[0][2]])
    phase = np.interp(t, edges, np.arange(edges.size))
    height = uneven * np.random.default_rng(8).standard_normal(edges.size)
    more = height[phase.astype(int)] * np.cos(2.0 * np.pi * phase)
    risen = replace(made, motion=replace(made.motion, up_ms2=made.motion.up_ms2 + more))
    assert is_steady(tracked(risen, "trot")) == steady
