"""Circles, half circles and lines against published examples, and their claimed doubt."""

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from track.path import Floats, Ints, Path
from track.shapes import circle_of, half_circle_of, width_of
from track.shapes_fit import fit_circle, fit_line
from track.shapes_line import line_of, line_offset_of
from track.stretch import stretch_of


@dataclass(frozen=True)
class Fixed:
    """A posterior with one covariance for all epochs."""

    matrix: Floats

    def covariance(self, epochs: Ints) -> Floats:
        at = np.stack([2 * epochs, 2 * epochs + 1], axis=1).ravel()
        part: Floats = self.matrix[np.ix_(at, at)]
        return part


def path_of(x: Floats, y: Floats, matrix: Floats | None = None) -> Path:
    n = len(x)
    nought: Floats = np.zeros(n)
    heading = np.unwrap(np.arctan2(np.gradient(y), np.gradient(x)))
    return Path(
        t_s=np.arange(n, dtype=np.float64) * 0.5, x_m=x, y_m=y, sd_x_m=nought, sd_y_m=nought,
        speed_ms=np.hypot(np.gradient(x), np.gradient(y)) / 0.5, speed_sd_ms=nought,
        heading_rad=heading, heading_sd_rad=nought, turn_rads=np.gradient(heading) / 0.5,
        posterior=Fixed(np.zeros((2 * n, 2 * n)) if matrix is None else matrix), frame="arena",
    )  # fmt: skip


# Gander, Golub and Strebel, BIT 34 (1994) 558.
GANDER = np.array([[1, 7], [2, 6], [5, 8], [7, 7], [9, 5], [3, 7]], dtype=float)
# SciPy Cookbook, least squares circle: an arc and a full turn.
ARC = np.array([[36, 14], [36, 10], [19, 28], [18, 31], [33, 18], [26, 26]], dtype=float)
FULL = np.array([[9, 34], [35, 10], [-13, 6], [10, -14], [23, 27], [0, -10]], dtype=float)


@pytest.mark.parametrize(
    ("points", "centre", "radius"),
    [
        (GANDER, (4.7397824, 2.9835327), 4.7142260),
        (ARC, (9.8875664, 3.6874972), 27.3504433),
        (FULL, (10.5000863, 9.6599495), 23.3335276),
    ],
)
def test_geometric_circles_of_the_literature(
    points: Floats, centre: tuple[float, float], radius: float
) -> None:
    fit = fit_circle(points[:, 0], points[:, 1])
    assert (fit.x_m, fit.y_m) == pytest.approx(centre, abs=2e-6)
    assert fit.radius_m == pytest.approx(radius, abs=2e-6)


def test_deviations_of_gander_golub_strebel() -> None:
    fit = fit_circle(GANDER[:, 0], GANDER[:, 1])
    assert fit.sum_of_squares_m2 == pytest.approx(1.2275991, abs=1e-6)
    # RONp, RONv, RONt and RONq about the LSCI, recomputed.
    assert fit.deviation_m.max() == pytest.approx(0.773759, abs=1e-5)
    assert -fit.deviation_m.min() == pytest.approx(0.639244, abs=1e-5)
    assert np.sqrt(np.mean(fit.deviation_m**2)) == pytest.approx(0.452327, abs=1e-5)


def test_pearsons_line_of_1901() -> None:
    x = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
    y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
    fit = fit_line(x, y)
    slope = np.tan(fit.direction_rad)
    assert slope == pytest.approx(-0.5455612, abs=1e-6)
    assert fit.y_m - slope * fit.x_m == pytest.approx(5.7840438, abs=1e-6)
    assert np.sqrt(np.mean(fit.deviation_m**2)) == pytest.approx(0.2487112, abs=1e-6)


@pytest.mark.parametrize(
    ("half_x", "half_y", "radius", "ront"),
    [(10.0, 9.0, 9.49344, 1.0), (10.0, 12.0, 10.97750, 2.0)],
)
def test_ovals_at_constant_speed(half_x: float, half_y: float, radius: float, ront: float) -> None:
    # Ovals ridden at constant speed, recomputed: equal steps of arc length.
    fine = np.linspace(0, 2 * np.pi, 20001)
    x, y = half_x * np.cos(fine), half_y * np.sin(fine)
    s = np.concatenate([[0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    at = np.linspace(0, s[-1], 121)
    shape = circle_of(path_of(np.interp(at, s, x), np.interp(at, s, y)), 0.0, 60.0)
    assert shape.diameter_m.value == pytest.approx(2 * radius, abs=4e-3)
    assert shape.out_of_round_m.value == pytest.approx(ront, abs=0.02)
    assert shape.length_minus_width_m.value == pytest.approx(2 * (half_y - half_x), abs=0.03)


def test_the_doubt_of_a_diameter_is_that_of_the_joint_covariance() -> None:
    phi = np.linspace(0, 2 * np.pi, 100, endpoint=False)
    x, y = 9 * np.cos(phi), 9 * np.sin(phi)
    # 100 independent points: u(R) = 0.100 σ for a full circle (recomputed).
    free = circle_of(path_of(x, y, np.eye(200)), 0.0, 60.0)
    assert free.diameter_m.sd == pytest.approx(2 * 0.100, rel=0.01)
    # An error that all points share moves the centre and nothing else.
    together = np.kron(np.ones((100, 100)), np.eye(2)).astype(np.float64)
    shared = circle_of(path_of(x, y, together), 0.0, 60.0)
    assert shared.diameter_m.sd == pytest.approx(0.0, abs=1e-5)
    assert shared.centre_x_m.sd == pytest.approx(1.0, rel=1e-6)


@given(st.floats(-3, 3), st.floats(-50, 50), st.booleans())
def test_turning_shifting_and_mirroring_leave_the_shape(
    turn: float, shift: float, mirror: bool
) -> None:
    phi = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = 9 + 0.4 * np.cos(2 * phi) + 0.2 * np.sin(3 * phi)
    x, y = radius * np.cos(phi), radius * np.sin(phi) * (-1 if mirror else 1)
    plain = circle_of(path_of(radius * np.cos(phi), radius * np.sin(phi)), 0.0, 31.0)
    moved = circle_of(
        path_of(np.cos(turn) * x - np.sin(turn) * y + shift, np.sin(turn) * x + np.cos(turn) * y),
        0.0,
        31.0,
    )
    assert moved.diameter_m.value == pytest.approx(plain.diameter_m.value, abs=1e-6)
    assert moved.out_of_round_m.value == pytest.approx(plain.out_of_round_m.value, abs=0.01)
    assert moved.second_half_m.value == pytest.approx(plain.second_half_m.value, abs=1e-6)


def smooth_doubt(n: int, sd_m: float) -> Floats:
    """Covariance of points whose errors fade over six epochs, x and y apart."""
    apart = np.arange(n)[:, None] - np.arange(n)[None, :]
    block = sd_m**2 * (np.exp(-((apart / 6.0) ** 2)) + 1e-6 * np.eye(n))
    return np.asarray(np.kron(block, np.eye(2)), dtype=np.float64)


def test_the_intervals_hold_what_the_circle_may_have_been() -> None:
    # The path is the likeliest line: what was truly ridden lies about it by its covariance.
    rng = np.random.default_rng(3)
    phi = np.linspace(0, 2 * np.pi, 37)
    doubt = smooth_doubt(37, 0.25)
    root = np.linalg.cholesky(doubt)
    held: dict[str, list[bool]] = {}
    for _ in range(200):
        radius = 9 + 0.6 * np.cos(2 * phi + rng.uniform(0, np.pi)) + 0.2 * np.cos(3 * phi)
        x, y = radius * np.cos(phi), radius * np.sin(phi)
        off = root @ rng.normal(size=74)
        seen = circle_of(path_of(x, y, doubt), 0.0, 18.0)
        true = circle_of(path_of(x + off[::2], y + off[1::2]), 0.0, 18.0)
        for name in ("diameter_m", "out_of_round_m", "length_minus_width_m", "second_half_m"):
            mine, truth = getattr(seen, name), getattr(true, name).value
            held.setdefault(name, []).append(abs(mine.value - truth) <= 1.96 * mine.sd)
    for name, each in held.items():
        # Of 200 independent ones 95 % hold, 90-99 % at the binomial 99.8 % level.
        assert 0.90 <= np.mean(each) <= 0.99, name


def test_width_of_a_half_circle_and_its_radius_on_little_evidence() -> None:
    phi = np.linspace(-np.pi, np.pi, 17)
    x, y = 4.6 * np.cos(phi), 4.6 * np.sin(phi)
    half = half_circle_of(path_of(x, y, np.eye(34) * 0.04), 2.0, 6.0, radius_m=4.6)
    assert half.width_m.value == pytest.approx(9.2, abs=0.02)
    assert half.width_m.sd == pytest.approx(0.2 * np.sqrt(2), rel=0.05)
    assert half.diameter_m.value == pytest.approx(9.2, abs=0.05)


def test_a_line_wanders_as_much_as_it_does_and_no_more() -> None:
    along = np.arange(0, 40, 1.75)
    sway = 0.3 * np.sin(along / 3)
    shape = line_of(path_of(along, sway), 0.0, 60.0)
    assert shape.wander_m.value == pytest.approx(0.3 / np.sqrt(2), abs=0.03)
    assert shape.direction_rad.value == pytest.approx(0.0, abs=0.02)
    swing = np.arctan(0.1 * np.cos(np.linspace(0, 40 / 3, 400)))
    assert shape.heading_wobble_rad.value == pytest.approx(float(swing.std()), abs=0.006)
    known = line_of(path_of(along, sway, smooth_doubt(len(along), 0.1)), 0.0, 60.0)
    assert known.wander_m.value == shape.wander_m.value
    assert 0.01 < known.wander_m.sd < 0.1


def test_offset_from_an_ideal_line_is_left_positive() -> None:
    along = np.arange(0, 20, 1.75)
    path = path_of(np.full(len(along), -0.5), along)
    assert line_offset_of(path, 0.0, 20.0, (0.0, 0.0), np.pi / 2).value == pytest.approx(0.5)


@pytest.mark.parametrize(("first_m", "second_m"), [(9.0, 10.0), (9.5, 8.5), (9.2, 9.2)])
def test_the_second_half_against_the_first(first_m: float, second_m: float) -> None:
    """Two half circles of known radii, joined smoothly, ridden on at either end."""
    half_m, length = np.pi * first_m, np.pi * (first_m + second_m)
    along = np.linspace(-5.0, length + 5.0, 4000)
    bend = np.where(along < half_m, 1 / first_m, 1 / second_m)
    step = (length + 10.0) / 3999
    heading = np.cumsum(bend) * step
    x, y = np.cumsum(np.cos(heading)) * step, np.cumsum(np.sin(heading)) * step
    at = np.arange(-4.5, length + 4.5, 1.5)
    path = path_of(np.interp(at, along, x), np.interp(at, along, y))
    half = circle_of(path, 1.5, 1.5 + length / 3.0).second_half_m
    assert half.value == pytest.approx(second_m - first_m, abs=0.1)


@given(heading=st.floats(-3.1, 3.1))
def test_width_of_a_half_circle_whatever_way_it_lies(heading: float) -> None:
    t = np.linspace(0, np.pi, 25)
    u, v = 5 * np.sin(t), 5 - 5 * np.cos(t)
    x, y = np.cos(heading) * u - np.sin(heading) * v, np.sin(heading) * u + np.cos(heading) * v
    stretch = stretch_of(path_of(x, y), 0.0, 12.0)
    assert width_of(stretch, heading).value == pytest.approx(10.0, abs=0.01)


def test_too_little_to_fit_is_said() -> None:
    with pytest.raises(ValueError, match="only"):
        circle_of(path_of(np.arange(5.0), np.arange(5.0) ** 2), 0.0, 0.7)
    with pytest.raises(ValueError, match="line"):
        fit_circle(np.arange(5.0), np.arange(5.0))
