"""Figures and reins on paths drawn from straights and arcs."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.track.drawn_path import STRAIGHT, Bit, drawn, left, right
from track.figures import find_figures
from track.path import Path
from track.rein import changes_of_rein, rein_of

SPEED = 3.3


def _kinds(path: Path, **options: float) -> list[tuple[str, str]]:
    return [(f.kind, f.rein) for f in find_figures(path, **options)]  # type: ignore[arg-type]


def _lap(corner_m: float) -> list[Bit]:
    """Once round a 20x40, 0.8 m inside the boards, from the middle of a long side."""
    long, short = 38.4 - 2 * corner_m, 18.4 - 2 * corner_m
    side: list[Bit] = [left(90, corner_m), (short, STRAIGHT), left(90, corner_m)]
    return [(long / 2, STRAIGHT), *side, (long, STRAIGHT), *side, (long / 2, STRAIGHT)]


@pytest.mark.parametrize("corner_m", [3.0, 4.0, 5.0])
def test_corners_are_no_half_circles_and_a_lap_is_no_circle(corner_m: float) -> None:
    # corners of 3-5 m radius: facts section 2 [common practice]
    assert _kinds(drawn(_lap(corner_m) * 2)) == []


@pytest.mark.parametrize("nominal_m", [6, 8, 10, 15, 20])
@pytest.mark.parametrize("turn", [left, right])
def test_a_circle_from_a_straight_side(nominal_m: int, turn) -> None:  # type: ignore[no-untyped-def]
    radius = (nominal_m - 0.8) / 2
    path = drawn([(20, STRAIGHT), turn(360, radius), (20, STRAIGHT)])
    (figure,) = find_figures(path)
    assert (figure.kind, figure.rein) == ("circle", "left" if turn is left else "right")
    assert figure.start_s == pytest.approx(20 / SPEED, abs=0.5)
    assert figure.end_s == pytest.approx((20 + 2 * np.pi * radius) / SPEED, abs=0.5)
    assert figure.radius_m.value == pytest.approx(radius, abs=0.35)


def test_repeated_circles_are_one_figure_per_round() -> None:
    path = drawn([(15, STRAIGHT), left(1080, 9.2), (15, STRAIGHT)])
    figures = find_figures(path)
    assert [f.kind for f in figures] == ["circle"] * 3
    rounds = [(f.end_s - f.start_s) * SPEED / (2 * np.pi * 9.2) for f in figures]
    assert rounds == pytest.approx([1.0] * 3, abs=0.05)


def test_a_circle_at_c_keeps_its_corners_out() -> None:
    path = drawn(
        [(20, STRAIGHT), left(90, 4), (5.2, STRAIGHT), left(360, 9.2), (5.2, STRAIGHT),
         left(90, 4), (20, STRAIGHT)]
    )  # fmt: skip
    (figure,) = find_figures(path)
    begin = 20 + np.pi / 2 * 4 + 5.2
    assert figure.kind == "circle"
    assert figure.start_s == pytest.approx(begin / SPEED, abs=0.8)
    assert figure.end_s == pytest.approx((begin + 2 * np.pi * 9.2) / SPEED, abs=0.8)


def test_half_circles_to_x_and_a_serpentine() -> None:
    to_x = drawn([(20, STRAIGHT), left(180, 4.6), right(180, 4.6), (20, STRAIGHT)])
    assert _kinds(to_x) == [("half circle", "left"), ("half circle", "right")]
    # three loops in a 20x40: half circles of radius L/2n, no straight (facts section 2)
    loops = drawn([left(90, 6.67), right(180, 6.67), left(90, 6.67)], heading_deg=0.0)
    assert ("half circle", "right") in _kinds(loops)


def test_an_egg_is_still_a_circle() -> None:
    # 24 m long, 18 m wide: the usual fault at E and B in 20x60 (facts section 2)
    angle = np.linspace(0, 2 * np.pi, 400)
    a, b = 11.2, 8.2
    dx, dy = -a * np.sin(angle), b * np.cos(angle)
    arcs = np.hypot(dx, dy)[:-1] * np.diff(angle)
    curvature = a * b / np.hypot(dx, dy)[:-1] ** 3
    egg = [(float(length), float(1 / k)) for length, k in zip(arcs, curvature, strict=True)]
    path = drawn([(20, STRAIGHT), *egg, (20, STRAIGHT)])
    assert _kinds(path) == [("circle", "left")]


def test_a_circle_along_the_boards_for_five_metres_is_one_circle() -> None:
    path = drawn(
        [(20, STRAIGHT), right(180, 9.2), (4.5, STRAIGHT), right(180, 9.2), (20, STRAIGHT)]
    )
    assert _kinds(path) == [("circle", "right")]


def test_two_half_circles_of_different_size_are_no_circle() -> None:
    path = drawn([(20, STRAIGHT), left(180, 9.2), left(180, 6.0), (20, STRAIGHT)])
    assert _kinds(path) == [("half circle", "left")] * 2


def test_turning_onto_the_centre_line_at_a_short_side_is_no_half_circle() -> None:
    # along the long side at x = 9.2 towards C, corner of 4 m, turn of 4.6 m onto x = 0
    bits = [(20.0, STRAIGHT), left(90, 4.2), (0.6, STRAIGHT), left(90, 4.4), (20.0, STRAIGHT)]
    path = drawn(bits, start_m=(9.2, -5.0))
    assert path.y_m.max() == pytest.approx(19.4, abs=0.5)
    assert _kinds(path, half_length_m=20.0) == []


@given(st.floats(0, 360), st.floats(-30, 30), st.booleans())
def test_where_it_is_ridden_and_mirrored_changes_nothing(
    heading: float, at: float, mirror: bool
) -> None:
    bits: list[Bit] = [
        (15, STRAIGHT),
        left(360, 9.2),
        (12, STRAIGHT),
        left(180, 4.6),
        (10, STRAIGHT),
    ]
    if mirror:
        bits = [(length, -radius) for length, radius in bits]
    figures = find_figures(drawn(bits, start_m=(at, -at), heading_deg=heading))
    rein = "right" if mirror else "left"
    assert [(f.kind, f.rein) for f in figures] == [("circle", rein), ("half circle", rein)]
    assert figures[0].start_s == pytest.approx(15 / SPEED, abs=0.5)


def test_noise_of_a_path_without_gyroscope_does_not_hide_a_circle() -> None:
    path = drawn([(30, STRAIGHT), left(360, 9.2), (30, STRAIGHT)])
    rng = np.random.default_rng(3)
    noisy = replace(path, turn_rads=path.turn_rads + rng.normal(0, 0.05, len(path.t_s)))
    assert ("circle", "left") in _kinds(noisy)


def test_nothing_ridden_is_no_figure() -> None:
    path = drawn([(3, STRAIGHT)])
    still = replace(path, speed_ms=np.zeros_like(path.speed_ms))
    assert find_figures(still) == ()
    assert set(rein_of(still)) == {"straight"}
    assert changes_of_rein(still) == 0


def test_rein_is_the_bend_and_straight_is_straight() -> None:
    path = drawn([(20, STRAIGHT), left(360, 9.2), (20, STRAIGHT), right(90, 4), (20, STRAIGHT)])
    reins = np.array(rein_of(path))
    share = [float(np.mean(reins == word)) for word in ("left", "right")]
    total = 60 + 2 * np.pi * 9.2 + np.pi / 2 * 4
    assert share[0] == pytest.approx(2 * np.pi * 9.2 / total, abs=0.03)
    assert share[1] == pytest.approx(np.pi / 2 * 4 / total, abs=0.03)


def test_wandering_and_a_shallow_loop_are_straight() -> None:
    wander = [left(8, 30), right(16, 30), left(8, 30)]
    assert set(rein_of(drawn([(10, STRAIGHT), *wander, (10, STRAIGHT)]))) == {"straight"}


def test_changes_of_rein_are_counted() -> None:
    assert changes_of_rein(drawn(_lap(4.0))) == 0
    changed = [*_lap(4.0), right(90, 4), (10, STRAIGHT), right(90, 4), (10, STRAIGHT), left(90, 4)]
    assert changes_of_rein(drawn(changed)) == 2
