"""The simulated positions against what open recordings of phones show."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from sample_rides.figures import fit_circle
from sample_rides.receiver import FixLog, receive
from sample_rides.scenario import Scenario
from sample_rides.simulate import simulate
from tests.sample_rides.parts import layout_of, parts_of

NORTH_M_PER_DEG, EAST_M_PER_DEG = 111267.353, 68678.016
"""At 52° N on WGS84, from the ellipsoid's radii of curvature (computed, not by this project)."""
PLAIN = Scenario(
    lat_deg=52.0,
    lon_deg=5.0,
    bearing_deg=0.0,
    receiver_lag_s=0.0,
    wild_first_fixes=0,
    gaps=0,
    freezes=False,
)
RIDE = "walk and trot"


def log(scenario: Scenario, seed: int) -> FixLog:
    parts = parts_of(RIDE, Scenario())
    return receive(parts.line, parts.timeline, scenario, np.random.default_rng(seed))


def error_m(scenario: Scenario, seed: int) -> NDArray[np.float64]:
    """Position error at each fix, shape (2, n)."""
    parts, fixes = parts_of(RIDE, Scenario()), log(scenario, seed)
    s_m = np.interp(fixes.t_s, parts.timeline.t_s, parts.timeline.s_m)
    x_m = (fixes.lon_deg - 5.0) * EAST_M_PER_DEG - np.interp(s_m, parts.line.s_m, parts.line.x_m)
    y_m = (fixes.lat_deg - 52.0) * NORTH_M_PER_DEG - np.interp(s_m, parts.line.s_m, parts.line.y_m)
    return np.stack([x_m, y_m])


@cache
def typical_errors() -> tuple[NDArray[np.float64], ...]:
    return tuple(error_m(PLAIN, seed) for seed in range(60))


def test_repeats_differ_by_a_constant_offset() -> None:
    """0.4-2.2 m per axis between repeats of one path [measured on open recordings]."""
    for noise, low_m, high_m in (("good", 0.3, 0.9), ("poor", 1.6, 3.0)):
        scenario = replace(PLAIN, noise=noise)  # type: ignore[arg-type]
        offsets = [error_m(scenario, seed).mean(axis=1) for seed in range(30)]
        assert low_m < np.std(offsets) < high_m
    offsets = [errors.mean(axis=1) for errors in typical_errors()]
    assert 0.4 < np.std(offsets) < 2.2


def test_error_wanders_over_minutes() -> None:
    """A wander of 0.6-0.8 m about the constant [measured on open recordings]."""
    about = [errors - errors.mean(axis=1, keepdims=True) for errors in typical_errors()]
    assert 0.55 < np.sqrt(np.mean([a.var() for a in about])) < 0.85


def test_error_is_smooth_from_fix_to_fix() -> None:
    """Jitter of 0.05-0.1 m from fix to fix [measured on open recordings]."""
    jitter = [np.std(np.diff(errors, n=2, axis=1)) / np.sqrt(6.0) for errors in typical_errors()]
    assert 0.05 < np.mean(jitter) < 0.1


def test_noise_of_the_accuracy_table() -> None:
    """Slow error of 2 m over 60 s and 0.5 m white: variance and autocovariance of the sum."""
    scenario = replace(Scenario.bound_table(), bearing_deg=0.0)
    errors = [error_m(scenario, seed) for seed in range(60)]
    assert np.sqrt(np.mean([e.var() + e.mean() ** 2 for e in errors])) == pytest.approx(
        np.hypot(2.0, 0.5), rel=0.1
    )
    after = [np.mean(e[:, 60:] * e[:, :-60]) for e in errors]
    assert np.mean(after) == pytest.approx(4.0 * np.exp(-1.0), abs=0.6)
    fixes = log(scenario, 1)
    assert np.isnan(fixes.course_deg).all()
    assert np.isfinite(fixes.speed_ms[1:]).all()


def test_a_still_phone_repeats_its_position() -> None:
    """89-96 % identical fixes while still [measured on open recordings]."""
    parts, repeated, still = parts_of(RIDE, Scenario()), 0, 0
    for seed in range(40):
        fixes = log(replace(PLAIN, freezes=True), seed)
        speed = np.interp(fixes.t_s, parts.timeline.t_s, parts.timeline.speed_ms)
        before = np.interp(fixes.t_s - 1.5, parts.timeline.t_s, parts.timeline.speed_ms)
        standing = (speed < 0.05) & (before < 0.05)
        same = np.append(False, (np.diff(fixes.lat_deg) == 0) & (np.diff(fixes.lon_deg) == 0))
        repeated += int(np.sum(same & standing))
        still += int(np.sum(standing[1:]))
    assert 0.89 < repeated / still < 0.96


def test_first_fixes_can_be_far_off_and_say_so() -> None:
    """Up to 155 m, reported accuracy 55-180 m or blank speed [measured on open recordings]."""
    off = error_m(replace(PLAIN, wild_first_fixes=6), 3)
    far_m = np.hypot(off[0], off[1])
    assert (far_m[:6] > 10.0).all()
    assert far_m.max() < 165.0
    assert far_m[6:].max() < 10.0
    fixes = log(replace(PLAIN, wild_first_fixes=6), 3)
    assert ((fixes.accuracy_m[:6] >= 55.0) & (fixes.accuracy_m[:6] <= 180.0)).all()
    assert np.isnan(fixes.speed_ms[0])
    assert ((fixes.accuracy_m[6:] >= 3.8) & (fixes.accuracy_m[6:] <= 4.8)).all()


def test_receiver_lag_shrinks_a_circle() -> None:
    """A first-order low-pass of 1 s makes radius R at speed v read R / sqrt(1 + (v/R)²).

    For 18.5 m in trot (3.2 m/s) that is 17.5 m (computed).
    """
    assert 18.5 / np.hypot(1.0, 3.2 / 9.25) == pytest.approx(17.5, abs=0.05)
    scenario = replace(PLAIN, noise="none", receiver_lag_s=1.0, imperfection=0.0)
    one = simulate(layout_of(RIDE), seed=2, scenario=scenario)
    path, checked = one.truth.path, 0
    for figure in one.truth.figures:
        if figure.kind != "circle":
            continue
        t_s = one.fixes.t_s - one.fixes.t_s[0]
        inside = (t_s > figure.start_s + 3.0) & (t_s < figure.end_s)
        x_m = (one.fixes.lon_deg[inside] - 5.0) * EAST_M_PER_DEG
        y_m = (one.fixes.lat_deg[inside] - 52.0) * NORTH_M_PER_DEG
        radius_m = figure.diameter_m / 2.0
        moving = (path.t_s > figure.start_s) & (path.t_s < figure.end_s)
        speed = path.speed_ms[moving].mean()
        expected = radius_m / np.hypot(1.0, speed / radius_m)
        assert fit_circle(x_m, y_m).radius_m == pytest.approx(expected, abs=0.1)
        checked += 1
    assert checked == 4


def test_pure_delay_is_told_as_a_clock_offset() -> None:
    """The truth is told on the clock the positions show; the delay moves the motion's offset."""
    scenario = replace(PLAIN, noise="none", receiver_delay_s=0.8, clock_offset_s=2.0)
    one = simulate(layout_of(RIDE), seed=2, scenario=scenario)
    assert one.truth.clock_offset_s == pytest.approx(1.2)
    t_s = one.fixes.t_s - one.fixes.t_s[0]
    x_m = (one.fixes.lon_deg - 5.0) * EAST_M_PER_DEG
    told_m = np.interp(t_s, one.truth.path.t_s, one.truth.path.x_m)
    np.testing.assert_allclose(x_m, told_m, atol=0.03)
