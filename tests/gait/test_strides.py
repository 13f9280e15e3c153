"""Strides of a known unevenness, spoilt with noise, must come back with it."""

from dataclasses import replace

import numpy as np
import pytest

from gait.bouts import Stride
from gait.decode import course_of
from gait.features import signals_of
from gait.stage import decode
from gait.strides import Tracked, phase_at, remains_of, template, track_bout
from gait.tempo import tempo_of
from gait.variation import cv_of
from gait.warp import OVERSTATED, overstated_of, with_overstated
from tests.gait.made import Made, made_ride
from track.path import Floats

BEATS = {"walk": 2, "trot": 2, "canter": 1}


def tracked(made: Made, gait: str) -> Tracked:
    course = course_of(made.motion, None)
    _, start, end = made.bouts[0]
    signals = signals_of(made.motion)
    found = track_bout(signals, (start, end), course.t_s, course.stride_hz, beats=BEATS[gait])
    assert found is not None
    return found


def timing_error_s(made: Made, found: Tracked) -> Floats:
    """Corner against truth at the same phase of the stride, ends left out."""
    edges = np.array([t for t, _, _ in made.strides] + [made.bouts[0][2]])
    phase = np.interp(found.corner_t_s, edges, np.arange(edges.size))
    offset = np.angle(np.exp(2j * np.pi * phase).mean()) / (2.0 * np.pi)
    true = np.interp(np.round(phase - offset) + offset, np.arange(edges.size), edges)
    error: Floats = (found.corner_t_s - true)[2:-2]
    return error


@pytest.mark.parametrize("gait", ["walk", "trot", "canter"])
def test_instants_within_8_ms(gait: str) -> None:
    made = made_ride([(gait, 60.0)], seed=2, rising=True, noise_ms2=0.5)
    found = tracked(made, gait)
    error = timing_error_s(made, found)
    assert error.std() < 0.008
    assert error.std() < 1.5 * np.median(found.corner_sd_s)


@pytest.mark.parametrize("gait", ["walk", "trot", "canter"])
def test_no_beat_is_lost_across_a_gap_in_the_log(gait: str) -> None:
    made = made_ride([(gait, 40.0)], seed=6, cv=0.02)
    gap = (made.motion.t_s > 15.0) & (made.motion.t_s < 16.4)
    motion = replace(made.motion, valid=~gap, up_ms2=np.where(gap, np.nan, made.motion.up_ms2))
    found = tracked(replace(made, motion=motion), gait)
    error = timing_error_s(made, found)
    sd = found.corner_sd_s[2:-2]
    far = np.abs(found.corner_t_s[2:-2] - 15.7) > 1.2
    assert error[far].std() < 0.008
    assert np.all(np.abs(error - np.median(error)) < 4.0 * np.maximum(sd, 0.008))
    # What could not be seen is in doubt.
    assert sd[~far].max() > 2.0 * np.median(sd)


def test_what_is_left_of_a_gait_dies_down_beyond_its_end() -> None:
    made = made_ride([("trot", 20.0)], seed=6)
    found = tracked(made, "trot")
    end_s = made.bouts[0][2]
    t_s = end_s + np.array([-0.6, -0.2, 0.0, 0.2, 0.6, 2.0])
    whole = template(found.shape, phase_at(found, t_s))
    share = remains_of(found, end_s, t_s)[0] / whole[0]
    np.testing.assert_allclose(share + share[[4, 3, 2, 1, 0, 5]], [1, 1, 1, 1, 1, 0], atol=1e-9)
    assert share[2] == pytest.approx(0.5)
    assert np.all(np.diff(share) < 0.0)
    # The same before a start, mirrored.
    start_s = made.bouts[0][1]
    before_s = start_s - np.array([0.2])
    there = remains_of(found, start_s, before_s)[0] / template(
        found.shape, phase_at(found, before_s)
    )[0]  # fmt: skip
    assert there[0] == pytest.approx(share[3])


@pytest.mark.parametrize("gait", ["walk", "trot", "canter"])
@pytest.mark.parametrize("cv", [0.01, 0.02, 0.035, 0.05])
def test_unevenness_is_told_as_it_is(cv: float, gait: str) -> None:
    """Lengths change here at a moment of the cycle that the waveform does not show."""
    made = made_ride([(gait, 80.0)], seed=4, cv=cv, noise_ms2=0.3)
    found = cv_of(decode(made.motion, None).strides[2:-2])
    assert found is not None
    true = np.array([d for _, d, _ in made.strides])[2:-2]
    truth = 100.0 * true.std(ddof=1) / true.mean()
    assert found.value == pytest.approx(truth, abs=0.3)
    assert abs(found.value - truth) < 2.5 * found.sd


@pytest.mark.parametrize(("path_kept", "share"), [(True, 1.0), (False, 0.0)])
def test_size_tells_what_keeps_its_shape(path_kept: bool, share: float) -> None:
    """A path that keeps its shape has accelerations that go with the square of the rate."""
    rng = np.random.default_rng(8)
    durations = 0.6 * (1.0 + 0.03 * rng.standard_normal(200))
    starts = np.cumsum(durations) - durations
    size = -2.0 * share * np.log(durations / 0.6) + 0.05 * rng.standard_normal(200)
    strides = [
        Stride(t_s=t, duration_s=d, gait="canter", sd_s=0.003, log_size=s)
        for t, d, s in zip(starts.tolist(), durations.tolist(), size.tolist(), strict=True)
    ]
    warp = overstated_of(with_overstated(strides))
    assert warp.value == pytest.approx(share * OVERSTATED["canter"], abs=0.03)
    assert path_kept == (warp.value > 0.5 * OVERSTATED["canter"])


def test_without_sizes_either_may_be() -> None:
    strides = [Stride(t_s=0.7 * i, duration_s=0.7, gait="trot") for i in range(30)]
    assert overstated_of(strides).value == pytest.approx(0.5 * OVERSTATED["trot"])


def test_jitter_of_the_instrument_moves_the_tempo_less_than_the_median() -> None:
    rng = np.random.default_rng(9)
    off_ours, off_median = [], []
    for _ in range(200):
        edges = 0.76 * np.arange(21) + 0.008 * rng.standard_normal(21)
        d = np.diff(edges)
        strides = [
            Stride(t_s=t, duration_s=x, gait="trot", sd_s=0.0113)
            for t, x in zip(edges[:-1].tolist(), d.tolist(), strict=True)
        ]
        tempo = tempo_of(strides)
        assert tempo is not None
        off_ours.append(tempo.value - 60.0 / 0.76)
        off_median.append(60.0 / float(np.median(d)) - 60.0 / 0.76)
    assert np.std(off_ours) < 0.6 * np.std(off_median)


def _row(durations_s: Floats) -> list[Stride]:
    starts = np.concatenate([[0.0], np.cumsum(durations_s)])
    return [
        Stride(t_s=t, duration_s=d, gait="trot", sd_s=0.0)
        for t, d in zip(starts.tolist(), durations_s.tolist(), strict=False)
    ]


def test_variation_of_a_published_sample() -> None:
    # Vangel 1996 [recalled]: the five values have K = 0.0445910; four times over they have the
    # same mean and 16/19 of the variance about it.
    strides = _row(np.tile([326.0, 302.0, 307.0, 299.0, 329.0], 4) / 400.0)
    found = cv_of(strides)
    assert found is not None
    expected = 100.0 * 0.0445910 * np.sqrt(16.0 / 19.0) / (1.0 + overstated_of(strides).value)
    assert found.value == pytest.approx(expected, rel=1e-5)


def test_a_beat_lost_by_the_detector_is_no_unevenness() -> None:
    durations = 0.6 * (1.0 + 0.02 * np.random.default_rng(4).standard_normal(40))
    clean = cv_of(_row(durations))
    spoilt = cv_of(_row(np.insert(durations, [3, 4], [0.82, 1.18])))
    assert clean is not None and spoilt is not None
    assert spoilt.value == pytest.approx(clean.value, rel=1e-9)


def test_strides_at_a_change_of_gait_are_no_unevenness() -> None:
    durations = 0.7 * (1.0 + 0.02 * np.random.default_rng(5).standard_normal(60))
    clean = _row(durations)
    # The stride out of a halt and the one into the next gait last far longer than the trot's.
    first = Stride(t_s=-0.85, duration_s=0.85, gait="trot", sd_s=0.0, at_change=True)
    end_s = clean[-1].t_s + clean[-1].duration_s
    last = Stride(t_s=end_s, duration_s=0.89, gait="trot", sd_s=0.0, at_change=True)
    with_changes = [first, *clean, last]
    assert cv_of(with_changes) == cv_of(clean)
    there, alone = tempo_of(with_changes), tempo_of(clean)
    assert there is not None and alone is not None
    assert there.value == alone.value
    # Counted in, the two would have moved the median by less than twice this.
    counted = 60.0 / float(np.median([*durations, 0.85, 0.89]))
    assert alone.sd < abs(counted - there.value) < 2.0 * there.sd


def test_strides_in_a_gap_of_the_log_are_no_unevenness() -> None:
    durations = 0.7 * (1.0 + 0.02 * np.random.default_rng(5).standard_normal(60))
    clean = [replace(stride, sd_s=0.004) for stride in _row(durations)]
    guessed = replace(clean[-1], t_s=clean[-1].t_s + 0.7, duration_s=0.6, sd_s=0.05)
    assert cv_of([*clean, guessed]) == cv_of(clean)


def test_a_slow_swing_that_tells_nothing_of_time_is_no_doubt_of_time() -> None:
    made = made_ride([("walk", 90.0)], seed=6, noise_ms2=0.2)
    t = made.motion.t_s
    swing = 2.0 * np.sin(2.0 * np.pi * 0.21 * t + 1.5 * np.sin(0.17 * t))
    swung = replace(made, motion=replace(made.motion, up_ms2=made.motion.up_ms2 + swing))
    found = tracked(swung, "walk")
    error, claimed = timing_error_s(swung, found).std(), np.median(found.corner_sd_s)
    assert 0.5 * claimed < error < 1.5 * claimed
