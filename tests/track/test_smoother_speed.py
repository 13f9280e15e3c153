"""The speed column: smoothed on a bend as a first-order low-pass smooths, with a lag of its own."""

import numpy as np
import pytest

from tests.accuracy import invented as iv
from track.evidence import EPOCH_S
from track.follow import follow_motion
from track.path import Estimate
from track.smoother_prior import BLUR_SD_S2, ClockPrior, usual_prior
from track.smoother_receiver import headings_shown
from track.smoother_state import BLUR, EARLY, PARAMETERS, late_of


@pytest.mark.parametrize("late_s", [0.0, 0.3, 1.0])
@pytest.mark.parametrize("turn_rads", [-0.3, 0.15, 0.3])
def test_a_steady_bend_is_shown_by_the_transfer_function(late_s: float, turn_rads: float) -> None:
    # first-order low-pass: gain 1/sqrt(1 + (wT)^2), phase -atan(wT) (standard result)
    psi = turn_rads * EPOCH_S * np.arange(200, dtype=np.float64)
    shown = headings_shown(psi, late_s)[-1] * np.exp(-1j * psi[-1])
    assert abs(shown) == pytest.approx(1 / np.hypot(1.0, turn_rads * late_s), abs=0.004)
    assert np.angle(shown) == pytest.approx(-np.arctan(turn_rads * late_s), abs=0.004)


def test_a_speed_is_never_shown_before_it_is_ridden() -> None:
    ride = np.zeros(PARAMETERS)
    ride[BLUR], ride[EARLY] = 0.6**2, 0.0
    assert late_of(ride) == pytest.approx(0.6)
    ride[EARLY] = 0.6
    assert late_of(ride) == pytest.approx(0.0)
    ride[EARLY] = 0.9
    assert late_of(ride) == 0.0


def test_the_path_keeps_the_lag_that_the_clocks_told() -> None:
    told = ClockPrior(
        shift=Estimate(value=2.0, sd=0.5), lag=Estimate(value=0.5, sd=0.1), held=False
    )
    prior = usual_prior(clock=told)
    assert prior.value[BLUR] == pytest.approx(0.25)
    assert prior.sd[BLUR] == BLUR_SD_S2 < 0.01 * told.blur_sd_s2
    assert (prior.shift_s, prior.shift_sd_s) == (2.0, 0.5)


def test_the_speed_does_not_swing_to_and_fro_beside_a_halt() -> None:
    truth_rng = np.random.default_rng([5300, 7, 2])
    truth = iv.ride("canter", truth_rng)
    recording, motion = iv.recorded(truth, iv.Faults(frozen=True), truth_rng)
    path = follow_motion(recording, motion).path
    assert path is not None
    # Nobody asked for a rein back in this invented ride; its speeds go up to 4.5 m/s.
    assert float(path.speed_ms.min()) > -0.3
    assert float(np.abs(np.diff(path.speed_ms)).max()) < 2.0
