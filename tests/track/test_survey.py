"""An arena from one walked lap and from named fixes: pose, size, sides and diagonals."""

import numpy as np
import pandas as pd
import pytest

from ingest.recording import Recording
from report.commands.arena import survey_lines
from tests.accuracy.elsewhere import fixes_of, line_through
from track.arena import HALF_LENGTH_M, SIZES, Size
from track.survey import survey
from track.survey_sides import Walk, fitted

BEARING_DEG = 30.0


def walked(size: Size, seed: int, laps: int = 1) -> Recording:
    rng = np.random.default_rng([seed, SIZES.index(size)])
    x, y = 9.5, HALF_LENGTH_M[size] - 0.5
    corners = [(0.0, -y), *[(-x, -y), (-x, y), (x, y), (x, -y)] * laps, (0.0, -y)]
    line = line_through(corners, 1.35, rng, 1.5)
    return fixes_of(*line, rng, wander_m=0.7, bearing_deg=BEARING_DEG)


def off_deg(bearing_deg: float) -> float:
    return abs((bearing_deg - BEARING_DEG + 90.0) % 180.0 - 90.0)


@pytest.mark.parametrize("size", SIZES)
def test_one_lap_gives_size_and_bearing_with_an_honest_sd(size: Size) -> None:
    found = [survey(walked(size, seed)) for seed in range(8)]
    assert {one.arena.size for one in found} == {size}
    off = np.array([off_deg(one.arena.bearing_deg) for one in found])
    sd = np.array([one.arena.bearing_sd_deg for one in found])
    assert np.median(off) < 0.8
    assert np.sqrt(np.mean((off / sd) ** 2)) < 1.8
    assert (sd < 1.0).all()


def test_more_laps_are_surer() -> None:
    one, three = survey(walked("20x40", 3)), survey(walked("20x40", 3, laps=3))
    assert three.arena.bearing_sd_deg < 0.75 * one.arena.bearing_sd_deg


def test_an_exact_walk_gives_its_pose_back() -> None:
    side = np.arange(-19.0, 19.5, 0.5)
    end = np.arange(-9.0, 9.5, 0.5)
    x = np.concatenate([np.full(len(side), -9.5), end, np.full(len(side), 9.5), end[::-1]])
    y = np.concatenate([side, np.full(len(end), 19.5), side[::-1], np.full(len(end), -19.5)])
    turn = np.radians(20.0)
    east = np.cos(turn) * x + np.sin(turn) * y + 3.0
    north = -np.sin(turn) * x + np.cos(turn) * y - 4.0
    walk = Walk(t_s=np.arange(len(x), dtype=np.float64), east_m=east, north_m=north, size="20x40")
    pose = fitted(walk, np.array([turn + 0.03, 2.0, -3.0])).pose
    assert pose == pytest.approx([turn, 3.0, -4.0, 0.5], abs=1e-6)


def test_a_walk_is_told_with_its_sides_and_diagonals() -> None:
    lines = "\n".join(survey_lines(survey(walked("20x40", 2))))
    assert lines.count("diagonal") == 3
    assert lines.count("long side") == 2
    # Tape check of a 20x40 m school from corner to corner: 44.72 m (Pythagoras).
    assert "44.7 by the rules" in lines
    assert "degrees: " in lines


def test_named_fixes_are_checked_along_sides_and_diagonals() -> None:
    places = {"K": (-10, -14), "F": (10, -14), "H": (-10, 14), "M": (10, 19)}
    rows = [(name, 52.0 + y / 111267.353, 5.0 + x / 68678.016) for name, (x, y) in places.items()]
    found = survey(Recording(waypoints=pd.DataFrame(rows, columns=["name", "lat_deg", "lon_deg"])))
    checks = {check.what: check for check in found.checks}
    # From the letters' places: 34.41 m from K to M and from F to H, 28 m from K to H.
    assert checks["F to H"].asked_m == pytest.approx(34.409, abs=1e-3)
    assert checks["F to H"].measured_m.value == pytest.approx(34.409, abs=0.01)
    assert checks["K to H"].measured_m.value == pytest.approx(28.0, abs=0.01)
    assert checks["K to M"].measured_m.value - checks["K to M"].asked_m > 3.0
