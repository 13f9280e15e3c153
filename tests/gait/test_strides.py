"""Strides of a known unevenness, spoilt with noise, must come back with it."""

import numpy as np
import pytest

from gait.decode import course_of
from gait.features import signals_of
from gait.strides import Tracked, track_bout
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


# Strides are begun a quarter of a beat before the vertical's peak. Where their lengths change at
# another moment of the cycle, as here, each counted stride is a blend of two and looks evener:
# measured 1.55 % for 2.04 % and 3.79 % for 5.08 % in canter, 4.5 and 4.7 % for 5.0 % in walk and
# trot. Strict, so that a cure shows.
BLENDED = pytest.mark.xfail(reason="strides counted from another moment look evener", strict=True)


@pytest.mark.parametrize(
    ("cv", "gait"),
    [
        (0.02, "walk"),
        (0.02, "trot"),
        pytest.param(0.02, "canter", marks=BLENDED),
        pytest.param(0.05, "walk", marks=BLENDED),
        pytest.param(0.05, "trot", marks=BLENDED),
        pytest.param(0.05, "canter", marks=BLENDED),
    ],
)
def test_unevenness_is_not_smoothed_away(cv: float, gait: str) -> None:
    made = made_ride([(gait, 80.0)], seed=4, cv=cv, noise_ms2=0.3)
    found = np.diff(tracked(made, gait).corner_t_s)[2:-2]
    true = np.array([d for _, d, _ in made.strides])[2:-2]
    ours, theirs = (100.0 * d.std(ddof=1) / d.mean() for d in (found, true))
    assert ours == pytest.approx(theirs, abs=0.3)
