"""The bundled sample rides: there, small, and made by the simulator as it is now."""

import gzip
import io
import json

import numpy as np
import pandas as pd
import pytest

from sample_rides.bundle import make_demo
from sample_rides.demo import DEMO_RIDES, demo_files, demo_truth_text

LARGEST_BYTES = 2_000_000


@pytest.mark.parametrize("name", DEMO_RIDES)
def test_bundled_ride_is_small_and_starts_with_a_walk_along_the_boards(name: str) -> None:
    contents = demo_files(name)
    assert set(contents) == {"ride.gpx.gz", "motion.csv.gz", "truth.json.gz"}
    assert sum(map(len, contents.values())) < LARGEST_BYTES
    truth = json.loads(demo_truth_text(name))
    first = next(bout for bout in truth["bouts"] if bout["gait"] not in {"halt", "unknown"})
    assert first["gait"] == "walk"
    assert first["end_s"] - first["start_s"] > 60.0
    assert first["end_s"] < truth["movements"][0]["start_s"]


@pytest.mark.parametrize("name", DEMO_RIDES)
def test_bundled_ride_is_what_the_simulator_makes(name: str) -> None:
    """Within rounding: another machine's mathematics library may differ in the last digit."""
    motion_csv = gzip.decompress(demo_files(name)["motion.csv.gz"])
    bundled = pd.read_csv(io.BytesIO(motion_csv)).to_numpy()
    fresh = make_demo(name)
    np.testing.assert_allclose(bundled[:, 1:4], fresh.motion.accel_ms2, atol=0.005)
    np.testing.assert_allclose(bundled[:, 4:7], fresh.motion.gyro_rads, atol=0.002)
    told = json.loads(demo_truth_text(name))
    np.testing.assert_allclose(told["path"]["x_m"], fresh.truth.path.x_m, atol=0.002)
    ends_s = [row["end_s"] for row in told["movements"]]
    np.testing.assert_allclose(ends_s, [row.end_s for row in fresh.truth.movements], atol=0.002)


def test_unknown_name_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(KeyError, match="acorn"):
        demo_files("no such ride")
