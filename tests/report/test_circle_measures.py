"""Measures of circles and lines against published worked examples and closed forms."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from report.circle_measures import (
    centre_offset_m,
    diameter_m,
    fitted,
    length_minus_width_m,
    out_of_round_m,
    width_m,
)
from report.findings_line import rms_from_line_m
from report.geometry import least_radius_m, nearest_m, straight_through
from report.halves import second_half_m
from tests.report.made import path_through
from track.path import Floats

# Gander, Golub & Strebel, BIT 34 (1994) 558: geometric fit and deviations about it.
GANDER_X: Floats = np.array([1.0, 2.0, 5.0, 7.0, 9.0, 3.0])
GANDER_Y: Floats = np.array([7.0, 6.0, 8.0, 7.0, 5.0, 7.0])
# SciPy Cookbook: a short arc, on which the algebraic fit reads a radius of 20.85.
ARC_X: Floats = np.array([36.0, 36.0, 19.0, 18.0, 33.0, 26.0])
ARC_Y: Floats = np.array([14.0, 10.0, 28.0, 31.0, 18.0, 26.0])


def ellipse(long_m: float, wide_m: float, points: int = 400) -> tuple[Floats, Floats]:
    """Points at even steps of length along an oval, as it is ridden at one speed."""
    t = np.linspace(0, 2 * np.pi, 4000)
    x_m, y_m = wide_m * np.cos(t), long_m * np.sin(t)
    along = np.concatenate([[0], np.cumsum(np.hypot(np.diff(x_m), np.diff(y_m)))])
    even = np.interp(np.linspace(0, along[-1], points, endpoint=False), along, t)
    return (wide_m * np.cos(even))[None, :], (long_m * np.sin(even))[None, :]


def test_published_circle() -> None:
    circle = fitted(GANDER_X[None, :], GANDER_Y[None, :])
    assert circle.x_m[0] == pytest.approx(4.7397824, abs=1e-5)
    assert circle.y_m[0] == pytest.approx(2.9835327, abs=1e-5)
    assert circle.radius_m[0] == pytest.approx(4.7142260, abs=1e-5)
    assert np.ptp(circle.deviation_m[0]) == pytest.approx(1.413003, abs=1e-4)


def test_a_short_arc_is_fitted_by_distance_and_not_by_algebra() -> None:
    assert fitted(ARC_X[None, :], ARC_Y[None, :]).radius_m[0] == pytest.approx(27.3504433, abs=1e-3)


# Ovals ridden at constant speed, closed form (facts of geometry): RONt and R.
@pytest.mark.parametrize(
    ("long_m", "wide_m", "radius_m", "ront_m"), [(10, 9, 9.49344, 1.0), (12, 10, 10.97750, 2.0)]
)
def test_ovals(long_m: float, wide_m: float, radius_m: float, ront_m: float) -> None:
    x_m, y_m = ellipse(long_m, wide_m)
    assert diameter_m(x_m, y_m)[0] == pytest.approx(2 * radius_m, abs=2e-3)
    assert out_of_round_m(x_m, y_m)[0] == pytest.approx(ront_m, abs=0.02)
    assert length_minus_width_m(x_m, y_m)[0] == pytest.approx(2 * (long_m - wide_m), abs=0.01)


@given(turn=st.floats(0, 6.28), dx=st.floats(-50, 50), dy=st.floats(-50, 50), flip=st.booleans())
def test_shape_does_not_move_with_the_frame(turn: float, dx: float, dy: float, flip: bool) -> None:
    x_m, y_m = ellipse(10, 9)
    other_x = np.cos(turn) * x_m - np.sin(turn) * y_m + dx
    other_y = (np.sin(turn) * x_m + np.cos(turn) * y_m) * (-1 if flip else 1) + dy
    assert diameter_m(other_x, other_y)[0] == pytest.approx(diameter_m(x_m, y_m)[0])
    assert out_of_round_m(other_x, other_y)[0] == pytest.approx(1.0, abs=0.02)
    assert centre_offset_m(other_x, other_y, (dx, dy))[0] == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("first_m", "second_m"), [(9.0, 10.0), (9.5, 8.5), (9.2, 9.2)])
def test_the_second_half_against_the_first(first_m: float, second_m: float) -> None:
    """Two half circles of known radii joined smoothly, straights before and after."""
    along = np.arange(0.0, 20 + np.pi * (first_m + second_m), 0.05)
    edges = 10 + np.array([0, np.pi * first_m, np.pi * (first_m + second_m)])
    bend = np.select(
        [along < edges[0], along < edges[1], along < edges[2]], [0, 1 / first_m, 1 / second_m], 0
    )
    heading = np.cumsum(bend) * 0.05
    x_m, y_m = np.cumsum(np.cos(heading)) * 0.05, np.cumsum(np.sin(heading)) * 0.05
    t_s = np.arange(0.0, along[-1] / 3.2, 0.5)
    path = path_through(
        np.interp(t_s * 3.2, along, x_m), np.interp(t_s * 3.2, along, y_m), t_s, own_m=0.01
    )
    half = second_half_m(path, edges[0] / 3.2, edges[2] / 3.2)
    assert half.value == pytest.approx(second_m - first_m, abs=0.15)
    assert half.sd < 0.4


@given(heading=st.floats(-3.1, 3.1))
def test_width_of_a_half_circle_is_its_diameter_whatever_way_it_lies(heading: float) -> None:
    t = np.linspace(0, np.pi, 200)
    u, v = 5 * np.sin(t), 5 - 5 * np.cos(t)
    x_m = (np.cos(heading) * u - np.sin(heading) * v)[None, :]
    y_m = (np.sin(heading) * u + np.cos(heading) * v)[None, :]
    assert width_m(x_m, y_m, heading)[0] == pytest.approx(10.0)


# Pearson, Phil. Mag. 1901: the orthogonal line through ten points; STRq after ISO 12780-1.
def test_published_line() -> None:
    x_m = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
    y_m = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
    line = straight_through(x_m, y_m)
    slope = np.tan(line.heading_rad)
    assert slope == pytest.approx(-0.5455612, abs=1e-6)
    assert line.y_m - slope * line.x_m == pytest.approx(5.7840438, abs=1e-6)
    assert rms_from_line_m(x_m, y_m) == pytest.approx(0.2487112, abs=1e-6)


def test_left_of_travel_is_positive() -> None:
    north = straight_through(np.zeros(5), np.arange(5.0))
    assert north.left_m(np.array([-1.0]), np.array([2.0]))[0] == pytest.approx(1.0)
    south = straight_through(np.zeros(5), np.arange(5.0)[::-1])
    assert south.left_m(np.array([-1.0]), np.array([2.0]))[0] == pytest.approx(-1.0)


@given(radius=st.floats(2.5, 15), window=st.floats(1.5, 3.5))
def test_least_radius_of_a_circle(radius: float, window: float) -> None:
    along = np.arange(0.0, 20.0, 1.7)
    assert least_radius_m(along, along / radius, window) == pytest.approx(radius, rel=1e-6)


def test_nearest_distance_to_a_corner() -> None:
    quarter = np.linspace(0, np.pi / 2, 60)
    x_m, y_m = 6 + 3 * np.cos(quarter), 16 + 3 * np.sin(quarter)
    expected = np.hypot(4, 4) - 3
    assert nearest_m(x_m, y_m, (10.0, 20.0)) == pytest.approx(expected, abs=1e-3)
