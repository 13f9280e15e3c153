"""The published facts of figures, drawn with the rider on the boards (no track offset).

Sources: FEI Dressage Rules, articles 409, 410 (figures) and 429 (arena) [seen, recalled];
closed forms of circles and straights.
"""

import math
from itertools import pairwise

import numpy as np
import pytest

from track.lay_out import lay_out
from track.layout import Layout, Stretch
from track.sheet_file import parse_sheet

LETTERS = {
    # Gaps along the edge from A, clockwise: 120 m and 160 m round (article 429 [recalled]).
    "20x40": ("A K E H C M B F", (16, 14, 14, 16, 16, 14, 14, 16)),
    "20x60": ("A K V E S H C M R B P F", (16, 12, 12, 12, 12, 16, 16, 12, 12, 12, 12, 16)),
}


def ridden(size: str, *terms: str, offset_m: float = 0.0, corner_radius_m: float = 3.0) -> Layout:
    text = f"arena: {size}\nenter: trot\n1 {', '.join(terms)}\n"
    return lay_out(parse_sheet(text), track_offset_m=offset_m, corner_radius_m=corner_radius_m)


def only(layout: Layout) -> Stretch:
    (stretch,) = layout.movements[0].stretches
    return stretch


def touches(layout: Layout, x_m: float, y_m: float) -> bool:
    return bool(np.hypot(layout.x_m - x_m, layout.y_m - y_m).min() < 0.05)


@pytest.mark.parametrize(
    ("size", "term", "points"),
    [
        # A 20 m circle at A or C touches both long sides 10 m from the corner, and X in 20x40.
        ("20x40", "circle left 20 at A", [(0, -20), (10, -10), (0, 0), (-10, -10)]),
        ("20x40", "circle right 20 at C", [(0, 20), (10, 10), (0, 0), (-10, 10)]),
        ("20x60", "circle left 20 at C", [(0, 30), (10, 20), (0, 10), (-10, 20)]),
        ("20x60", "circle right 20 at A", [(0, -30), (10, -20), (0, -10), (-10, -20)]),
        # At E or B it crosses the centre line 10 m either side of X.
        ("20x60", "circle left 20 at E", [(-10, 0), (0, 10), (10, 0), (0, -10)]),
        ("20x40", "circle right 20 at B", [(10, 0), (0, 10), (-10, 0), (0, -10)]),
        # 10 m half circle from B to X: centre (5, 0).
        ("20x60", "half circle left 10 from B to X", [(10, 0), (5, 5), (0, 0)]),
        ("20x60", "half circle right 10 from E to X", [(-10, 0), (-5, 5), (0, 0)]),
        ("20x40", "half circle left 20 from A to X", [(0, -20), (10, -10), (0, 0)]),
    ],
)
def test_touch_points(size: str, term: str, points: list[tuple[float, float]]) -> None:
    layout = ridden(size, term)
    assert all(touches(layout, x, y) for x, y in points)


def test_half_circles_over_x_change_the_bend_there() -> None:
    layout = ridden("20x60", "half circle left 10 from B to X", "half circle right 10 from X to E")
    at_x = int(np.argmin(np.hypot(layout.x_m, layout.y_m)))
    assert math.degrees(layout.heading_rad[at_x]) % 360 == pytest.approx(270, abs=1.5)  # to A
    assert layout.curvature_1m[at_x - 5] == pytest.approx(1 / 5)
    assert layout.curvature_1m[at_x + 5] == pytest.approx(-1 / 5)
    assert layout.length_m == pytest.approx(10 * math.pi)


@pytest.mark.parametrize("nominal", [6, 8, 10, 12, 15, 18, 20])
def test_a_circle_is_as_long_as_its_circumference(nominal: int) -> None:
    layout = ridden("20x60", f"circle left {nominal} at E")
    assert layout.length_m == pytest.approx(math.pi * nominal)
    assert (layout.x_m[-1], layout.y_m[-1]) == pytest.approx((-10, 0))


@pytest.mark.parametrize(
    ("size", "term", "length_m", "angle_deg"),
    [
        # Long diagonal letter to letter: exactly 52 m at 22.620°, 34.409 m at 35.538° (c).
        ("20x60", "diagonal K X M", 52.0, 22.620),
        ("20x60", "diagonal H X F", 52.0, 22.620),
        ("20x40", "diagonal M X K", 34.409, 35.538),
        ("20x40", "diagonal F X H", 34.409, 35.538),
    ],
)
def test_diagonals(size: str, term: str, length_m: float, angle_deg: float) -> None:
    first = term.split()[1]
    before = {"K": "A", "H": "C", "M": "C", "F": "A"}[first]
    layout = ridden(size, f"track {before} {first}", term)
    stretch = layout.movements[0].stretches[-1]
    assert stretch.straight_m is not None
    middle = sum(stretch.straight_m) / 2
    index = int(np.searchsorted(layout.s_m, middle))
    off_side = abs(abs(math.sin(layout.heading_rad[index])) - math.cos(math.radians(angle_deg)))
    assert off_side < 1e-5
    # A joint of radius r and turn a spares 2 r tan(a/2) - r a; half of it lies on the diagonal.
    run = stretch.straight_m[1] - stretch.straight_m[0]
    joint = 5.0 * math.tan(math.radians(angle_deg) / 2)
    assert run + 2 * joint == pytest.approx(length_m, abs=1e-3)
    assert touches(layout, 0, 0)


@pytest.mark.parametrize(
    ("diagonal", "start", "end"),
    [("F X H", "left", "right"), ("H X F", "left", "right"),
     ("K X M", "right", "left"), ("M X K", "right", "left")],
)  # fmt: skip
@pytest.mark.parametrize("size", ["20x40", "20x60"])
def test_diagonals_change_the_rein(size: str, diagonal: str, start: str, end: str) -> None:
    first, _, last = diagonal.split()
    before, after = {"F": "A", "K": "A", "H": "C", "M": "C"}[first], {"H": "C", "M": "C"}.get(last)
    layout = ridden(
        size, f"track {before} {first}", f"diagonal {diagonal}", f"track {last} {after or 'A'}"
    )
    reins = [stretch.rein for stretch in layout.movements[0].stretches]
    assert reins == [start, None, end]


@pytest.mark.parametrize("size", ["20x40", "20x60"])
@pytest.mark.parametrize("rein", ["left", "right"])
def test_letters_come_in_their_order(size: str, rein: str) -> None:
    names, gaps = LETTERS[size]
    order = [*names.split(), "A"]
    steps = list(gaps)
    if rein == "left":
        order, steps = order[::-1], steps[::-1]
    layout = ridden(size, f"track {' '.join(order)}", corner_radius_m=0.001)
    assert [passage.letter for passage in layout.passages] == order
    measured = [b.s_m - a.s_m for a, b in pairwise(layout.passages)]
    assert measured == pytest.approx(steps, abs=0.11)
    assert layout.length_m == pytest.approx(sum(gaps), abs=0.01)
    assert {corner.rein for corner in layout.corners} == {rein}


@pytest.mark.parametrize("size", ["20x40", "20x60"])
def test_a_corner_is_a_quarter_of_a_6_m_volte(size: str) -> None:
    half = 10 if size == "20x40" else 30
    layout = ridden(size, "track A K E H C" if size == "20x40" else "track A K V E S H C")
    straight = 2 * 7 + 2 * (half if half == 30 else 20) - 2 * 3
    assert layout.length_m == pytest.approx(straight + 2 * 3 * math.pi / 2)
    assert np.abs(layout.curvature_1m).max() == pytest.approx(1 / 3)


@pytest.mark.parametrize("size", ["20x40", "20x60"])
@pytest.mark.parametrize("loops", [2, 3, 4, 5, 6])
def test_serpentines(size: str, loops: int) -> None:
    long = 40 if size == "20x40" else 60
    radius = long / 2 / loops
    if radius > 10:
        pytest.skip("wider than the arena: a straight along the long side")
    layout = ridden(size, f"serpentine {loops} loops from A to C left")
    straights = loops * (20 - long / loops)
    assert layout.length_m == pytest.approx(loops * math.pi * radius + straights)
    assert layout.x_m.max() == pytest.approx(10, abs=1e-3)
    assert layout.x_m.min() == pytest.approx(-10, abs=1e-3)
    crossed = np.flatnonzero(np.diff(np.sign(layout.x_m[1:-1])))
    assert len(crossed) == loops - 1
    assert layout.y_m[crossed + 1] == pytest.approx(
        [-long / 2 + long / loops * k for k in range(1, loops)], abs=0.06
    )
    # An odd number of loops ends on the rein it began on.
    end = math.cos(layout.heading_rad[-1])
    assert end == pytest.approx(-1.0 if loops % 2 else 1.0)


def test_three_loops_in_the_long_arena_have_no_straight() -> None:
    layout = ridden("20x60", "serpentine 3 loops from A to C left")
    assert np.abs(layout.curvature_1m[:-1]).min() == pytest.approx(1 / 10)
    assert layout.length_m == pytest.approx(30 * math.pi)


@pytest.mark.parametrize(
    ("terms", "expected"),
    [("line A X C, turn left at C, track C H", "left"),
     ("line A X C, turn right at C, track C M", "right")],
)  # fmt: skip
def test_tracking_left_at_c_leads_to_h(terms: str, expected: str) -> None:
    layout = ridden("20x40", *terms.split(", "))
    assert layout.movements[0].stretches[-1].rein == expected


@pytest.mark.parametrize(("size", "half"), [("20x40", 14), ("20x60", 24)])
def test_single_loop_reaches_its_depth_halfway(size: str, half: int) -> None:
    layout = ridden(size, "track A K", "loop 5 from K to H", "track H C")
    loop = layout.movements[0].stretches[1]
    here = (layout.s_m >= loop.start_m) & (layout.s_m <= loop.end_m)
    assert layout.x_m[here].max() == pytest.approx(-5.0, abs=1e-3)
    assert layout.y_m[here][np.argmax(layout.x_m[here])] == pytest.approx(0, abs=0.06)
    # Three arcs: tan(a/2) = depth / half the length (closed form).
    bend = 2 * math.atan(5 / half)
    radius = half / 2 / math.sin(bend)
    assert loop.end_m - loop.start_m == pytest.approx(4 * radius * bend)


def test_rider_circle_is_one_or_two_offsets_smaller() -> None:
    twenty = only(ridden("20x40", "circle left 20 at E", offset_m=0.8))
    ten = only(ridden("20x40", "circle left 10 at E", offset_m=0.8))
    assert twenty.radius_m == pytest.approx((20 - 2 * 0.8) / 2)
    assert ten.radius_m == pytest.approx((10 - 0.8) / 2)


@pytest.mark.parametrize(
    ("size", "terms", "angle_deg"),
    [
        # Tangent circles, closed form: sin(a) = r / (R - r), r = R / 3 or 2 m, to the same side (c)
        ("20x40", "circle left 20 at E, turn left at E, line E B", 30.0),
        ("20x40", "circle right 20 at B, turn right at B, line B E", 30.0),
        ("20x60", "circle left 10 at V, turn left at V, line V P", 50.285),
        # ... and sin(a) = r / (R + r) to the other.
        ("20x60", "line A X, circle left 10 at X, turn right at X, line X B", 17.640),
    ],
)  # fmt: skip
def test_a_turn_straight_after_a_circle_takes_its_last_part(
    size: str, terms: str, angle_deg: float
) -> None:
    layout = ridden(size, *terms.split(", "), offset_m=0.8)
    kinds = {stretch.kind: stretch for stretch in layout.movements[0].stretches}
    circle, turn, line = kinds["circle"], kinds["turn"], layout.movements[0].stretches[-1]
    assert circle.radius_m is not None and turn.arc_m is not None and line.straight_m is not None
    left = 2 * math.pi - (circle.end_m - circle.start_m) / circle.radius_m
    assert math.degrees(left) == pytest.approx(angle_deg, abs=1e-3)
    step = np.abs(np.diff(layout.heading_rad)).max()
    assert step <= 0.1 / 2.0 + 1e-6  # no kink: never sharper than the turn itself
    assert np.abs(layout.x_m).max() <= 9.2 + 1e-6
    on_line = layout.s_m >= line.straight_m[0]
    level = {"V": -12.0}.get(terms.split()[-2], 0.0)
    assert layout.y_m[on_line] == pytest.approx(np.full(on_line.sum(), level), abs=1e-6)


def test_a_half_circle_is_as_wide_as_the_line_that_can_be_ridden() -> None:
    """From E to B the boards touch on both sides, from A to X on one: 18.4 m and 19.2 m."""
    across = only(ridden("20x40", "half circle left 20 from E to B", offset_m=0.8))
    along = only(ridden("20x40", "half circle left 20 from A to X", offset_m=0.8))
    assert across.width_m == pytest.approx(20 - 2 * 0.8)
    assert along.width_m == pytest.approx(20 - 0.8)
    assert along.radius_m == across.radius_m == pytest.approx((20 - 2 * 0.8) / 2)
