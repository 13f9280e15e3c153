"""Tempo, its changes, quarters and settling on strides whose truth is known by construction."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gait.bouts import Stride
from report.quarters import quarter_edges_s, quarter_spread
from report.settling import rush_spm, settle_strides, settled_after
from report.tempo import tempo_change_spm, tempo_range_spm, tempo_spm
from tests.report.made import gaits_of, path_through
from track.path import Floats, Path


def strides(durations_s: Floats, start_s: float = 0.0) -> tuple[Stride, ...]:
    """Strides one after the other."""
    starts = start_s + np.concatenate([[0.0], np.cumsum(durations_s)[:-1]])
    return tuple(
        Stride(t_s=float(t), duration_s=float(d), gait="trot")
        for t, d in zip(starts, durations_s, strict=True)
    )


def circle_path(long_m: float, wide_m: float, speed_ms: float = 3.2) -> Path:
    """A circle (or an oval along y) from its touching point on the right, with straights about."""
    t = np.linspace(0, 2 * np.pi, 4000)
    x_m, y_m = wide_m * np.cos(t), long_m * np.sin(t)
    before = np.linspace(-12.0, 0.0, 200, endpoint=False)
    x_m = np.concatenate([np.full(200, wide_m), x_m, np.full(200, wide_m)])
    y_m = np.concatenate([before, y_m, -before[::-1]])
    along = np.concatenate([[0], np.cumsum(np.hypot(np.diff(x_m), np.diff(y_m)))])
    t_s = np.arange(0.0, along[-1] / speed_ms, 0.5)
    at = t_s * speed_ms
    return path_through(np.interp(at, along, x_m), np.interp(at, along, y_m), t_s, own_m=0.01)


def test_tempo_is_the_median_and_needs_six_strides() -> None:
    known = tempo_spm(strides(np.array([0.75] * 10 + [1.5])), 0.008)
    assert known is not None
    assert known.value == pytest.approx(80.0)
    assert tempo_spm(strides(np.full(5, 0.75)), 0.008) is None


@given(sd_ms=st.floats(2, 20), seed=st.integers(0, 50))
def test_stated_doubt_of_tempo_covers_the_instants_doubt(sd_ms: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    shaken = 0.75 + np.diff(rng.normal(0, sd_ms / 1000, 21))
    found = tempo_spm(strides(shaken), sd_ms / 1000)
    assert found is not None
    assert abs(found.value - 80.0) < 5 * found.sd


def test_a_change_of_tempo() -> None:
    before, inside = strides(np.full(12, 0.75)), strides(np.full(20, 0.72))
    change = tempo_change_spm(before, inside, 0.008)
    assert change is not None
    assert change.value == pytest.approx(60 / 0.72 - 80)


def test_range_over_quarters() -> None:
    even = tempo_range_spm(strides(np.full(24, 0.75)), np.linspace(0, 18, 5), 0.005)
    assert even is not None
    assert even.value == pytest.approx(0.0, abs=1e-6)
    durations = np.repeat([0.75, 0.75, 0.70, 0.75], 6)
    edges = np.concatenate([[0], np.cumsum(durations)[5::6]])
    quick = tempo_range_spm(strides(durations), edges, 0.005)
    assert quick is not None
    assert quick.value == pytest.approx(60 / 0.70 - 80)
    assert tempo_range_spm(strides(np.full(7, 0.75)), np.linspace(0, 5, 5), 0.005) is None


def test_a_round_circle_has_even_quarters() -> None:
    path = circle_path(9.2, 9.2)
    start, end = 12 / 3.2, 12 / 3.2 + 2 * np.pi * 9.2 / 3.2
    found = quarter_spread(path, strides(np.full(48, 0.75)), start, end, 0.008)
    assert found is not None
    assert found.spread.value < 0.35


def test_a_straight_before_the_circle_is_not_counted_to_its_first_quarter() -> None:
    path = circle_path(9.2, 9.2)
    start, end = 12 / 3.2, 12 / 3.2 + 2 * np.pi * 9.2 / 3.2
    edges = quarter_edges_s(path, start - 1.5, end + 1.5)
    assert edges[0] == pytest.approx(start, abs=0.5)
    assert edges[-1] == pytest.approx(end, abs=0.5)


def test_an_egg_begun_at_its_touching_point_is_seen_45_degrees_later() -> None:
    """Quarters begun where an oval touches the track are equal by symmetry."""
    long_m, wide_m = 12.0, 9.0
    path = circle_path(long_m, wide_m)
    around = 66.3  # circumference of the oval, m
    start, end = 12 / 3.2, 12 / 3.2 + around / 3.2
    found = quarter_spread(path, strides(np.full(52, 0.75)), start, end, 0.008)
    assert found is not None
    assert found.shifted
    assert found.spread.value > 1.2
    assert found.spread.value > 3 * found.spread.sd


def test_settling() -> None:
    assert settled_after(np.full(16, 0.75)) == 0
    assert settled_after(np.array([0.9, 0.85, 0.8] + [0.75] * 16)) == 2
    gaits = gaits_of([("walk", 0, 20), ("trot", 20, 60)], {"walk": 1.1, "trot": 0.75})
    settled = settle_strides(gaits, gaits.transitions[0])
    assert settled is not None
    assert settled.value == 0
    short = gaits_of([("walk", 0, 20), ("trot", 20, 24)], {"walk": 1.1, "trot": 0.75})
    assert settle_strides(short, short.transitions[0]) is None


def test_rush_needs_ten_strides_before() -> None:
    gaits = gaits_of([("trot", 0, 20), ("walk", 20, 40)], {"walk": 1.1, "trot": 0.75})
    even = rush_spm(gaits, gaits.transitions[0])
    assert even is not None
    assert even.value == pytest.approx(0.0, abs=1e-6)
    short = gaits_of([("trot", 0, 5), ("walk", 5, 40)], {"walk": 1.1, "trot": 0.75})
    assert rush_spm(short, short.transitions[0]) is None


def test_quarters_of_a_circle_with_a_change_of_gait_are_those_of_one_gait() -> None:
    path = circle_path(12.0, 9.0)
    start, end = 12 / 3.2, 12 / 3.2 + 66.3 / 3.2
    whole = quarter_spread(path, strides(np.full(52, 0.75)), start, end, 0.008)
    part = quarter_spread(path, strides(np.full(25, 0.75)), start, end, 0.008)
    assert whole is not None and part is not None
    assert 1 < np.isfinite(part.counts).sum() < 4
    assert part.spread.value == pytest.approx(whole.spread.value, abs=0.5)
    assert quarter_spread(path, strides(np.full(11, 0.75)), start, end, 0.008) is None


def test_a_quarter_with_a_piece_of_a_stride_has_no_range() -> None:
    durations = np.full(24, 0.75)
    durations[9] = 1.12
    assert tempo_range_spm(strides(durations), np.linspace(0, 18, 5), 0.005) is None
