"""The gait stage against published facts, worked examples and real people; sources beside each."""

from typing import cast

import numpy as np
import pytest

from gait.features import signals_of
from gait.regularity import autocorrelation, chance_interval, regularity
from gait.rhythm import length_of, rhythm_of
from gait.stage import decode
from gait.strides import track_bout
from ingest.reading import read_recording
from ingest.recording import Recording
from tests.gait.made import STRIDES_PER_S, made_ride
from tests.real_data import real_data
from tests.track.test_motion_real import _steps_per_second, _trunk
from track.motion import read_motion
from track.path import Floats, Path, Posterior

# Clayton, Equine Vet J 1994;26:230, Suppl 1994;17:16, 1995;27:26: m/s, stride m, strides/min of
# ridden dressage horses; trot's speeds seen as quoted in 10.3390/ani11020436, the rest recalled.
CLAYTON = {
    ("walk", "collected"): (1.37, 1.57, 52.0), ("walk", "medium"): (1.73, 1.87, 55.0),
    ("walk", "extended"): (1.82, 1.93, 56.0), ("trot", "collected"): (3.20, 2.50, 77.0),
    ("trot", "working"): (3.61, 2.73, 79.0), ("trot", "medium"): (4.47, 3.26, 82.0),
    ("trot", "extended"): (4.93, 3.55, 83.0), ("canter", "collected"): (3.27, 2.00, 99.0),
    ("canter", "working"): (3.91, 2.35, 99.0), ("canter", "medium"): (4.90, 2.94, 101.0),
    ("canter", "extended"): (5.97, 3.47, 105.0),
}  # fmt: skip


def _path(t_s: Floats, speed_ms: float) -> Path:
    one = np.ones(t_s.size)
    return Path(
        t_s=t_s, x_m=speed_ms * t_s, y_m=0.0 * one, sd_x_m=one, sd_y_m=one,
        speed_ms=speed_ms * one, speed_sd_ms=0.1 * one, heading_rad=0.0 * one,
        heading_sd_rad=one, turn_rads=0.0 * one, posterior=cast(Posterior, None), frame="arena",
    )  # fmt: skip


@pytest.mark.parametrize(("gait", "how"), CLAYTON)
def test_rates_and_stride_lengths_of_dressage_horses(gait: str, how: str) -> None:
    speed_ms, stride_m, tempo_spm = CLAYTON[gait, how]
    scale = tempo_spm / 60.0 / STRIDES_PER_S[gait]
    made = made_ride([(gait, 40.0)], seed=11, scale=scale, cv=0.0)
    gaits = decode(made.motion, None)
    row = next(r for r in rhythm_of(gaits, None) if r.rein == "all")
    assert row.gait == gait
    assert row.tempo_spm is not None
    assert row.tempo_spm.value == pytest.approx(tempo_spm, abs=0.3)
    length = length_of(gaits.strides, _path(np.arange(0.0, 40.0, 0.2), speed_ms))
    assert length is not None
    # The table's own rounding: rate to 0.5 in 52, speed to 0.005.
    assert length.value == pytest.approx(stride_m, rel=0.02)


@pytest.mark.parametrize("gait", ["walk", "trot", "canter"])
def test_a_pony_by_froude_scaling(gait: str) -> None:
    """Rate goes with the inverse root of the height: 1.65 to 1.30 m is a factor of 1.127 (c)."""
    factor = float(np.sqrt(1.65 / 1.30))
    assert factor == pytest.approx(1.127, abs=0.001)
    tempi = []
    for scale in (1.0, factor):
        gaits = decode(made_ride([(gait, 40.0)], seed=12, scale=scale, cv=0.005).motion, None)
        assert {s.gait for s in gaits.strides} == {gait}
        tempi.append(1.0 / np.median([s.duration_s for s in gaits.strides]))
    assert tempi[1] / tempi[0] == pytest.approx(factor, rel=0.005)


# Upper envelope of the stride peak Ad2 against the stride-time variation, computed for a vertical
# of two cycles a stride (facts section 4).
ENVELOPE = {0.01: 0.99, 0.02: 0.97, 0.03: 0.94, 0.04: 0.90, 0.06: 0.80}


@pytest.mark.parametrize("cv", ENVELOPE)
def test_regularity_falls_with_variation_as_reckoned(cv: float) -> None:
    seen = []
    for seed in range(4):
        made = made_ride([("trot", 120.0)], seed=seed, cv=cv, noise_ms2=0.0)
        mean = float(np.mean([d for _, d, _ in made.strides]))
        ratio = regularity(made.motion, 0.0, 118.0, mean)
        assert ratio is not None
        seen.append(ratio[1])
    # The highest value within a tenth of a stride is taken, which lifts it a little.
    assert np.mean(seen) == pytest.approx(ENVELOPE[cv], abs=0.01 + 0.8 * cv)


# Yields of 70 batches, Box & Jenkins, series F [recalled]; r1 to r3 as published.
SERIES_F = [
    47, 64, 23, 71, 38, 64, 55, 41, 59, 48, 71, 35, 57, 40, 58, 44, 80, 55, 37, 74, 51, 57, 50, 60,
    45, 57, 50, 45, 25, 59, 50, 71, 56, 74, 50, 58, 45, 54, 36, 54, 48, 55, 45, 57, 50, 62, 44, 64,
    43, 52, 38, 59, 55, 41, 53, 49, 34, 35, 54, 45, 68, 38, 50, 60, 39, 59, 40, 57, 54, 23,
]  # fmt: skip


def test_autocorrelation_of_series_f() -> None:
    """Published with the biased denominator: N for N - m."""
    ratio = autocorrelation(np.array(SERIES_F, dtype=np.float64), 3)
    biased = ratio * (len(SERIES_F) - np.arange(4)) / len(SERIES_F)
    np.testing.assert_allclose(biased[1:], [-0.390, 0.304, -0.166], atol=5e-4)


def test_autocorrelation_of_a_sine_is_unbiased() -> None:
    """sin(2πt/20), N = 100: biased r20 0.8, unbiased 1 (computed)."""
    ratio = autocorrelation(np.sin(2.0 * np.pi * np.arange(100) / 20.0), 20)
    assert ratio[20] == pytest.approx(1.0)
    assert ratio[20] * 80 / 100 == pytest.approx(0.8)


def test_interval_of_a_coefficient_of_variation_as_published() -> None:
    # Vangel's data, five values: K and the exact 95 % interval [recalled]
    values = np.array([326.0, 302.0, 307.0, 299.0, 329.0])
    share = values.std(ddof=1) / values.mean()
    assert share == pytest.approx(0.0445910, abs=5e-8)
    found = chance_interval(100.0 * share, values.size)
    assert found == pytest.approx((2.67004, 12.86657), rel=5e-5)


def test_interval_of_a_coefficient_of_variation_holds_for_many_even_strides() -> None:
    rng = np.random.default_rng(1)
    held = 0
    for _ in range(400):
        d = 0.7 * (1.0 + 0.004 * rng.standard_normal(150))
        low, high = chance_interval(float(100.0 * d.std(ddof=1) / d.mean()), d.size)
        held += low < 0.4 < high
    assert 0.92 < held / 400 < 0.98  # 95 %, three standard errors either way
    assert chance_interval(0.0, 30) == (0.0, 0.0)


def _step_times(recording: Recording, start_s: float, end_s: float) -> tuple[float, float]:
    """Step time by our strides, two steps each, and by counting peaks."""
    motion = read_motion(recording)
    assert motion is not None
    assert recording.motion is not None
    found = track_bout(
        signals_of(motion), (start_s, end_s), motion.t_s, 0.5 * motion.beat_hz, beats=2
    )
    assert found is not None
    table = recording.motion
    t_s = table["t_s"].to_numpy()
    inside = (t_s >= start_s) & (t_s < end_s)
    force = np.linalg.norm(table.iloc[:, 1:4].to_numpy()[inside], axis=1)
    corner = found.corner_t_s[(found.corner_t_s > start_s) & (found.corner_t_s < end_s)]
    ours = 0.5 * float(np.mean(np.diff(corner)))
    return ours, 1.0 / _steps_per_second(t_s[inside], force)


@pytest.mark.parametrize("name", ["walk_a.csv", "walk_b.csv"])
def test_step_time_of_people_walking(name: str) -> None:
    """Two people, sensor at the lower back (open recordings); peaks of the band-passed force."""
    recording = _trunk(real_data("human_trunk", name))
    motion = read_motion(recording)
    assert motion is not None
    times = motion.t_s[np.isfinite(motion.beat_hz) & (motion.beat_regularity > 0.6)]
    runs = np.split(times, np.flatnonzero(np.diff(times) > 0.1) + 1)
    longest = max(runs, key=len)
    ours, counted = _step_times(recording, float(longest[0]), float(longest[-1]))
    assert ours == pytest.approx(counted, rel=0.04)


def test_step_time_of_a_phone_in_a_walkers_pocket() -> None:
    ours, counted = _step_times(read_recording([real_data("phone_walk_android_50hz")]), 210, 530)
    assert ours == pytest.approx(counted, rel=0.03)
