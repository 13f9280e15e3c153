"""What must hold for any sheet that can be ridden."""

import math
import random
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from ingest.errors import SheetError
from track.arena import LETTERS, Size
from track.ideal import draw
from track.lay_out import lay_out
from track.layout import Layout
from track.pen import Pen
from track.pen_strokes import RideError
from track.sheet import Movement, Sheet
from track.sheet_file import parse_sheet, write_sheet, write_sheet_toml
from track.terms import parse_ride

MIRROR = dict(zip("KFEBHMVPSR", "FKBEMHPVRS", strict=True))
HALF_TURN = dict(zip("ACKMFHEBDGLIVRPS", "CAMKHFBEGDILRVSP", strict=True))
SIDES = {"left": "right", "right": "left"}


def all_terms(size: Size) -> list[str]:
    edge = [a for a in LETTERS[size] if abs(LETTERS[size][a][0]) == 10]
    terms = [f"turn {side} at {a}" for side in SIDES for a in LETTERS[size]]
    terms += [f"circle {s} {d} at {a}" for s in SIDES for d in (10, 15, 20) for a in "AECBX"]
    terms += [f"half circle {s} 10 from {a} to X" for s in SIDES for a in "EB"]
    terms += [f"half circle {s} 10 from X to {a}" for s in SIDES for a in "EB"]
    terms += [f"half circle {s} 20 from {a} to {b}" for s in SIDES for a, b in ("EB", "BE")]
    terms += [f"return to {a}" for a in edge]
    terms += [f"diagonal {a} {b}" for a in edge for b in edge if a != b]
    terms += [f"serpentine {n} loops from {p} {s}" for n in (3, 4) for p in ("A to C", "C to A")
              for s in SIDES]  # fmt: skip
    terms += [f"loop {d} from {p}" for d in (3, 5) for p in ("K to H", "H to K", "F to M")]
    terms += ["line A X C", "line C X A", "line E X B", "line D X", "line X G"]
    return terms


TERMS = {size: all_terms(size) for size in ("20x40", "20x60")}


@cache
def rideable(size: Size, seed: int) -> Sheet:
    """A sheet of random terms, each one that can follow the terms before."""
    draw_from = random.Random(seed)
    kept = [draw_from.choice(["track A K", "track A F"])]
    for _ in range(30):
        term = draw_from.choice(TERMS[size])
        if len(kept) < 14 and can_be_ridden(one(size, [*kept, term])):
            kept.append(term)
    return one(size, kept)


def can_be_ridden(sheet: Sheet) -> bool:
    try:
        lay_out(sheet)
    except SheetError:
        return False
    return True


def one(size: Size, terms: list[str]) -> Sheet:
    movements = tuple(Movement(number=n, ride=(t,)) for n, t in enumerate(terms, start=1))
    return Sheet(
        title="random", arena=size, enter="trot", level="walk and trot", movements=movements
    )


def swapped(sheet: Sheet, letters: dict[str, str], sides: dict[str, str]) -> Sheet:
    both = letters | sides
    terms = [
        " ".join(both.get(word, word) for word in term.split())
        for movement in sheet.movements
        for term in movement.ride
    ]
    return one(sheet.arena, terms)


sheets = st.builds(rideable, st.sampled_from(["20x40", "20x60"]), st.integers(0, 15))


@settings(max_examples=12, deadline=None)
@given(sheets)
def test_the_line_is_smooth_and_inside_the_boards(sheet: Sheet) -> None:
    layout = lay_out(sheet)
    step = np.diff(layout.s_m)
    moved = np.hypot(np.diff(layout.x_m), np.diff(layout.y_m))
    assert np.all(moved <= step + 1e-9)
    assert np.all(moved >= step * 0.999 - 1e-6)  # an arc of 2 m radius: chord of 0.1 m
    assert np.abs(np.diff(layout.heading_rad)).max() <= 0.1 / 2.0 + 1e-9
    assert np.abs(layout.x_m).max() <= 10 - 0.8 + 1e-6
    assert np.abs(layout.y_m).max() <= (19.2 if sheet.arena == "20x40" else 29.2) + 1e-6
    mean_heading = (layout.heading_rad[1:] + layout.heading_rad[:-1]) / 2
    way = np.arctan2(np.diff(layout.y_m), np.diff(layout.x_m))
    off = (way - mean_heading + math.pi) % (2 * math.pi) - math.pi
    assert np.abs(off[step > 1e-3]).max() < 0.02


@settings(max_examples=12, deadline=None)
@given(sheets)
def test_stretches_and_movements_tile_the_line(sheet: Sheet) -> None:
    layout = lay_out(sheet)
    stretches = [stretch for line in layout.movements for stretch in line.stretches]
    edges = [stretches[0].start_m, *(stretch.end_m for stretch in stretches)]
    assert edges[0] == 0
    assert edges[1:-1] == pytest.approx([stretch.start_m for stretch in stretches[1:]])
    assert edges[-1] == pytest.approx(layout.length_m)
    assert all(stretch.end_m >= stretch.start_m for stretch in stretches)
    assert all(a.end_m == b.start_m for a, b in pairwise(layout.movements))


def assert_same(a: Layout, b: Layout, x_sign: int, y_sign: int) -> None:
    assert a.length_m == pytest.approx(b.length_m)
    assert a.x_m == pytest.approx(x_sign * b.x_m, abs=1e-6)
    assert a.y_m == pytest.approx(y_sign * b.y_m, abs=1e-6)
    sign = x_sign * y_sign
    # At a join the curvature of either piece may be taken, by rounding.
    differ = np.abs(a.curvature_1m - sign * b.curvature_1m) > 1e-6
    assert differ.mean() < 0.01


@settings(max_examples=12, deadline=None)
@given(sheets)
def test_a_mirrored_sheet_is_a_mirrored_line(sheet: Sheet) -> None:
    assert_same(lay_out(swapped(sheet, MIRROR, SIDES)), lay_out(sheet), -1, 1)


@settings(max_examples=12, deadline=None)
@given(sheets)
def test_a_sheet_ridden_from_the_other_end_is_the_same_line(sheet: Sheet) -> None:
    assert_same(lay_out(swapped(sheet, HALF_TURN, {})), lay_out(sheet), -1, -1)


@settings(max_examples=12, deadline=None)
@given(sheets)
def test_both_forms_read_back_unchanged(sheet: Sheet) -> None:
    assert parse_sheet(write_sheet(sheet)) == sheet
    assert parse_sheet(write_sheet_toml(sheet)) == sheet
    assert write_sheet(parse_sheet(write_sheet(sheet))) == write_sheet(sheet)


@settings(max_examples=12, deadline=None)
@given(sheets, st.floats(0.3, 1.2))
def test_figures_shrink_with_the_track_offset(sheet: Sheet, offset_m: float) -> None:
    try:
        layout = lay_out(sheet, track_offset_m=offset_m)
    except SheetError:  # a turn at D or G may have no room left so far inside the boards
        reject()
    assert np.abs(layout.x_m).max() <= 10 - offset_m + 1e-6
    for line in layout.movements:
        for stretch in line.stretches:
            if stretch.kind == "circle" and stretch.radius_m and stretch.nominal_m:
                less = stretch.nominal_m - 2 * stretch.radius_m
                assert round(less / offset_m, 6) in (0.0, 1.0, 2.0)
                circumference = 2 * math.pi * stretch.radius_m
                # A turn at once takes a twelfth of it or, of a small one, up to a sixth; a
                # diagonal gives it half of its joint.
                least = circumference * 5 / 6
                assert least <= stretch.end_m - stretch.start_m <= circumference + 4.0


def test_a_pen_refuses_what_lies_outside() -> None:
    pen = Pen(size="20x40", offset_m=0.8, corner_radius_m=3.0)
    with pytest.raises(RideError):
        draw(pen, parse_ride("circle left 20 at A", "20x40"))
