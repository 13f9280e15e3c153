"""Places and tempo of transitions on made-up lines whose truth is known by construction."""

from dataclasses import replace

import numpy as np
import pytest

from gait.bouts import Transition
from report.findings_change import change_findings
from report.pairing import paired
from report.places import SPREAD_STEP_M, passing, place_along
from report.result import Finding
from report.ridden import Asked
from tests.report.made import gaits_of, path_through, ridden_of, ride_of
from track.lay_out import lay_out
from track.path import Estimate, Path
from track.sheet import Movement, Sheet

STRIDE_S = {"walk": 1.1, "trot": 0.75, "canter": 0.6}


def sheet(*movements: Movement) -> Sheet:
    return Sheet(
        title="made up", arena="20x40", enter="trot", level="walk and trot", movements=movements
    )


LAYOUT = lay_out(
    sheet(
        Movement(
            number=1,
            ride=("line A X", "line X C", "turn left at C"),
            change=("halt at X for 4 s", "trot at X"),
        ),
        Movement(number=2, ride=("track C H E K A",), change=("walk at E",)),
        Movement(number=3, ride=("track A F B M C",), change=("trot between F and B",)),
    )
)


def up_the_centre(speed_ms: float = 3.0) -> Path:
    t_s = np.arange(0.0, 12.0, 0.5)
    return path_through(np.zeros(t_s.size), -18.0 + speed_ms * t_s, t_s)


@pytest.mark.parametrize("late_m", [-3.0, 0.0, 1.5, 4.0])
def test_place_along_the_line_is_signed_and_its_doubt_is_time_and_place_together(
    late_m: float,
) -> None:
    path = up_the_centre()
    letter = passing(path, (0.0, 0.0), around_s=5.0)
    onset = Estimate(value=(18.0 + late_m) / 3.0, sd=0.3)
    place = place_along(path, onset, letter)
    assert letter.t_s == pytest.approx(6.0)
    assert place.value == pytest.approx(late_m, abs=1e-6)
    assert place.sd == pytest.approx(np.hypot(0.3 * 3.0, np.hypot(0.5, SPREAD_STEP_M)), abs=0.01)


def test_a_letter_passed_twice_is_the_one_that_is_meant() -> None:
    angle = np.arange(0.0, 4 * np.pi, 0.16)
    t_s = np.arange(0.0, angle.size * 0.5, 0.5)
    path = path_through(9 * np.cos(angle), 9 * np.sin(angle), t_s)
    first = passing(path, (10.0, 0.0), around_s=1.0)
    second = passing(path, (10.0, 0.0), around_s=20.0)
    assert first.t_s == pytest.approx(0.0, abs=0.1)
    assert second.t_s == pytest.approx(2 * np.pi / 0.16 * 0.5, abs=0.1)
    assert first.miss_m == pytest.approx(1.0, abs=0.05)


def rows_for(text: str, onset_late_s: float, to_gait: str) -> dict[str, Finding]:
    """Findings of one change when the whole test is ridden at 3 m/s on its line."""
    path = ride_of(LAYOUT, 3.0)
    line, number, change = next(
        (line, number, change)
        for line in LAYOUT.movements
        for number, change in enumerate(line.changes, 1)
        if change.text.startswith(text)
    )
    asked = Asked(
        movement=line.number,
        run=1,
        of=f"change:{number}",
        change=change,
        start_s=change.start_m / 3.0,
        end_s=change.end_m / 3.0,
    )
    t_s = change.start_m / 3.0 + onset_late_s
    gaits = gaits_of([("trot", 0.0, t_s), (to_gait, t_s, t_s + 6.0), ("trot", t_s + 6.0, 200.0)],  # type: ignore[list-item]
                     STRIDE_S)  # fmt: skip
    found = paired([asked], gaits.transitions)[0]
    rows = change_findings(ridden_of(path, gaits), LAYOUT, asked, found)
    return {row.measure: row for row in rows}


@pytest.mark.parametrize("late_s", [-2.0, 0.0, 1.0])
def test_placement_at_a_letter(late_s: float) -> None:
    row = rows_for("walk at E", late_s, "walk")["placement"]
    assert row.value == pytest.approx(3.0 * late_s, abs=0.05)
    assert row.of == "change:1"
    assert row.target == 0.0
    assert (row.low, row.high) == (-3.6, 3.6)
    if late_s == -2.0:
        assert row.verdict == "outside"
        assert "before E" in row.say
        assert row.do.startswith("You might")


def test_placement_between_two_letters_is_nought_inside_and_signed_outside() -> None:
    inside = rows_for("trot between", 2.0, "trot")
    assert "placement" in inside
    window = next(c for c in LAYOUT.movements[2].changes)
    path = ride_of(LAYOUT, 3.0)
    asked = Asked(
        movement=3,
        run=1,
        of="change:1",
        change=window,
        start_s=window.start_m / 3.0,
        end_s=window.end_m / 3.0,
    )
    for t_s, value in (
        (asked.start_s + 2.0, 0.0),
        (asked.start_s - 1.0, -3.0),
        (asked.end_s + 1.0, 3.0),
    ):
        gaits = gaits_of([("walk", 0.0, t_s), ("trot", t_s, 200.0)], STRIDE_S)
        rows = change_findings(ridden_of(path, gaits), LAYOUT, asked, gaits.transitions[0])
        row = next(r for r in rows if r.measure == "placement")
        assert row.value == pytest.approx(value, abs=0.05)
        assert row.verdict == ("within" if value == 0 else "outside")


def test_a_halt_has_its_place_and_its_time() -> None:
    rows = rows_for("halt at X", 0.0, "halt")
    assert "placement" not in rows
    assert rows["halt_time"].value == pytest.approx(6.0)
    assert rows["halt_time"].low == 4.0
    assert rows["halt_time"].verdict == "within"
    assert rows["halt_place"].unit == "m"


def test_a_change_that_did_not_come_is_told_with_its_reason() -> None:
    path = ride_of(LAYOUT, 3.0)
    change = LAYOUT.movements[1].changes[0]
    asked = Asked(movement=2, run=1, of="change:1", change=change, start_s=30.0, end_s=30.0)
    gaits = gaits_of([("trot", 0.0, 200.0)], STRIDE_S)
    rows = change_findings(ridden_of(path, gaits), LAYOUT, asked, None)
    assert [row.value for row in rows] == [None]
    assert rows[0].because == "no change to walk was found at E"
    assert rows[0].verdict is None


def test_pairing_keeps_the_order_and_skips_what_was_not_asked() -> None:
    changes = [c for line in LAYOUT.movements for c in line.changes]
    asked = [
        Asked(movement=1, run=1, of="change:1", change=c, start_s=t_s, end_s=t_s)
        for c, t_s in zip(changes, (10.0, 14.0, 40.0, 60.0), strict=True)
    ]
    made = [
        ("trot", "halt", 11.0),
        ("halt", "trot", 15.0),
        ("trot", "canter", 20.0),
        ("canter", "trot", 25.0),
        ("trot", "walk", 43.0),
    ]
    transitions = [
        Transition(from_gait=a, to_gait=b, t_s=t_s, t_sd_s=0.2, between_strides=0)  # type: ignore[arg-type]
        for a, b, t_s in made
    ]
    found = paired(asked, transitions)
    assert [None if f is None else f.t_s for f in found] == [11.0, 15.0, 43.0, None]


def test_names_stay_away_while_the_ends_are_unknown() -> None:
    path = ride_of(LAYOUT, 3.0)
    change = LAYOUT.movements[1].changes[0]
    t_s = change.start_m / 3.0
    asked = Asked(movement=2, run=1, of="change:1", change=change, start_s=t_s, end_s=t_s)
    gaits = gaits_of([("trot", 0.0, t_s), ("walk", t_s, 200.0)], STRIDE_S)
    ridden = ridden_of(path, gaits)
    ridden = replace(ridden, names=replace(ridden.names, known=False))
    for row in change_findings(ridden, LAYOUT, asked, gaits.transitions[0]):
        for text in (row.say, row.do, row.because, row.shown):
            assert "E" not in text.split(), text
