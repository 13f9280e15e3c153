from itertools import pairwise

import numpy as np
import pytest

from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from track.lay_out import lay_out
from track.sheet_file import parse_sheet, write_sheet, write_sheet_toml

# Working walk, trot and canter of ridden horses (Clayton 1994-95 [recalled], facts of the trade).
SPEED_MS = {"halt": 1.0, "walk": 1.73, "trot": 3.61, "canter": 3.91}


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_demo_sheets_last_as_long_as_a_test(name: str) -> None:
    layout = lay_out(demo_sheet(name))
    speed = np.array([SPEED_MS[gait] for gait in layout.gait])
    riding_s = float(np.sum(np.diff(layout.s_m) / speed[:-1]))
    assert 4 * 60 < riding_s < 6 * 60  # common practice, no source


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_both_forms_say_the_same(name: str) -> None:
    sheet = demo_sheet(name)
    assert parse_sheet(write_sheet(sheet)) == sheet
    assert parse_sheet(write_sheet_toml(sheet)) == sheet


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_movements_follow_one_another(name: str) -> None:
    layout = lay_out(demo_sheet(name))
    edges = [(line.start_m, line.end_m) for line in layout.movements]
    assert edges[0][0] == 0.0
    assert edges[-1][1] == layout.length_m
    assert all(before[1] == after[0] for before, after in pairwise(edges))


@pytest.mark.parametrize("name", DEMO_SHEETS)
@pytest.mark.parametrize("offset_m", [0.0, 0.3, 0.5, 1.0, 1.3, 1.6])
def test_any_distance_from_the_boards_gives_the_same_changes(name: str, offset_m: float) -> None:
    usual = lay_out(demo_sheet(name))
    other = lay_out(demo_sheet(name), track_offset_m=offset_m)
    for line, expected in zip(other.movements, usual.movements, strict=True):
        for change, asked in zip(line.changes, expected.changes, strict=True):
            assert change.text == asked.text
            share = change.start_m / other.length_m - asked.start_m / usual.length_m
            assert abs(share) < 0.02
