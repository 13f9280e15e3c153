"""Lines of straights and arcs, and the shortest way between two poses."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sample_rides.figures import fit_circle, out_of_round_m, width_m
from sample_rides.geometry import Piece, Pose, advance, arc, connect, trace, ways

POSES = st.builds(Pose, st.floats(-8.0, 8.0), st.floats(-18.0, 18.0), st.floats(-np.pi, np.pi))


def test_a_circle_of_two_halves_closes() -> None:
    start = Pose(3.0, -2.0, 0.7)
    end = trace(start, [arc(180.0, 9.0), arc(180.0, 9.0)]).end
    assert (end.x_m, end.y_m) == pytest.approx((3.0, -2.0))
    assert end.heading_rad - start.heading_rad == pytest.approx(2.0 * np.pi)


def test_pieces_of_no_length_are_passed_over() -> None:
    line = trace(Pose(0.0, 0.0, 0.0), [Piece(0.0), Piece(1.0)])
    assert (np.diff(line.x_m) > 0.0).all()


@given(POSES, POSES, st.floats(2.0, 6.0))
def test_every_way_leads_from_pose_to_pose(start: Pose, end: Pose, radius_m: float) -> None:
    found = 0
    for way in ways(start, end, radius_m):
        pose = start
        for piece in way:
            pose = advance(pose, piece)
        assert np.hypot(pose.x_m - end.x_m, pose.y_m - end.y_m) < 1e-6
        assert np.cos(pose.heading_rad - end.heading_rad) == pytest.approx(1.0, abs=1e-9)
        found += 1
    assert found >= 2


def test_the_shortest_way_ahead_is_straight() -> None:
    line = connect(Pose(0.0, -10.0, np.pi / 2), Pose(0.0, 10.0, np.pi / 2), 9.0, 19.0)
    assert np.abs(line.x_m).max() < 1e-9


def test_a_way_round_stays_inside_the_boards() -> None:
    """Back to where one came from, on a track 0.8 m inside the boards."""
    line = connect(Pose(9.2, 0.0, np.pi / 2), Pose(9.2, 0.0, -np.pi / 2), 9.6, 19.6)
    assert np.abs(line.x_m).max() <= 9.61


@pytest.mark.parametrize(
    ("semi_x_m", "semi_y_m", "radius_m", "ront_m"),
    # Ovals ridden at constant speed, computed for the project's reference figures.
    [(10.0, 9.0, 9.49344, 1.0), (10.0, 12.0, 10.97750, 2.0)],
)
def test_true_circle_and_roundness_of_ovals(
    semi_x_m: float, semi_y_m: float, radius_m: float, ront_m: float
) -> None:
    angle = np.linspace(0.0, 2.0 * np.pi, 20001)
    x_m, y_m = semi_x_m * np.cos(angle), semi_y_m * np.sin(angle)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x_m), np.diff(y_m)))])
    even = np.linspace(0.0, along[-1], 2001)[:-1]
    x_m, y_m = np.interp(even, along, x_m), np.interp(even, along, y_m)
    circle = fit_circle(x_m, y_m)
    assert circle.radius_m == pytest.approx(radius_m, abs=1e-4)
    # RONt holds all waves; those above 4 per revolution, about 1 cm here, are left out.
    assert out_of_round_m(x_m, y_m, circle) == pytest.approx(ront_m, abs=0.015)
    assert width_m(x_m, y_m, 0.0) == pytest.approx(2.0 * semi_y_m, abs=1e-3)


def test_true_circle_of_the_published_example() -> None:
    """Gander, Golub & Strebel, BIT 34 (1994) 558: geometric fit of six points."""
    x_m = np.array([1.0, 2.0, 5.0, 7.0, 9.0, 3.0])
    y_m = np.array([7.0, 6.0, 8.0, 7.0, 5.0, 7.0])
    circle = fit_circle(x_m, y_m)
    assert circle.centre_x_m == pytest.approx(4.7397824, abs=1e-6)
    assert circle.centre_y_m == pytest.approx(2.9835327, abs=1e-6)
    assert circle.radius_m == pytest.approx(4.7142260, abs=1e-6)
