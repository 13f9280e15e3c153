"""What a fitted pace claims to know, against what it knows."""

from dataclasses import replace

import numpy as np

from tests.gait.made import made_ride
from tests.gait.test_strides import timing_error_s, tracked


def test_a_slow_swing_that_tells_nothing_of_time_is_no_doubt_of_time() -> None:
    made = made_ride([("walk", 90.0)], seed=6, noise_ms2=0.2)
    t = made.motion.t_s
    swing = 1.5 * np.sin(2.0 * np.pi * 0.21 * t + 1.5 * np.sin(0.17 * t))
    swung = replace(made, motion=replace(made.motion, up_ms2=made.motion.up_ms2 + swing))
    found = tracked(swung, "walk")
    error, claimed = timing_error_s(swung, found).std(), np.median(found.corner_sd_s)
    assert 0.5 * claimed < error < 1.5 * claimed
