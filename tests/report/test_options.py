"""What is typed on the command line, and arena files."""

from pathlib import Path

import pytest

from ingest.errors import ArenaError, TanbarkError
from report.options import bearing_of_a_deg, ride_options
from report.output import default_folder
from track.arena_file import read_arena

ARENA = """name = "home"
size = "20x40"
x_lat_deg = 52.0
x_lon_deg = 5.0
bearing_deg = 30.0
sd_m = 0.8
bearing_sd_deg = 0.6
"""


@pytest.mark.parametrize(
    ("word", "bearing"), [("N", 0), ("sw", 225), ("South", 180), ("NNE", 22.5), ("271.5", 271.5)]
)
def test_where_a_lies(word: str, bearing: float) -> None:
    assert bearing_of_a_deg(word) == bearing
    a_to_c = ride_options({"a_end": word}).a_end_bearing_deg
    assert a_to_c == pytest.approx((bearing + 180) % 360)


@pytest.mark.parametrize("word", ["uphill", "-3", "361", "nan", ""])
def test_no_such_direction(word: str) -> None:
    with pytest.raises(TanbarkError, match="--a-end"):
        bearing_of_a_deg(word)


def test_an_arena_file(tmp_path: Path) -> None:
    file = tmp_path / "home.toml"
    file.write_text(ARENA)
    arena = read_arena(file)
    assert (arena.size, arena.bearing_deg, arena.name) == ("20x40", 30.0, "home")
    assert ride_options({"arena": file}).arena == arena


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('size = "20x40"', 'size = "20x50"', "size:"),
        ("sd_m = 0.8", "", "sd_m: Field required"),
        ("bearing_deg = 30.0", "bearing_deg = 900", "bearing_deg:"),
        ("name", "name = [", "cannot be read"),
    ],
)
def test_faults_of_an_arena_file(tmp_path: Path, old: str, new: str, words: str) -> None:
    file = tmp_path / "home.toml"
    file.write_text(ARENA.replace(old, new, 1))
    with pytest.raises(ArenaError) as fault:
        read_arena(file)
    assert words in str(fault.value)


@pytest.mark.parametrize(
    ("first", "folder"),
    [("monday.gpx.gz", "monday"), ("monday.csv", "monday"), ("ride.log", "ride.log-tanbark")],
)
def test_the_folder_is_named_after_the_first_file(first: str, folder: str, tmp_path: Path) -> None:
    assert default_folder(tmp_path / first) == tmp_path / folder


def test_a_folder_of_files_is_never_written_into(tmp_path: Path) -> None:
    (tmp_path / "ride").mkdir()
    assert default_folder(tmp_path / "ride") == tmp_path / "ride-tanbark"
