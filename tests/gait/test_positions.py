"""Gaits from speed alone: what speeds tell, and how much of it is in doubt."""

from typing import cast

import numpy as np
import pytest

from gait.bouts import gait_at
from gait.positions import gaits_from_positions
from track.path import Path, Posterior

# Clayton (see tests/gait/test_published.py): medium walk, working trot, medium canter [recalled].
WALK_MS, TROT_MS, CANTER_MS = 1.73, 3.61, 4.90
PLAN = [
    ("halt", 10.0), ("walk", 60.0), ("trot", 80.0), ("canter", 50.0), ("trot", 40.0),
    ("walk", 40.0), ("trot", 20.0), ("canter", 30.0), ("walk", 20.0),
]  # fmt: skip


def _ridden(speed_ms: dict[str, float], seed: int) -> tuple[Path, np.ndarray]:
    """A path with these speeds, varying by 0.15 m/s over three seconds, and the true gaits."""
    rng = np.random.default_rng(seed)
    t_s = np.arange(0.0, sum(seconds for _, seconds in PLAN), 0.2)
    ends = np.cumsum([seconds for _, seconds in PLAN])
    true = np.array([PLAN[i][0] for i in np.searchsorted(ends, t_s, side="right")])
    slow = np.interp(t_s, np.arange(0.0, t_s[-1] + 3.0, 3.0),
                     0.15 * rng.standard_normal(int(t_s[-1] / 3.0) + 2))  # fmt: skip
    speed = np.array([speed_ms[gait] for gait in true]) + np.where(true == "halt", 0.0, slow)
    one = np.ones(t_s.size)
    return Path(
        t_s=t_s, x_m=np.cumsum(0.2 * speed), y_m=0.0 * one, sd_x_m=one, sd_y_m=one,
        speed_ms=speed, speed_sd_ms=0.15 * one, heading_rad=0.0 * one, heading_sd_rad=one,
        turn_rads=0.0 * one, posterior=cast(Posterior, None), frame="local",
    ), true  # fmt: skip


@pytest.mark.parametrize("scale", [0.9, 1.0, 1.1])  # Froude: 1.30 to 1.75 m of withers
def test_gaits_of_published_speeds(scale: float) -> None:
    speeds = {
        "halt": 0.0, "walk": scale * WALK_MS, "trot": scale * TROT_MS,
        "canter": scale * CANTER_MS,
    }  # fmt: skip
    path, true = _ridden(speeds, seed=1)
    found = gaits_from_positions(path)
    assert np.mean(np.array(gait_at(found, path.t_s)) == true) > 0.93


def test_a_canter_as_quick_as_the_trot_is_in_doubt() -> None:
    alike = {"halt": 0.0, "walk": WALK_MS, "trot": TROT_MS, "canter": TROT_MS}
    path, true = _ridden(alike, seed=2)
    found = gaits_from_positions(path)
    quick = [b for b in found.bouts if b.gait in ("trot", "canter") and b.end_s - b.start_s > 5.0]
    assert quick and all(bout.confidence < 0.95 for bout in quick)
    # And not in doubt about the rest.
    walked = np.array(gait_at(found, path.t_s)) == "walk"
    assert np.mean(walked == (true == "walk")) > 0.97
    assert all(bout.confidence > 0.9 for bout in found.bouts if bout.gait == "walk")


def test_nothing_without_a_path() -> None:
    assert gaits_from_positions(None).bouts == ()
