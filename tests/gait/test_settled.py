"""Settling of the tempo: planted instants, their doubt, and a published change point."""

from itertools import accumulate

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from gait.bouts import Gait, Stride
from gait.settled import BLOCK, FEWEST_BLOCKS, blocks_of, settled_of, settling_time
from track.path import Floats

NILE = np.array([
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180,
    799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833,
    701, 916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845,
    864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676,
    649, 846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923,
    975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
], dtype=np.float64)  # fmt: skip
"""Flow of the Nile at Aswan, 1871 to 1970, 10^8 m³ (Cobb, Biometrika 1978;65:243 [recalled])."""


def series(
    rng: np.random.Generator, away: NDArray[np.floating], alike: float, spread: float = 0.5
) -> Floats:
    """A plateau at 79 with what is added to it, and a wander of its own."""
    noise = rng.normal(size=away.size)
    wander = [
        float(v) for v in accumulate(noise, lambda a, b: alike * a + np.sqrt(1 - alike**2) * b)
    ]
    return np.asarray(79.0 + away + spread * np.array(wander))


def strides_of(tempo_spm: Floats, gait: Gait = "trot") -> list[Stride]:
    """Strides one after the other, each at its own tempo."""
    durations = (60.0 / tempo_spm).tolist()
    starts = [0.0, *accumulate(durations)][:-1]
    return [
        Stride(t_s=t, duration_s=d, gait=gait, sd_s=0.004)
        for t, d in zip(starts, durations, strict=True)
    ]


def test_the_change_in_the_flow_of_the_nile_comes_after_observation_28() -> None:
    # Change after 28; sum of squares 2835156.75 without and 1597457.19 with it [recalled].
    assert np.sum((NILE - NILE.mean()) ** 2) == pytest.approx(2835156.75)
    parts = NILE[:28], NILE[28:]
    assert sum(np.sum((p - p.mean()) ** 2) for p in parts) == pytest.approx(1597457.19, abs=0.01)
    found = settling_time(np.arange(100.0), NILE)
    assert found.value == pytest.approx(27.5, abs=0.6)
    assert found.sd < 3.0


@pytest.mark.parametrize("alike", [0.0, 0.4])
@pytest.mark.parametrize("kind", ["step", "slope", "approach"])
def test_intervals_hold_the_planted_instant(kind: str, alike: float) -> None:
    rng = np.random.default_rng(7)
    t = np.arange(0.0, 900.0, 15.0)
    away, truth = {
        "step": (4.0 * (t < 292.5), 292.5 - 7.5),
        "slope": (4.0 * np.clip(1.0 - t / 300.0, 0.0, None), 300.0 * (1.0 - 0.5 / 4.0)),
        "approach": (4.0 * np.exp(-t / 100.0), 100.0 * np.log(4.0 / 0.5)),
    }[kind]
    found = [settling_time(t, series(rng, away, alike)) for _ in range(60)]
    held = sum(abs(f.value - truth) < 1.96 * f.sd + 7.5 for f in found)
    assert held >= 50
    assert np.median([f.sd for f in found]) < 75.0


def test_a_tempo_that_never_moved_is_settled_from_the_start() -> None:
    rng = np.random.default_rng(3)
    t = np.arange(0.0, 600.0, 15.0)
    found = [settling_time(t, series(rng, np.zeros(40), 0.0)) for _ in range(50)]
    assert sum(f.value == 0.0 for f in found) >= 47


@given(st.floats(0.5, 2.0), st.floats(-30.0, 30.0), st.booleans())
def test_units_level_and_sign_of_the_tempo_do_not_matter(
    scale: float, level: float, mirrored: bool
) -> None:
    t = np.arange(0.0, 600.0, 15.0)
    tempo = series(np.random.default_rng(5), 3.0 * (t < 150.0), 0.3)
    other = level + (-scale if mirrored else scale) * tempo
    ours, theirs = settling_time(t, tempo), settling_time(t, other)
    assert theirs.value == ours.value
    assert theirs.sd == pytest.approx(ours.sd, rel=1e-6)


def test_a_ride_that_settles_says_when_on_both_clocks() -> None:
    rng = np.random.default_rng(2)
    tempo = 80.0 + 4.0 * (np.arange(800) < 200) + rng.normal(0.0, 0.8, 800)
    walk = [Stride(t_s=float(i), duration_s=1.0, gait="walk") for i in range(300)]
    trot = [
        Stride(t_s=300.0 + s.t_s, duration_s=s.duration_s, gait="trot") for s in strides_of(tempo)
    ]
    found = settled_of([*walk, *trot])
    assert found.gait == "trot"
    assert found.at_s is not None
    assert found.after_s is not None
    assert found.after_s.value == pytest.approx(200 * 60.0 / 84.0, abs=15.0)
    assert found.at_s.value == pytest.approx(300.0 + found.after_s.value)
    assert 0.0 < found.after_s.sd < 30.0


def test_too_little_work_says_what_would_settle_it() -> None:
    few = settled_of(strides_of(np.full(BLOCK * FEWEST_BLOCKS - 1, 80.0)))
    assert few.at_s is None
    assert "240 or more" in few.because
    assert settled_of([]).gait is None


def test_a_tempo_still_changing_at_the_end_is_not_called_settled() -> None:
    rng = np.random.default_rng(4)
    tempo = 80.0 + np.where(np.arange(600) < 510, 5.0, 0.0) + rng.normal(0.0, 0.5, 600)
    found = settled_of(strides_of(tempo))
    assert found.at_s is None
    assert "still changing" in found.because


def test_blocks_are_medians_of_whole_blocks() -> None:
    t_s, tempo = blocks_of(strides_of(np.repeat([80.0, 75.0], BLOCK)))
    assert tempo.tolist() == pytest.approx([80.0, 75.0])
    assert t_s.tolist() == pytest.approx([0.0, 15.0])
