"""What a fitted pace knows of time beside a swing of the pocket, and what it claims to know."""

from dataclasses import replace

import numpy as np
import pytest

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
