"""Call sheet and setting-out, against sums that can be done by hand."""

import math

import pytest

from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from track.arena import SIZES, Size
from track.floorplan import Speeds, call_sheet
from track.lay_out import lay_out
from track.setting_out import place_text, setting_out, tape_check
from track.sheet_file import parse_sheet

SHORT = "arena: 20x40\nenter: trot\n"
EVEN = Speeds(walk_ms=2.0, trot_ms=4.0, canter_ms=5.0)


def test_times_are_metres_over_speed_with_the_halt_counted() -> None:
    layout = lay_out(parse_sheet(SHORT + "1 line A X C, halt at X for 4 s, walk at X"))
    calls = call_sheet(layout, EVEN)
    # 20 m in trot at 4 m/s, 4 s standing, 19.2 m in walk at 2 m/s.
    assert calls.total_s == pytest.approx(20 / 4 + 4 + 19.2 / 2, abs=0.1)
    assert [round(c.t_s, 1) for c in calls.commands] == pytest.approx([0.0, 5.0, 9.0], abs=0.1)


def test_a_circle_takes_its_circumference() -> None:
    layout = lay_out(parse_sheet(SHORT + "1 track A K E\n2 circle right 20 at E\n3 track E H"))
    calls = call_sheet(layout, EVEN)
    times = {number: end - start for number, start, end in calls.starts_s}
    assert times[2] == pytest.approx(math.pi * 18.4 / 4, abs=0.1)


def test_busy_spots_are_six_seconds_apart_at_most() -> None:
    text = SHORT + "1 line A X C, turn left at C\n2 turn left at E\n3 turn right at B\n4 track B F"
    layout = lay_out(parse_sheet(text))
    calls = call_sheet(layout)  # 18.4 m across at 3.61 m/s: about 5 s
    assert [(a.movement, b.movement) for a, b in calls.busy] == [(2, 3)]
    slow = call_sheet(layout, Speeds(trot_ms=2.0))
    assert not slow.busy


def test_a_halt_with_its_own_move_off_is_not_busy() -> None:
    layout = lay_out(parse_sheet(SHORT + "1 line A X, halt at X for 3 s, trot at X\n2 line X C"))
    assert all(c.text != "halt at X for 3 s" for c, _ in call_sheet(layout).busy)


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_commands_come_in_riding_order(name: str) -> None:
    layout = lay_out(demo_sheet(name))
    calls = call_sheet(layout)
    times = [command.t_s for command in calls.commands]
    assert times == sorted(times)
    assert times[0] == 0.0
    assert 4 * 60 < calls.total_s < 6 * 60  # common practice, no source
    gaps = [c.to_next_s for c in calls.commands[:-1] if c.to_next_s is not None]
    assert sum(gaps) == pytest.approx(times[-1] - times[0])


@pytest.mark.parametrize(
    ("size", "point", "text"),
    [
        # A 20 m circle at A or C touches the long side 10 m from the corner: FEI 409 [seen].
        ("20x40", (10.0, 10.0), "4 m from M towards B"),
        ("20x60", (-10.0, 20.0), "4 m from H towards S"),
        ("20x60", (0.0, 10.0), "2 m from I towards X"),
        ("20x40", (0.0, -10.0), "4 m from D towards X"),
        ("20x40", (10.0, 0.0), "B"),
        ("20x40", (-5.0, 20.0), "5 m from C towards the corner"),
        ("20x40", (5.0, 0.0), "5 m from X towards the B side"),
    ],
)
def test_places_are_told_from_the_nearest_letter(
    size: Size, point: tuple[float, float], text: str
) -> None:
    assert place_text(size, *point) == text


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_every_figure_is_set_out_once_and_board_to_board(name: str) -> None:
    items = setting_out(demo_sheet(name))
    figures = [item.figure for item in items]
    assert len(figures) == len(set(figures))
    for item in items:
        if item.figure.startswith("circle"):
            (x0, y0), _, (x2, y2), _ = [(t.x_m, t.y_m) for t in item.touches]
            nominal = float(item.figure.split()[2])
            assert math.hypot(x2 - x0, y2 - y0) == pytest.approx(nominal, abs=1e-3)


@pytest.mark.parametrize("size", SIZES)
def test_tape_check(size: Size) -> None:
    # 63.25 m; 44.72 m corner to corner, 52 m and 34.41 m between letters (c).
    expected = {"20x60": (63.25, 52.0), "20x40": (44.72, 34.41)}[size]
    lengths = [tape.length_m for tape in tape_check(size)]
    assert lengths[:2] == pytest.approx(expected, abs=0.005)
