"""Planted faults: read as written, found again in the truth, and nothing else moved."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import KDTree

from ingest.errors import TanbarkError
from sample_rides.faults import FORMS, Fault, parse_fault
from sample_rides.scenario import Scenario
from sample_rides.simulate import simulate
from sample_rides.truth import TrueFigure, TrueTransition, Truth
from tests.sample_rides.parts import layout_of

CALM = Scenario(before="none", after=False, handling=False, motion_rate_hz=25.0)


@cache
def truth_of(sheet: str, *faults: str, imperfection: float = 1.0) -> Truth:
    scenario = replace(CALM, imperfection=imperfection)
    planted = [parse_fault(text) for text in faults]
    return simulate(layout_of(sheet), seed=6, scenario=scenario, faults=planted).truth


def figure(truth: Truth, movement: int) -> TrueFigure:
    return next(item for item in truth.figures if item.movement == movement)


def transition(truth: Truth, movement: int, change: int = 1) -> TrueTransition:
    return next(
        item for item in truth.transitions if (item.movement, item.change) == (movement, change)
    )


def test_faults_are_read_as_they_are_written() -> None:
    assert parse_fault("egg:3:2.5") == Fault(kind="egg", movement=3, amount=2.5, unit="m")
    assert parse_fault("late:4.2:-1strides") == Fault(
        kind="late", movement=4, change=2, amount=-1.0, unit="strides"
    )
    assert parse_fault(" TWICE ") == Fault(kind="twice")


@pytest.mark.parametrize(
    "text", ["", "egg", "egg:3", "egg:a:2", "egg:3:2spm", "break:3:1", "twice:2", "gallop:1:1"]
)
def test_another_form_is_refused_with_the_forms_allowed(text: str) -> None:
    with pytest.raises(TanbarkError) as refusal:
        parse_fault(text)
    assert len(refusal.value.faults) == 1
    assert all(form.words in str(refusal.value) for form in FORMS.values())


@given(st.text(max_size=20))
def test_any_text_is_a_fault_or_is_refused_in_one_line(text: str) -> None:
    try:
        fault = parse_fault(text)
    except TanbarkError as refusal:
        assert len(str(refusal).splitlines()) == 1
    else:
        assert fault.kind in FORMS


@pytest.mark.parametrize("movement", [2, 4, 10])
@pytest.mark.parametrize("metres", [3.0, -2.0])
def test_an_egg_is_longer_than_wide_by_so_much(movement: int, metres: float) -> None:
    """Of an otherwise ideal circle; the boards keep an imperfect one from all of it."""
    plain = figure(truth_of("walk and trot", imperfection=0.0), movement)
    planted = f"egg:{movement}:{metres}"
    egg = figure(truth_of("walk and trot", planted, imperfection=0.0), movement)
    change = egg.length_minus_width_m - plain.length_minus_width_m
    assert change == pytest.approx(metres, abs=0.3)
    assert egg.out_of_round_m is not None
    assert egg.out_of_round_m > 0.3 * abs(metres)
    if metres > 0:
        assert egg.diameter_m == pytest.approx(plain.diameter_m, abs=0.2)


def test_a_small_circle_is_smaller_and_no_less_round() -> None:
    plain, small = (figure(truth_of("first canter", *f), 12) for f in ((), ("small:12:2.5",)))
    assert plain.diameter_m - small.diameter_m == pytest.approx(2.5, abs=0.3)
    assert plain.out_of_round_m is not None
    assert small.out_of_round_m == pytest.approx(plain.out_of_round_m, abs=0.3)


def test_a_small_half_circle_is_narrower() -> None:
    plain, small = (figure(truth_of("walk and trot", *f), 7) for f in ((), ("small:7:2",)))
    assert plain.width_m - small.width_m == pytest.approx(2.0, abs=0.4)


def test_late_is_late_by_so_much_and_early_early() -> None:
    plain = transition(truth_of("walk and trot"), 10)
    for text, metres in (("late:10:5", 5.0), ("late:10:-4", -4.0)):
        moved = transition(truth_of("walk and trot", text), 10)
        assert plain.placement_m is not None
        assert moved.placement_m == pytest.approx(plain.placement_m + metres, abs=0.05)


def test_late_in_a_window_is_late_after_it() -> None:
    moved = transition(truth_of("walk and trot", "late:6:5"), 6)
    assert moved.placement_m == pytest.approx(5.0, abs=2.0)


def test_late_by_strides_is_a_matter_of_the_new_gait() -> None:
    plain = transition(truth_of("walk and trot"), 10)
    moved = transition(truth_of("walk and trot", "late:10:2strides"), 10)
    assert plain.placement_m is not None
    assert moved.placement_m is not None
    assert moved.placement_m - plain.placement_m == pytest.approx(2 * 2.6, abs=0.3)


def test_a_late_halt_stands_beyond_its_letter() -> None:
    plain, moved = (transition(truth_of("walk and trot", *f), 13) for f in ((), ("late:13:3",)))
    assert plain.halt_place_m is not None
    assert moved.halt_place_m == pytest.approx(plain.halt_place_m + 3.0, abs=0.15)
    assert moved.placement_m is None


def _distance_m(line: KDTree, truth: Truth, which: NDArray[np.bool_]) -> NDArray[np.float64]:
    points = np.column_stack([truth.path.x_m[which], truth.path.y_m[which]])
    return np.asarray(line.query(points)[0], dtype=np.float64)


def test_a_wobble_snakes_about_the_line() -> None:
    plain, wobble = (truth_of("walk and trot", *f) for f in ((), ("wobble:3:1",)))

    row = next(item for item in wobble.movements if item.number == 3)
    inside = (wobble.path.t_s > row.start_s) & (wobble.path.t_s < row.end_s)
    line = KDTree(np.column_stack([plain.path.x_m, plain.path.y_m]))
    off_m = _distance_m(line, wobble, inside)
    assert 0.8 < off_m.max() < 1.2
    assert off_m.mean() > 0.3
    before = wobble.path.t_s < row.start_s - 3.0
    assert _distance_m(line, wobble, before).max() < 0.3


@pytest.mark.parametrize(
    ("sheet", "fault", "old"),
    [("first canter", "break:4", "canter"), ("walk and trot", "jog:7", "walk")],
)
def test_another_gait_for_some_strides(sheet: str, fault: str, old: str) -> None:
    plain, broken = truth_of(sheet), truth_of(sheet, fault)
    event = next(item for item in broken.events if item.kind == fault.partition(":")[0])
    inside = [
        stride for stride in broken.strides if event.start_s - 0.01 < stride.t_s < event.end_s - 0.5
    ]
    assert {stride.gait for stride in inside} == {"trot"}
    assert len(inside) >= 3
    rows = [(row.from_gait, row.to_gait) for row in broken.transitions if row.movement is None]
    assert (old, "trot") in rows
    assert ("trot", old) in rows
    assert len(broken.transitions) == len(plain.transitions) + 2


def test_tempo_is_quicker_by_so_much_in_that_movement_alone() -> None:
    plain, quick = (truth_of("walk and trot", *f) for f in ((), ("tempo:4:6",)))

    def spm(truth: Truth, number: int) -> float:
        row = next(item for item in truth.movements if item.number == number)
        lasted = [s.duration_s for s in truth.strides if row.start_s < s.t_s < row.end_s - 1.0]
        return float(60.0 / np.median(lasted))

    assert spm(quick, 4) - spm(plain, 4) == pytest.approx(6.0, abs=1.5)
    assert spm(quick, 2) == pytest.approx(spm(plain, 2), abs=1.0)


def length_m(truth: Truth) -> float:
    return float(np.hypot(np.diff(truth.path.x_m), np.diff(truth.path.y_m)).sum())


def test_errors_of_course_are_told() -> None:
    numbers = [row.number for row in truth_of("walk and trot").movements]
    left_out = truth_of("walk and trot", "left-out:2")
    assert [row.number for row in left_out.movements] == [n for n in numbers if n != 2]
    for fault in ("doubled:2", "wrong-rein", "restart:8"):
        truth = truth_of("walk and trot", fault)
        assert [row.number for row in truth.movements] == numbers
        assert truth.course_errors[0].kind == fault.partition(":")[0]
        assert length_m(truth) > length_m(truth_of("walk and trot")) + 20.0
    twice = truth_of("walk and trot", "twice")
    assert [(row.run, row.number) for row in twice.movements] == [
        (run, number) for run in (1, 2) for number in numbers
    ]
    restarted = truth_of("walk and trot", "restart:8")
    rows = {row.number: row for row in restarted.movements}
    assert rows[7].end_s < restarted.course_errors[0].t_s < rows[8].start_s
    doubled = truth_of("walk and trot", "doubled:2").figures
    assert sum(item.movement == 2 for item in doubled) == 2


@pytest.mark.parametrize(
    ("fault", "told"),
    [
        ("egg:1:2", "no circle"),
        ("late:4:2", "no transitions"),
        ("break:4", "no canter"),
        ("left-out:18", "no ride of its own"),
        ("egg:40:2", "1 to 18"),
    ],
)
def test_a_fault_the_sheet_cannot_have_is_refused(fault: str, told: str) -> None:
    with pytest.raises(TanbarkError, match=told):
        truth_of("walk and trot", fault)


def test_the_line_stays_inside_the_boards_whatever_is_planted() -> None:
    """The rider's body cannot be where the boards are (0.2 m is left beside the leg)."""
    wild = replace(CALM, imperfection=1.6)
    for seed in range(4):
        for sheet, half_m in (("first canter", 20.0), ("ten metre", 30.0)):
            path = simulate(layout_of(sheet), seed=seed, scenario=wild).truth.path
            assert np.abs(path.x_m).max() < 9.85
            assert path.y_m.max() < half_m - 0.15
