"""Clock offset and receiver lag against the second model's truth, and the pieces by themselves."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.signal import lfilter
from scipy.special import gamma

from ingest.columns import GYRO_RADS
from tests.second_model import Leg, SecondRide, ride
from track import clocks_posterior
from track.attitude import Complexes
from track.clocks import USUAL_LAG_S, align
from track.clocks_coarse import masked_correlation
from track.clocks_fit import _nodes, _valley
from track.clocks_law import FIRST_NOISE, TAILS, Law, likeliest_law
from track.clocks_model import Course, Track, _marginal, low_passed
from track.clocks_posterior import USUAL_SPAN_S, Pair, Ridge, either, posterior
from track.geodesy import LocalPlane
from track.motion import read_motion
from track.path import Estimate, Floats
from track.stage import Clock

LAPS = (
    Leg("halt", 10), Leg("walk", 40), Leg("trot", 50), Leg("trot", 40, "circle 20"),
    Leg("walk", 30, "diagonal"), Leg("halt", 10),
)  # fmt: skip


def _plane(made: SecondRide) -> tuple[Floats, Floats]:
    fixes = made.recording.fixes
    assert fixes is not None
    plane = LocalPlane(
        lat_deg=float(fixes["lat_deg"].median()), lon_deg=float(fixes["lon_deg"].median())
    )
    return plane.to_plane(fixes["lat_deg"].to_numpy(), fixes["lon_deg"].to_numpy())


def _aligned(made: SecondRide) -> Clock:
    motion, fixes = read_motion(made.recording), made.recording.fixes
    assert motion is not None
    assert fixes is not None
    x_m, y_m = _plane(made)
    return align(motion, fixes, x_m, y_m, clocks_shared=made.recording.clocks_shared)


@cache
def _late() -> SecondRide:
    return ride(7, LAPS, clock_offset_s=-14.0, lag_s=1.0, walls=False)


def test_offset_and_lag_are_recovered() -> None:
    clock = _aligned(_late())
    assert clock.offset_s is not None
    assert clock.lag_s is not None
    assert clock.offset_s.value == pytest.approx(-14.0, abs=0.2)
    assert clock.lag_s.value == pytest.approx(1.0, abs=0.2)
    assert 0.01 < clock.offset_s.sd < 0.15
    assert {note.code for note in clock.notes} == {"clock-offset", "receiver-lag"}


def test_without_a_common_epoch_any_start_difference_is_found() -> None:
    made = ride(3, LAPS, clocks_shared=False, lag_s=0.2)
    clock = _aligned(made)
    assert clock.offset_s is None
    assert clock.shift_s.value == pytest.approx(made.truth.shift_s, abs=0.25)


def test_moving_one_clock_moves_the_answer_and_nothing_else() -> None:
    made = _late()
    motion = made.recording.motion
    assert motion is not None
    later = replace(made.recording, motion=motion.assign(t_s=motion["t_s"] + 7.31))
    first, second = _aligned(made), _aligned(replace(made, recording=later))
    assert first.lag_s is not None
    assert second.lag_s is not None
    assert second.shift_s.value - first.shift_s.value == pytest.approx(7.31, abs=0.02)
    assert second.lag_s.value == pytest.approx(first.lag_s.value, abs=0.02)


def test_without_gyroscope_effort_and_speed_tell_roughly_and_say_so() -> None:
    made = _late()
    motion = made.recording.motion
    assert motion is not None
    blind = motion.assign(**dict.fromkeys(GYRO_RADS, np.nan))
    clock = _aligned(replace(made, recording=replace(made.recording, motion=blind)))
    assert clock.shift_s.sd > 0.3
    assert abs(clock.shift_s.value + 14.0) < 3 * clock.shift_s.sd


def test_a_ride_that_tells_nothing_gets_a_wide_answer_and_a_note() -> None:
    made = ride(5, (Leg("halt", 60),))
    clock = _aligned(made)
    assert clock.shift_s.sd >= 3.0
    assert clock.lag_s == USUAL_LAG_S
    assert [note.code for note in clock.notes] == ["clock-unknown"]


def test_low_pass_is_the_receivers_first_order_filter() -> None:
    # against a filter stepped a hundred times finer (scipy's lfilter)
    t: Floats = np.arange(0, 40, 0.04)
    heading = 0.5 * np.sin(0.4 * t)
    course = Course(
        t_s=t, unit=np.exp(1j * heading), change=np.zeros_like(t), unknown=np.zeros_like(t)
    )
    fine: Floats = np.arange(0, 39.9, 0.0004)
    path = np.cumsum(np.exp(0.5j * np.sin(0.4 * fine))) * 0.0004
    decay = np.exp(-0.0004 / 0.8)
    shown = lfilter([1 - decay], [1, -decay], path)
    late = slice(250, 950)
    found = low_passed(course, 0.8) - low_passed(course, 0.8)[250]
    wanted = np.interp(t, fine, shown)
    assert np.abs(found - wanted + wanted[250])[late].max() < 0.01


def test_marginal_cost_is_that_of_the_dense_gaussian() -> None:
    # y = X + jitter, with X a sum of drift steps and c·D: covariance written out and inverted
    rng = np.random.default_rng(4)
    k, jitter = 8, 0.3
    step: Complexes = rng.normal(size=k - 1) + 1j * rng.normal(size=k - 1)
    hold, calm = rng.uniform(1, 5, k - 1), rng.uniform(1, 5, k - 2)
    y: Complexes = rng.normal(size=k) + 1j * rng.normal(size=k)
    first = _marginal(y, step, hold, calm, jitter).cost
    second = _marginal(1.5 * y, step, hold, calm, jitter).cost

    def misfit(seen: Complexes) -> float:
        wide = 1e8  # the first position is free
        # prior 1/25 on the first c with a walk between them: precision form
        precision = np.zeros((k - 1, k - 1), dtype=complex)
        precision[0, 0] = 1 / 25.0
        for i, w in enumerate(calm):
            precision[i : i + 2, i : i + 2] += w * np.array([[1, -1], [-1, 1]])
        c_cov = np.linalg.inv(precision)
        lower = np.tril(np.ones((k, k)), -1)[:, : k - 1]
        gain = lower * step
        cov = gain @ c_cov @ gain.conj().T + lower @ np.diag(1 / hold) @ lower.T
        cov += jitter**2 * np.eye(k) + wide
        return float(np.real(seen.conj() @ np.linalg.solve(cov, seen))) / 2

    assert second - first == pytest.approx(misfit(1.5 * y) - misfit(y), rel=1e-4)


def test_masked_correlation_is_pearsons() -> None:
    rng = np.random.default_rng(6)
    a, b = rng.normal(size=60), rng.normal(size=40)
    a[10:15], b[3] = np.nan, np.nan
    r, count = masked_correlation(a, b)
    for shift in (-10, 0, 7):
        i = np.arange(max(0, -shift), min(40, 60 - shift))
        pair = np.array([a[i + shift], b[i]])
        pair = pair[:, np.isfinite(pair).all(axis=0)]
        assert count[shift + 39] == pair.shape[1]
        assert r[shift + 39] == pytest.approx(np.corrcoef(pair)[0, 1], abs=1e-9)


@pytest.mark.parametrize("plain_odds", [0.0, 1 / 3])
def test_a_lag_near_nought_has_the_moments_of_its_own_law(
    monkeypatch: pytest.MonkeyPatch, plain_odds: float
) -> None:
    # exp(-(L/b)^4), L >= 0: integral b G(1/4)/4, mean b G(1/2)/G(1/4), mean square
    # b^2 G(3/4)/G(1/4) (generalised normal law, standard result); a receiver that does not
    # smooth weighs the span of the others times its odds
    monkeypatch.setattr(clocks_posterior, "PLAIN_ODDS", plain_odds)
    lag_s = np.linspace(0.0, 0.5, 8)
    ridge = Ridge(
        lag_s=lag_s, shift_s=2.0 + 0.8 * lag_s, sd_s=np.full(8, 0.01), cost=(lag_s / 0.2) ** 4
    )
    pair = posterior(ridge, 0.0, FIRST_NOISE)
    whole = 0.2 * gamma(0.25) / 4
    share = whole / (whole + plain_odds * USUAL_SPAN_S)
    mean = share * 0.2 * gamma(0.5) / gamma(0.25)
    sd = np.sqrt(share * 0.04 * gamma(0.75) / gamma(0.25) - mean**2)
    assert [pair.lag_s.value, pair.lag_s.sd] == pytest.approx([mean, sd], abs=0.002)
    assert pair.shift_s.value == pytest.approx(2.0 + 0.8 * mean, abs=0.002)
    assert pair.shift_s.sd == pytest.approx(np.hypot(0.8 * sd, 0.01), abs=0.002)


def test_a_valley_on_a_ripple_leaves_the_others_their_word() -> None:
    """As in a walker's log: one lag of eight without a width must not decide the shift's doubt."""
    lag_s = np.linspace(0.0, 1.4, 8)
    sd_s = np.full(8, 0.2)
    sd_s[2] = 15.0
    cost = 20 * (lag_s - 0.6) ** 2
    pair = posterior(Ridge(lag_s=lag_s, shift_s=lag_s, sd_s=sd_s, cost=cost), 0.0, FIRST_NOISE)
    assert pair.shift_s.sd < 0.5


def test_lowest_point_is_found_from_afar() -> None:
    valley = _valley(lambda s: 50.0 * (s - 1.3) ** 2 + 7.0, 0.2, 0.1)
    assert valley.shift_s == pytest.approx(1.3, abs=1e-6)
    assert valley.cost == pytest.approx(7.0, abs=1e-6)
    assert valley.sd_s == pytest.approx(0.1, abs=1e-6)


def test_several_alternatives_stay_honest() -> None:
    lag = Estimate(value=0.5, sd=0.1)
    far = [
        Pair(shift_s=Estimate(value=s, sd=0.05), lag_s=lag, cost=c) for s, c in ((1, 10), (9, 12))
    ]
    both = either(tuple(far))
    assert both.shift_s.value == 1
    assert both.shift_s.sd == pytest.approx(8 * np.sqrt(1 / (1 + np.exp(2))), rel=0.01)


def test_where_no_parabola_has_a_lowest_the_dear_lags_bound_the_closer_look() -> None:
    # near nought the cost may rise more than with the square of the square
    lag_s = np.array([0.0, 0.25, 0.5, 0.8, 1.2, 1.8])
    ridge = Ridge(lag_s=lag_s, shift_s=lag_s, sd_s=np.full(6, 0.1), cost=40 * lag_s)
    assert _nodes(ridge)[[0, -1]] == pytest.approx([0.0, 0.25])
    risen = replace(ridge, cost=np.array([9.0, 3.0, 0.0, 3.0, 9.0, 20.0]) ** 0.9)
    assert _nodes(risen)[0] <= 0.25
    assert _nodes(risen)[-1] >= 0.8


def test_white_noise_passes_for_no_jumps_and_jumps_for_no_white_noise() -> None:
    rng = np.random.default_rng(2)
    t_s: Floats = np.arange(0.0, 240.0)
    fine: Floats = np.arange(-5.0, 245.0, 0.08)
    course = Course(
        t_s=fine, unit=np.exp(1j * np.sin(0.3 * fine)), unknown=np.zeros_like(fine),
        change=0.15**2 * fine,
    )  # fmt: skip
    true = 3.0 * np.interp(t_s, fine, low_passed(course, 0.0))
    white = rng.normal(size=(2, 240)) * 0.5
    even = Track(t_s=t_s, y_m=true + white[0] + 1j * white[1], loose=np.ones(239))
    assert likeliest_law(even, course, FIRST_NOISE, (0.0, 0.0)).tails == TAILS[1]
    jumps = np.cumsum((rng.random(240) < 0.03) * rng.normal(size=240) * 6)
    small = rng.normal(size=(2, 240)) * 0.05
    jumping = replace(even, y_m=true + jumps + small[0] + 1j * small[1])
    assert likeliest_law(jumping, course, FIRST_NOISE, (0.0, 0.0)).tails == TAILS[0]


def test_student_cost_is_the_law_itself() -> None:
    # -log of the density of a bivariate Student's t less that of a Gaussian at its middle:
    # (n + 2)/2 log(1 + r^2/n) (standard result)
    square = np.array([0.0, 1.0, 30.0])
    loose = (TAILS[0] + square) / (TAILS[0] + 2)
    track = Track(t_s=np.arange(4.0), y_m=np.zeros(4, dtype=complex), loose=loose)
    law = Law(tails=TAILS[0], track=track, noise=FIRST_NOISE)
    gaussian = float(np.sum(np.log(loose) + square / (2 * loose)))
    student = float(np.sum((TAILS[0] + 2) / 2 * np.log1p(square / TAILS[0])))
    assert law.jump_cost(np.ones(3)) + gaussian == pytest.approx(student)
