"""``tanbark simulate`` from the command line."""

import json
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from report.cli import main

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def tanbark(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    def run(*arguments: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["tanbark", *arguments])
        with pytest.raises(SystemExit) as ended:
            main()
        printed = capsys.readouterr()
        return int(ended.value.code or 0), printed.out, printed.err

    return run


def test_writes_ride_and_truth(tanbark: Run, tmp_path: Path) -> None:
    code, out, err = tanbark(
        "simulate", "walk and trot", "--seed", "3", "--out", str(tmp_path / "out"),
        "--fault", "egg:2:3", "--height", "1.3", "--no-speed",
    )  # fmt: skip
    assert code == 0, err
    assert len(out.splitlines()) == 1
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert names == {"ride.gpx", "motion.csv", "truth.json"}
    truth = json.loads((tmp_path / "out" / "truth.json").read_text())
    assert truth["scenario"]["withers_m"] == 1.3
    assert truth["faults"][0]["kind"] == "egg"
    assert "<fix:speed>" not in (tmp_path / "out" / "ride.gpx").read_text()


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        ("gallop:3", "egg:MOVEMENT:METRES"),
        ("egg:3", "egg:MOVEMENT:METRES"),
        ("egg:99:2", "1 to 18"),
        ("doubled:18", "no ride of its own"),
    ],
)
def test_wrong_fault_is_one_line_and_exit_2(
    fault: str, told: str, tanbark: Run, tmp_path: Path
) -> None:
    code, _, err = tanbark(
        "simulate", "walk and trot", "--seed", "3", "--out", str(tmp_path / "out"),
        "--fault", fault,
    )  # fmt: skip
    assert code == 2
    assert len(err.splitlines()) == 1
    assert told in err
    assert not (tmp_path / "out").exists()


def test_unreadable_sheet_is_one_line_and_exit_2(tanbark: Run, tmp_path: Path) -> None:
    code, _, err = tanbark(
        "simulate", str(tmp_path / "none.txt"), "--seed", "3", "--out", str(tmp_path)
    )
    assert code == 2
    assert len(err.splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
