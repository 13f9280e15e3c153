"""The slip: times backwards from the start, little on it, nothing that needs a phone."""

import html
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from ingest.errors import TanbarkError
from report.card_page import render_card
from report.card_times import gap_minutes, parse_starts, steps_before, time_of_day
from report.commands.card import command
from report.result_file import dumped
from tests.report.invented_line import layout
from tests.report.invented_result import whole
from tests.report.test_page import read, words
from track.sheet_file import write_sheet


def test_a_warm_up_is_as_long_as_riders_really_take() -> None:
    # Murray 2006: 25:23 ± 10:02 min at novice level, 39/40/20 % walk, trot, canter
    steps = {step.what: step.before_min for step in steps_before(canter=True)}
    assert steps["walk"] == 25
    work = steps["walk"] - steps["ring"]
    assert (steps["walk"] - steps["trot"]) / work == pytest.approx(0.39, abs=0.04)
    assert (steps["trot"] - steps["canter"]) / work == pytest.approx(0.40, abs=0.04)


def test_steps_run_towards_the_start_and_leave_out_what_is_not_asked() -> None:
    for canter in (True, False):
        for minutes in (3, 6, 10, 14, 25):
            steps = steps_before(canter=canter, minutes=minutes, mounted=True)
            times = [step.before_min for step in steps]
            assert times == sorted(times, reverse=True)
            assert times[0] <= minutes
            assert ("canter" in {s.what for s in steps}) <= canter


def test_the_gap_between_two_tests_counts_the_first_one_out() -> None:
    # 10:40 and 11:02, a test of 5 min 5 s, 2 min to leave the ring: 22 - 5.08 - 2 = 14.9
    assert gap_minutes([640, 662], test_s=305) == 14
    assert gap_minutes([640, 644], test_s=305) == 1


@pytest.mark.parametrize(
    ("text", "tests", "said"),
    [
        ("10:40", 2, "1 times for 2 tests"),
        ("10.40", 1, "not a time of day"),
        ("24:10", 1, "not a time of day"),
        ("10:60", 1, "not a time of day"),
        ("11:02,10:40", 2, "must start after"),
        ("10:40,10:40", 2, "must start after"),
    ],
)
def test_starts_that_cannot_be(text: str, tests: int, said: str) -> None:
    with pytest.raises(TanbarkError, match=re.escape(said)) as fault:
        parse_starts(text, tests)
    assert "\n" not in str(fault.value)


def test_time_of_day_goes_round_midnight() -> None:
    assert time_of_day(-5) == "23:55"


def test_slip_says_entry_rein_four_commands_and_three_numbers_at_most() -> None:
    page = render_card([layout()], [640], [whole()])
    said = words(page)
    assert "Enter in trot. First turn left." in said
    assert page.count("<li>") == 4
    assert 1 <= len(re.findall(r"<p><b>", page)) <= 3
    assert "158 beats" in said
    assert "10:40" in said and "10:38" in said
    assert "Keep" in said and "Change" in said
    assert "Check the rules before you wear one in a competition arena" in said


def test_slip_without_a_ride_has_no_empty_parts() -> None:
    said = words(render_card([layout()], [None], []))
    assert "Keep" not in said and "Change" not in said
    assert "min before" in said
    assert "beats" not in said


def test_slip_carries_no_script_and_loads_nothing() -> None:
    page = render_card([layout(), layout()], [640, 662], [whole()])
    reader = read(page)
    assert "<script" not in page
    assert reader.sources == [] and reader.faults == [] and reader.open == []
    assert "default-src 'none'" in html.unescape(page)
    assert re.search(r"1\d minutes between the two tests", words(page))


def test_command_writes_the_slip_and_takes_results_either_way(tmp_path: Path) -> None:
    sheet, ride, out = tmp_path / "test.txt", tmp_path / "result.json", tmp_path / "slip.html"
    sheet.write_text(write_sheet(layout().sheet), encoding="utf-8")
    ride.write_text(dumped(whole()), encoding="utf-8")
    run = CliRunner().invoke(
        command, [str(sheet), "--starts", "9:05", "--from", str(ride), "--out", str(out)]
    )
    assert run.exit_code == 0, run.output
    first = out.read_text(encoding="utf-8")
    CliRunner().invoke(command, [str(sheet), str(ride), "--starts", "9:05", "--out", str(out)])
    assert out.read_text(encoding="utf-8") == first
    assert "Keep" in words(first)


def test_command_refuses_no_sheet_or_three(tmp_path: Path) -> None:
    run = CliRunner().invoke(command, ["--out", str(tmp_path / "slip.html")])
    assert isinstance(run.exception, TanbarkError)
    assert not (tmp_path / "slip.html").exists()
