"""The result's file: valid against the shipped JSON Schema, read back as it was written."""

import json
from pathlib import Path

import jsonschema
import pytest

from report.result import (
    ArenaRow,
    Ratings,
    Result,
    Ride,
    RunnerUpRow,
    TimeIn,
    TransitionRow,
    Value,
    WarmUp,
)
from report.result_file import ResultFileError, dumped, read_result, schema, shipped_schema

# The keys of the contract, section 4.
CONTRACT_KEYS = {
    "schema", "ride", "notes", "arena", "path", "bouts", "strides", "transitions", "events",
    "movements", "course_errors", "figures", "rhythm", "time_in", "warm_up", "ratings",
}  # fmt: skip


def made_up_result() -> Result:
    return Result(
        ride=Ride(
            duration_s=300.123456,
            fix_count=301,
            fix_rate_hz=1.0,
            motion_rate_hz=50.0,
            sources=["ride.gpx"],
            horse="Bracken",
            kind="schooling",
            pocket=None,
            label=None,
            clock_offset_s=Value(value=1.23456789, sd=0.05),
            receiver_lag_s=None,
        ),
        notes=[],
        sheet=None,
        arena=ArenaRow(
            size="20x40",
            source="ride",
            ends="unknown",
            ends_because="no sheet",
            x_lat_deg=52.123456789,
            x_lon_deg=5.0,
            bearing_deg=30.0,
            sd_m=0.5,
            bearing_sd_deg=0.3,
            track_offset_m=Value(value=0.8, sd=0.1),
            runner_up=RunnerUpRow(
                size="20x60", x_lat_deg=52.1, x_lon_deg=5.0, bearing_deg=31.0, log_odds=12.0
            ),
        ),
        path=None,
        bouts=[],
        strides=[],
        transitions=[
            TransitionRow(
                from_gait="walk",
                to_gait="trot",
                t_s=10.0,
                t_sd_s=0.3,
                x_m=None,
                y_m=None,
                between_strides=0.0,
            )
        ],
        events=[],
        movements=[],
        course_errors=[],
        figures=[],
        rhythm=[],
        time_in=TimeIn(
            halt_s=0,
            walk_s=10,
            trot_s=290,
            canter_s=0,
            unknown_s=0,
            left_rein_s=None,
            right_rein_s=None,
            straight_s=None,
        ),
        warm_up=WarmUp(
            first_trot_s=10,
            first_canter_s=None,
            walk_breaks=0,
            longest_without_walk_break_s=None,
            changes_of_rein=None,
            settled_s=None,
        ),
        ratings=Ratings(circle_shape=None, rhythm_regularity=None, transition_placement=None),
    )


def test_the_shipped_schema_is_the_one_of_the_models() -> None:
    assert shipped_schema() == schema(), "run python -m report.result_file"


def test_a_result_has_the_contracts_keys_and_is_valid() -> None:
    data = json.loads(dumped(made_up_result()))
    jsonschema.Draft202012Validator(shipped_schema()).validate(data)
    assert set(data) >= CONTRACT_KEYS
    assert data["schema"] == "tanbark.result/1"
    assert data["transitions"][0]["from"] == "walk"
    assert data["transitions"][0]["to"] == "trot"
    assert data["arena"]["from"] == "ride"
    assert data["ride"]["clock_offset_s"]["value"] == 1.2346


def test_what_was_written_reads_back(tmp_path: Path) -> None:
    file = tmp_path / "result.json"
    file.write_text(dumped(made_up_result()), encoding="utf-8")
    assert dumped(read_result(file)) == file.read_text(encoding="utf-8")


def test_private_says_nothing_of_the_place() -> None:
    text = dumped(made_up_result(), private=True)
    assert "52.1" not in text
    assert "ride.gpx" not in text
    assert json.loads(text)["arena"]["bearing_deg"] is None


@pytest.mark.parametrize("text", ["", "{}", "[1, 2]", '{"schema": "other/1"}', "\x00"])
def test_another_file_is_refused_in_one_line(tmp_path: Path, text: str) -> None:
    file = tmp_path / "other.json"
    file.write_text(text)
    with pytest.raises(ResultFileError) as fault:
        read_result(file)
    assert "\n" not in str(fault.value)
