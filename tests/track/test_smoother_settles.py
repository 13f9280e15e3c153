"""The smoother comes to rest in a few steps, and where it rests is the most probable path."""

import numpy as np
import pytest

import track.smoother
from tests.accuracy import invented as iv
from track.evidence import Evidence
from track.fixes import CleanFixes, clean
from track.gather import first_noise, gathered
from track.motion import Motion
from track.path import Estimate
from track.pose import Wanted, placed_ride
from track.smoother import Smoothed, smooth
from track.smoother_prior import ClockPrior, Prior, usual_prior
from track.smoother_receiver import filtered
from track.smoother_start import first_state
from track.smoother_state import X, Y

CLOCK = ClockPrior(
    shift=Estimate(value=0.9, sd=0.5), lag=Estimate(value=iv.PHONE.lag_s, sd=0.05), held=False
)


@pytest.fixture(scope="module")
def given() -> tuple[CleanFixes, Motion | None]:
    rng = np.random.default_rng(3)
    recording, motion = iv.recorded(iv.ride("trot", rng), iv.PHONE, rng)
    assert recording.fixes is not None
    return clean(recording.fixes), motion


@pytest.fixture(scope="module")
def evidence(given: tuple[CleanFixes, Motion | None]) -> Evidence:
    return gathered(*given, CLOCK.shift.value)


@pytest.fixture(scope="module")
def prior() -> Prior:
    return usual_prior(clock=CLOCK)


@pytest.fixture(scope="module")
def local(evidence: Evidence, prior: Prior) -> Smoothed:
    start = first_state(evidence, shift_s=CLOCK.shift.value, lag_s=CLOCK.lag.value)
    return smooth(evidence, start, first_noise(evidence), prior, steps=8, learn=(1, 2, 3))


def test_a_ride_settles_within_its_steps(local: Smoothed) -> None:
    assert local.settled


def test_where_it_settles_further_steps_move_it_by_less_than_anybody_sees(
    evidence: Evidence, local: Smoothed, prior: Prior, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(track.smoother, "MOST_STILL_M", 1e-3)
    on = smooth(evidence, local.state, local.noise, prior, steps=12, room=local.room)
    moved = (on.state.epochs - local.state.epochs)[:, [X, Y]]
    assert np.abs(moved).max() < 0.05


def test_settled_it_is_drawn_along_the_boards_in_a_few_steps(
    given: tuple[CleanFixes, Motion | None],
    evidence: Evidence,
    local: Smoothed,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    steps = []
    step = track.smoother._step

    def counted(*taken: object) -> object:
        steps.append(taken)
        return step(*taken)  # type: ignore[arg-type]

    monkeypatch.setattr(track.smoother, "_step", counted)
    wanted = Wanted(sizes=("20x40",))
    placed, placement, _ = placed_ride(evidence, local, CLOCK, wanted, given[0].plane)
    assert placement is not None
    assert placed.settled
    assert len(steps) <= 6


def test_the_first_guess_has_the_lag_in_it(evidence: Evidence) -> None:
    shift_s, lag_s = CLOCK.shift.value, 1.0
    plain = first_state(evidence, shift_s=shift_s, lag_s=0.05).epochs
    late = first_state(evidence, shift_s=shift_s, lag_s=lag_s)
    # A body seen through a low-pass of a second is a second ahead of where it is shown.
    inner = slice(20, -20)
    ahead = late.epochs[inner, X] - np.interp(
        evidence.t_s[inner] + lag_s - 0.05, evidence.t_s, plain[:, X]
    )
    assert np.sqrt((ahead**2).mean()) < 0.1
    again = filtered(late)
    assert np.allclose(again.epochs, late.epochs)
