"""Where changes of gait are laid, by the sheet's own rules."""

import numpy as np
import pytest

from track.lay_out import lay_out
from track.layout import Change, Layout
from track.sheet_file import parse_sheet

HEAD = "arena: 20x40\nenter: trot\n"
START = "1 line A X C, turn left at C\n"


def laid(text: str) -> tuple[Layout, list[Change]]:
    layout = lay_out(parse_sheet(HEAD + text))
    return layout, [change for line in layout.movements for change in line.changes]


def gait_at(layout: Layout, s_m: float) -> str:
    return layout.gait[int(np.searchsorted(layout.s_m, s_m))]


def passing(layout: Layout, letter: str, number: int = 0) -> float:
    return [p.s_m for p in layout.passages if p.letter == letter][number]


def test_a_letter_is_its_first_passing_not_before_the_change_before() -> None:
    layout, (first, second) = laid(
        START + "2 circle left 20 at E, walk at E, trot at K\n3 track K A"
    )
    assert first.start_m == pytest.approx(passing(layout, "E"), abs=0.2)
    assert second.start_m == pytest.approx(passing(layout, "K"), abs=0.2)
    assert (first.from_gait, first.to_gait, second.from_gait) == ("trot", "walk", "walk")


def test_between_takes_effect_in_the_middle_of_its_window() -> None:
    layout, (change,) = laid(START + "2 track H E K, walk between H and E")
    middle = (change.start_m + change.end_m) / 2
    assert gait_at(layout, middle - 1) == "trot"
    assert gait_at(layout, middle + 1) == "walk"
    assert change.end_m - change.start_m == pytest.approx(14.0, abs=0.3)


def test_from_to_is_for_that_stretch_only() -> None:
    layout, (change,) = laid(START + "2 diagonal H X F, walk from H to F\n3 track F A")
    assert gait_at(layout, change.start_m + 3) == "walk"
    assert gait_at(layout, change.end_m + 3) == "trot"


def test_a_change_where_a_stretch_ends_comes_from_its_gait() -> None:
    _, (_, second) = laid(START + "2 diagonal H X F, walk from H to F, trot at F\n3 track F A")
    assert (second.from_gait, second.to_gait) == ("walk", "trot")


def test_between_picks_the_passing_next_to_its_end() -> None:
    layout, (change,) = laid(
        START + "2 track H K A F M\n3 circle left 20 at C, walk between C and H\n4 track H E"
    )
    assert change.end_m - change.start_m < 15.0
    assert change.start_m == pytest.approx(passing(layout, "C", -1), abs=0.3)


def test_parts_of_a_circle_are_shares_of_its_line() -> None:
    layout, (change,) = laid(
        START + "2 circle left 20 at A, canter left in second quarter of circle\n3 track A F"
    )
    circle = next(s for line in layout.movements for s in line.stretches if s.kind == "circle")
    length = circle.end_m - circle.start_m
    assert change.start_m == pytest.approx(circle.start_m + length / 4)
    assert change.end_m == pytest.approx(circle.start_m + length / 2)
    assert change.lead == "left"


def test_the_corner_is_the_next_one() -> None:
    layout, (change,) = laid(START + "2 track C H E K A, canter left at corner")
    corner = layout.corners[0]
    assert corner.start_m < change.start_m < corner.end_m


def test_the_centre_line_is_where_the_figure_crosses_it() -> None:
    layout, (change,) = laid(START + "2 diagonal H X F, walk at centre line\n3 track F A")
    here = int(np.searchsorted(layout.s_m, change.start_m))
    assert abs(layout.x_m[here]) < 0.1
    assert abs(layout.y_m[here]) < 0.1


def test_walk_steps_leave_the_gait_as_it_was() -> None:
    layout, (change,) = laid(START + "2 walk for 3-5 steps at A\n3 track A F B")
    assert (change.from_gait, change.to_gait, change.via) == ("trot", "trot", "walk")
    assert change.via_steps == (3, 5)
    assert gait_at(layout, change.start_m + 2) == "walk"
    assert gait_at(layout, change.start_m + 8) == "trot"


def test_a_change_before_its_movement_s_figure_begins_the_movement() -> None:
    layout, (change,) = laid(
        START + "2 circle left 20 at A, canter left between K and A\n3 track A F"
    )
    second = layout.movements[1]
    assert second.start_m == pytest.approx(change.start_m)
    assert second.start_m == pytest.approx(passing(layout, "K"), abs=0.2)
    assert layout.movements[0].end_m == second.start_m
