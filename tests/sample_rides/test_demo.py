"""The bundled sample rides: there, small, and made by the simulator as it is now."""

import gzip
import io
import json

import numpy as np
import pandas as pd
import pytest

from sample_rides.bundle import make_demo
from sample_rides.demo import DEMO_RIDES, demo_files, demo_truth_text
from sample_rides.writing import ride_files

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
    bundled = {key: gzip.decompress(content) for key, content in demo_files(name).items()}
    fresh = ride_files(make_demo(name))
    ours = pd.read_csv(io.BytesIO(bundled["motion.csv.gz"])).to_numpy()
    made = pd.read_csv(io.BytesIO(fresh["motion.csv"])).to_numpy()
    np.testing.assert_allclose(ours, made, atol=0.005)
    told = json.loads(bundled["truth.json.gz"])
    again = json.loads(fresh["truth.json"])
    np.testing.assert_allclose(told["path"]["x_m"], again["path"]["x_m"], atol=0.002)
    assert [row["number"] for row in told["movements"]] == [
        row["number"] for row in again["movements"]
    ]


def test_unknown_name_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(KeyError, match="acorn"):
        demo_files("no such ride")
