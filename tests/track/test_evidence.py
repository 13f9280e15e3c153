"""The yaw of the trunk with its averaging over a stride undone."""

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d, uniform_filter1d

from tests.accuracy import invented as iv
from track.evidence import SOFTENED_S2, sharpened, stir_of

RATE_HZ = 50.0


@pytest.mark.parametrize("stride_s", [0.6, 0.8, 1.1])
def test_a_corner_is_as_sharp_as_before_a_stride_smoothed_it(stride_s: float) -> None:
    # a corner ridden in a second and a half, its ends eased over a quarter of a second
    t_s = np.arange(0.0, 20.0, 1 / RATE_HZ)
    turn = gaussian_filter1d(np.where(np.abs(t_s - 10) < 0.75, np.pi / 3, 0.0), 0.25 * RATE_HZ)
    yaw = np.cumsum(turn) / RATE_HZ
    width = 2 * round(stride_s * RATE_HZ / 2) + 1
    soft = gaussian_filter1d(uniform_filter1d(yaw, width), 0.12 * RATE_HZ)
    blur_s2 = (width / RATE_HZ) ** 2 / 12 + SOFTENED_S2
    sharp = sharpened(soft, RATE_HZ, blur_s2)
    assert np.abs(soft - yaw).max() > 3 * np.abs(sharp - yaw).max()
    # how much longer the way is that it shows, against the blur that a lag of a tenth would make
    way = [np.exp(1j * y).sum() / RATE_HZ for y in (yaw, sharp, soft)]
    assert abs(way[1] - way[0]) < 0.1 * abs(way[2] - way[0])


def test_steady_turning_is_left_alone() -> None:
    yaw = 0.4 * np.arange(0.0, 20.0, 1 / RATE_HZ)
    assert sharpened(yaw, RATE_HZ, 0.07) == pytest.approx(yaw)


def test_only_a_change_of_effort_lets_the_speed_change() -> None:
    rng = np.random.default_rng(3)
    truth = iv.ride("trot", rng)
    motion = iv.motion_of(truth, iv.PLAIN, rng)
    t_s = np.arange(0.0, truth.t_s[-1], 0.5)
    stir_ms = stir_of(motion, t_s)
    assert stir_ms is not None
    near = np.min([np.abs(t_s[:-1] + 0.25 - at) for at in truth.changes_s], axis=0)
    halting = np.min([np.abs(t_s[:-1] - at) for halt in truth.halts for at in halt], axis=0)
    assert np.median(stir_ms[(near > 3) & (halting > 4)]) == 0.0
    assert stir_ms[near < 0.3].min() > 0.2
    assert stir_of(None, t_s) is None
