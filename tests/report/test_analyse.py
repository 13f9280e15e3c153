"""The whole tool on a bundled ride, and what it says to files it cannot use."""

import gzip
import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
from click.testing import CliRunner, Result

from report.cli import cli
from report.pipeline import Analysis
from report.result_file import all_findings, dumped, read_result, shipped_schema
from sample_rides.demo import demo_files, demo_truth_text
from sample_rides.sheets import demo_sheet_text


@pytest.fixture(scope="module")
def acorn() -> Analysis:
    from report.demo import analyse_demo

    return analyse_demo("acorn")[0]


@pytest.fixture(scope="module")
def truth() -> dict[str, list[dict[str, Any]]]:
    loaded: dict[str, list[dict[str, Any]]] = json.loads(demo_truth_text("acorn"))
    return loaded


def test_the_result_is_valid(acorn: Analysis) -> None:
    data = json.loads(dumped(acorn.result))
    jsonschema.Draft202012Validator(shipped_schema()).validate(data)
    path = data["path"]
    assert len({len(path[key]) for key in ("t_s", "x_m", "y_m", "sd_m", "speed_ms")}) == 1
    assert np.median(np.diff(path["t_s"])) <= 0.5


def test_every_movement_is_found_when_it_was_ridden(
    acorn: Analysis, truth: dict[str, list[dict[str, Any]]]
) -> None:
    ridden = {(row["number"], row["run"]): row for row in truth["movements"]}
    found = {(row.number, row.run): row for row in acorn.result.movements if row.found}
    missed = set(ridden) - set(found)
    assert not {key for key in missed if ridden[key]["end_s"] > ridden[key]["start_s"]}
    for key, row in found.items():
        if key in ridden:
            assert row.start_s == pytest.approx(ridden[key]["start_s"], abs=2.0)


def test_circles_are_within_a_metre_and_a_half(
    acorn: Analysis, truth: dict[str, list[dict[str, Any]]]
) -> None:
    compared = 0
    for true in truth["figures"]:
        for figure in acorn.result.figures:
            if figure.kind == true["kind"] == "circle" and figure.movement == true["movement"]:
                size = next(f for f in figure.findings if f.measure == "diameter")
                assert size.value == pytest.approx(true["diameter_m"], abs=1.5)
                compared += 1
    assert compared >= 3


def test_transitions_are_within_three_metres(
    acorn: Analysis, truth: dict[str, list[dict[str, Any]]]
) -> None:
    compared = 0
    for true in truth["transitions"]:
        if true["movement"] is None or true["placement_m"] is None:
            continue
        row = next(m for m in acorn.result.movements if m.number == true["movement"])
        own = [f for f in row.findings if f.of == f"change:{int(true['change'])}"]
        placed = [f for f in own if f.measure == "placement" and f.value is not None]
        if placed:
            assert placed[0].value == pytest.approx(true["placement_m"], abs=3.0)
            compared += 1
    assert compared >= 5


def test_a_verdict_follows_from_its_own_numbers(acorn: Analysis) -> None:
    for f in all_findings(acorn.result):
        if f.value is None:
            assert f.because
            assert f.verdict is None
        elif f.verdict is not None:
            assert f.chance_within is not None
            assert f.sd is not None
            if f.verdict == "within":
                assert f.chance_within >= 0.95
            elif f.verdict == "outside":
                assert f.chance_within <= 0.05 + 1e-9
        assert f.shown
        assert f.say


def test_the_planted_faults_are_told(acorn: Analysis) -> None:
    """The bundled ride has an egg of 3 m planted in movement 2 and a trot 5 m late in 8."""
    found = {(row.number, f.measure): f for row in acorn.result.movements for f in row.findings}
    egg, late = found[2, "length_minus_width"], found[8, "placement"]
    assert egg.verdict != "within"
    assert egg.value is not None
    assert egg.value > 1.5
    assert late.verdict == "outside"
    assert "after C" in late.say
    assert late.do.startswith("You might")


def bundled_ride(folder: Path) -> list[str]:
    files = demo_files("acorn")
    for name in ("ride.gpx.gz", "motion.csv.gz"):
        (folder / name).write_bytes(files[name])
    (folder / "sheet.txt").write_text(demo_sheet_text("walk and trot"), encoding="utf-8")
    return [str(folder / "ride.gpx.gz"), str(folder / "motion.csv.gz")]


def run(*arguments: str) -> Result:
    return CliRunner().invoke(cli, list(arguments))


def test_analyse_writes_three_files_and_nothing_of_the_place_when_private(tmp_path: Path) -> None:
    files = bundled_ride(tmp_path)
    out = tmp_path / "out"
    done = run("analyse", files[0], "--out", str(out), "--private", "--horse", "Acorn")
    assert done.exit_code == 0, done.output
    assert sorted(p.name for p in out.iterdir()) == ["coach.html", "report.html", "result.json"]
    result = read_result(out / "result.json")
    assert result.ride.horse == "Acorn"
    assert result.arena is None or result.arena.x_lat_deg is None
    assert str(out / "report.html") in done.output
    raw = gzip.decompress(Path(files[0]).read_bytes()).decode()
    latitude = re.search(r'lat="(\d+\.\d{3})', raw)
    assert latitude is not None
    for page in out.iterdir():
        assert latitude.group(1) not in page.read_text(encoding="utf-8")


def test_without_ground_no_letter_is_named(tmp_path: Path) -> None:
    files = bundled_ride(tmp_path)
    out = tmp_path / "out"
    assert run("analyse", *files, "--out", str(out), "--quiet").exit_code == 0
    result = read_result(out / "result.json")
    assert result.arena is not None
    assert result.arena.ends == "unknown"
    assert "ends-unknown" in {note.code for note in result.notes}
    for finding in all_findings(result):
        for text in (finding.say, finding.do, finding.because, finding.shown):
            assert not re.search(r"\b[B-HK-MP-SVX]\b", text), text


@pytest.fixture
def bad_input(tmp_path: Path) -> dict[str, list[str]]:
    (tmp_path / "empty").mkdir()
    (tmp_path / "bad.txt").write_text("title: Bad\narena: 20x40\nenter: trot\n1  fly A X C\n")
    (tmp_path / "binary.toml").write_bytes(b"\x00\xff\xfe")
    point = '<trkpt lat="54.5" lon="3.1"/>'
    (tmp_path / "timeless.gpx").write_text(
        '<?xml version="1.0"?><gpx version="1.1" creator="t"'
        ' xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        f"{point * 50}</trkseg></trk></gpx>"
    )
    ride = bundled_ride(tmp_path)
    return {
        "no files": [],
        "a folder without rides": [str(tmp_path / "empty")],
        "a file that is not there": [str(tmp_path / "none.gpx")],
        "a sheet that cannot be ridden": [*ride, "--sheet", str(tmp_path / "bad.txt")],
        "a sheet that is not text": [*ride, "--sheet", str(tmp_path / "binary.toml")],
        "positions without times": [str(tmp_path / "timeless.gpx")],
        "no such end": [*ride, "--a-end", "uphill"],
        "a size that is not the sheet's": [
            *ride, "--sheet", str(tmp_path / "sheet.txt"), "--size", "20x60",
        ],
    }  # fmt: skip


CASES = [
    "no files", "a folder without rides", "a file that is not there",
    "a sheet that cannot be ridden", "a sheet that is not text", "positions without times",
    "no such end", "a size that is not the sheet's",
]  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_bad_input_is_one_line_and_leaves_nothing(
    case: str, bad_input: dict[str, list[str]], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    from report.cli import main

    out = tmp_path / "out"
    with pytest.MonkeyPatch.context() as patch, pytest.raises(SystemExit) as ended:
        patch.setattr("sys.argv", ["tanbark", "analyse", *bad_input[case], "--out", str(out)])
        main()
    assert ended.value.code == 2
    told = capsys.readouterr()
    assert told.err.count("\n") == 1
    assert "Traceback" not in told.err
    assert not out.exists()
