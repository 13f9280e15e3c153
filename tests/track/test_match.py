from dataclasses import replace

import numpy as np
import pytest

from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from tests.track.invented_ride import Invented, ride
from track.lay_out import lay_out
from track.layout import Layout, Stretch
from track.match import Match, match, other_end_log_odds
from track.match_states import on_epochs

LAYOUTS = {name: lay_out(demo_sheet(name)) for name in DEMO_SHEETS}
LAP = [(0, -19), (9, -19), (9, 19), (-9, 19), (-9, -19), (0, -19)]


def matched(invented: Invented, layout: Layout, **spare: object) -> Match:
    path = invented.path
    return match(path, layout, gait_t_s=path.t_s, gait_names=invented.gaits)


def whole(layout: Layout) -> tuple[float, float]:
    return (0.0, layout.length_m)


def circle(layout: Layout, number: int = 0) -> tuple[int, Stretch]:
    found = [
        (line.number, stretch)
        for line in layout.movements
        for stretch in line.stretches
        if stretch.kind == "circle"
    ]
    return found[number]


@pytest.mark.parametrize("name", DEMO_SHEETS)
@pytest.mark.parametrize("seed", [1, 2])
def test_every_movement_is_found_at_its_time(name: str, seed: int) -> None:
    layout = LAYOUTS[name]
    invented = ride(layout, [whole(layout)], seed=seed)
    result = matched(invented, layout)
    assert all(movement.found for movement in result.movements)
    assert not result.course_errors
    assert len(result.runs) == 1
    lines = {line.number: line for line in layout.movements}
    for movement in result.movements[1:-1]:
        assert movement.start_s is not None and movement.start_sd_s is not None
        truth = invented.time_at(lines[movement.number].start_m)
        assert movement.start_s == pytest.approx(truth, abs=1.5)
        assert movement.start_sd_s > 0


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_movements_follow_one_another(name: str) -> None:
    layout = LAYOUTS[name]
    result = matched(ride(layout, [whole(layout)], seed=3), layout)
    ends = [movement.end_s for movement in result.movements]
    starts = [movement.start_s for movement in result.movements]
    assert starts[1:] == pytest.approx(ends[:-1])
    inside = result.s_m[np.isfinite(result.s_m)]
    assert np.all(np.diff(inside) >= 0)


@pytest.mark.parametrize("name", DEMO_SHEETS)
@pytest.mark.parametrize("number", [0, 2])
def test_a_circle_left_out_is_told_with_its_place(name: str, number: int) -> None:
    layout = LAYOUTS[name]
    movement, stretch = circle(layout, number)
    pieces = [(0.0, stretch.start_m), (stretch.end_m, layout.length_m)]
    invented = ride(layout, pieces, seed=4)
    (error,) = matched(invented, layout).course_errors
    assert (error.kind, error.movement) == ("left out", movement)
    assert stretch.text in error.text
    assert error.t_s == pytest.approx(invented.time_at(stretch.start_m), abs=3.0)
    start = np.argmin(np.abs(layout.s_m - stretch.start_m))
    away = np.hypot(error.x_m - layout.x_m[start], error.y_m - layout.y_m[start])
    assert away < 6.0


@pytest.mark.parametrize("name", DEMO_SHEETS)
@pytest.mark.parametrize("number", [0, 2])
def test_a_circle_ridden_twice_is_told(name: str, number: int) -> None:
    layout = LAYOUTS[name]
    movement, stretch = circle(layout, number)
    pieces = [(0.0, stretch.end_m), (stretch.start_m, layout.length_m)]
    invented = ride(layout, pieces, seed=5)
    result = matched(invented, layout)
    (error,) = result.course_errors
    assert (error.kind, error.movement) == ("ridden again", movement)
    assert all(row.found for row in result.movements)


def test_turning_the_wrong_way_and_coming_back_is_told() -> None:
    layout = LAYOUTS["walk and trot"]  # turn right at C is asked
    turn = layout.movements[0].stretches[1]
    wrong = [
        (0, 14),
        (-1, 18),
        (-5, 19.2),
        (-9.2, 15),
        (-9.2, 10),
        (-7, 6),
        (-3, 5),
        (0, 8),
        (0, 14),
    ]
    pieces = [(0.0, turn.start_m), (turn.start_m, layout.length_m)]
    (error,) = matched(ride(layout, pieces, between=[wrong], seed=6), layout).course_errors
    assert (error.kind, error.movement) == ("wrong rein", 1)
    assert "turn right at C" in error.text


def test_movements_ridden_in_the_wrong_order_are_told() -> None:
    layout = LAYOUTS["walk and trot"]
    at = {line.number: line for line in layout.movements}
    # Circle at C of movement 10 before the trot of movement 4's circle is ridden: 4 and 10 swap.
    first, second = circle(layout, 1), circle(layout, 2)
    assert at[first[0]].number < at[second[0]].number
    pieces = [
        (0.0, first[1].start_m),
        (second[1].start_m, second[1].end_m),
        (first[1].end_m, second[1].start_m),
        (first[1].start_m, first[1].end_m),
        (second[1].end_m, layout.length_m),
    ]
    result = matched(ride(layout, pieces, seed=7), layout)
    assert "out of order" in {error.kind for error in result.course_errors}


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_a_test_ridden_twice_makes_two_runs(name: str) -> None:
    layout = LAYOUTS[name]
    half = 20 if layout.sheet.arena == "20x40" else 30
    back = [(0, half - 6), (-9, half - 6), (-9, -half - 3), (0, -half - 6), (0, -half)]
    invented = ride(layout, [whole(layout), whole(layout)], between=[back], seed=8)
    result = matched(invented, layout)
    assert [run.whole for run in result.runs] == [True, True]
    assert not result.course_errors
    assert {(m.run, m.found) for m in result.movements} == {(1, True), (2, True)}
    second = next(m for m in result.movements if m.run == 2 and m.number == 2)
    truth = invented.time_at(layout.movements[1].start_m, piece=1)
    assert second.start_s == pytest.approx(truth, abs=1.5)


def test_a_test_given_up_and_begun_again_makes_two_runs() -> None:
    layout = LAYOUTS["first canter"]
    stop = layout.movements[6].end_m
    back = [(-9, 0), (-9, -17), (-4, -24), (0, -26), (0, -20)]
    pieces = [(0.0, stop), whole(layout)]
    result = matched(ride(layout, pieces, between=[back], seed=9), layout)
    assert [run.whole for run in result.runs] == [False, True]
    first = [m for m in result.movements if m.run == 1]
    assert [m.found for m in first] == [m.number <= 7 for m in first]
    assert all(m.because for m in first if not m.found)


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_riding_before_and_after_stays_outside(name: str) -> None:
    layout = LAYOUTS[name]
    half = 20 if layout.sheet.arena == "20x40" else 30
    lap = [(x, y * half / 20) for x, y in LAP]
    before = [*lap, *lap, *lap, (3, -half - 4), (0, -half - 8), (0, -half)]
    invented = ride(layout, [whole(layout)], before=before, after=[(0, half - 6), *lap], seed=10)
    result = matched(invented, layout)
    assert len(result.runs) == 1
    assert not result.course_errors
    assert result.runs[0].start_s == pytest.approx(invented.time_at(0.0), abs=4.0)
    assert result.movements[-1].end_s == pytest.approx(invented.time_at(layout.length_m), abs=6.0)


def test_riding_that_is_no_test_is_no_run() -> None:
    layout = LAYOUTS["walk and trot"]
    round_20 = [(9 * np.cos(a), 9 * np.sin(a) - 10) for a in np.linspace(0, 8 * np.pi, 200)]
    invented = ride(layout, [], before=[*LAP, *round_20, *LAP], seed=11)
    result = matched(invented, layout)
    assert result.runs == ()
    assert result.movements == ()
    assert np.isnan(result.s_m).all()


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_which_end_is_a(name: str) -> None:
    layout = LAYOUTS[name]
    path = ride(layout, [whole(layout)], seed=12).path
    assert other_end_log_odds(path, layout) > 10


def test_the_clock_does_not_matter() -> None:
    layout = LAYOUTS["ten metre"]
    invented = ride(layout, [whole(layout)], seed=13)
    moved = replace(invented.path, t_s=invented.path.t_s + 1000.0)
    a = match(invented.path, layout)
    b = match(moved, layout)
    for one, two in zip(a.movements, b.movements, strict=True):
        assert one.found and two.found
        assert two.start_s == pytest.approx((one.start_s or 0.0) + 1000.0, abs=1e-6)


def test_time_at_is_when_the_place_was_passed() -> None:
    layout = LAYOUTS["walk and trot"]
    invented = ride(layout, [whole(layout)], seed=14)
    result = matched(invented, layout)
    for s in np.arange(30.0, layout.length_m - 40.0, 37.0).tolist():
        t = result.time_at(s)
        assert t is not None
        assert t == pytest.approx(invented.time_at(s), abs=1.5)
    assert result.time_at(100.0, run=2) is None


def test_without_gaits_the_line_alone_finds_the_movements() -> None:
    layout = LAYOUTS["first canter"]
    invented = ride(layout, [whole(layout)], seed=15)
    assert set(on_epochs(invented.path, np.zeros(0), ()).gait) == {"unknown"}
    assert all(movement.found for movement in match(invented.path, layout).movements)


@pytest.mark.parametrize(("ridden", "asked"), [(0, 1), (1, 0)])
def test_another_sheet_is_not_found(ridden: int, asked: int) -> None:
    names = DEMO_SHEETS[ridden], DEMO_SHEETS[asked]
    invented = ride(LAYOUTS[names[0]], [whole(LAYOUTS[names[0]])], seed=16)
    assert matched(invented, LAYOUTS[names[1]]).movements == ()


def stretch_of(layout: Layout, number: int, kind: str) -> Stretch:
    line = next(line for line in layout.movements if line.number == number)
    return next(stretch for stretch in line.stretches if stretch.kind == kind)


def test_a_diagonal_forgotten_and_reached_again_after_a_lap_is_one_error() -> None:
    layout = LAYOUTS["walk and trot"]
    left = stretch_of(layout, 15, "diagonal").start_m
    lap = [(-9.2, 14), (-9.2, -16), (-6, -19.2), (6, -19.2), (9.2, -16), (9.2, 16), (6, 19.2),
           (-6, 19.2), (-9.2, 16), (-9.2, 14)]  # fmt: skip
    pieces = [(0.0, left), (left, layout.length_m)]
    result = matched(ride(layout, pieces, between=[lap], seed=17), layout)
    (error,) = result.course_errors
    assert error.kind in ("ridden again", "off the course")
    assert all(movement.found for movement in result.movements)
    assert [run.whole for run in result.runs] == [True]


def test_a_loop_of_a_serpentine_left_out_is_told() -> None:
    layout = LAYOUTS["walk and trot"]
    serpentine = stretch_of(layout, 8, "serpentine")
    third = serpentine.start_m + (serpentine.end_m - serpentine.start_m) / 3
    pieces = [(0.0, third), (serpentine.end_m, layout.length_m)]
    way = [(0.0, 6.4), (0.0, -12.0), (3.0, -18.0), (5.0, -19.2)]
    (error,) = matched(ride(layout, pieces, between=[way], seed=18), layout).course_errors
    assert (error.kind, error.movement) == ("left out", 8)


def test_a_recording_that_begins_late_misses_only_what_it_missed() -> None:
    layout = LAYOUTS["walk and trot"]
    start = layout.movements[2].start_m
    result = matched(ride(layout, [(start, layout.length_m)], seed=19), layout)
    assert [m.number for m in result.movements if not m.found] == [1, 2]
    assert not result.course_errors


def test_why_a_movement_was_not_found_is_said_with_it() -> None:
    layout = LAYOUTS["ten metre"]
    number, stretch = circle(layout, 0)
    pieces = [(0.0, stretch.start_m), (layout.movements[number].start_m, layout.length_m)]
    result = matched(ride(layout, pieces, seed=20), layout)
    missing = [m for m in result.movements if not m.found]
    assert all(movement.because for movement in missing)
