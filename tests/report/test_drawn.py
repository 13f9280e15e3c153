"""Doubt by draws from the joint posterior, against closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from report.circle_measures import diameter_m
from report.drawn import drawn, measured_on, measured_together
from tests.report.made import MadePosterior, path_through
from track.path import Floats, Ints

T_S = np.arange(0.0, 40.0, 0.5)
X_M, Y_M = np.cos(T_S / 5) * 9.2, np.sin(T_S / 5) * 9.2


class Broken:
    """A covariance that rounding has left with a negative eigenvalue."""

    def covariance(self, epochs: Ints) -> Floats:
        full = np.full((2 * epochs.size, 2 * epochs.size), 0.25)
        full[0, 0] -= 1e-6
        return full


def test_drift_moves_a_place_and_not_a_size() -> None:
    path = path_through(X_M, Y_M, T_S)
    posterior = MadePosterior(t_s=T_S, drift_m=2.0, own_m=1e-3, memory_s=1e5)
    stretch = drawn(replace(path, posterior=posterior), 0.0, 31.4)
    assert measured_together(stretch, diameter_m).sd < 0.02
    place = measured_on(stretch, lambda x_m, _: float(x_m.mean()))
    assert place.sd == pytest.approx(2.0, rel=0.35)


def test_own_doubt_of_points_makes_that_of_the_radius() -> None:
    """Independent points round a full circle: u(R) = 0.100 sigma for 100 points (closed form)."""
    t_s = np.arange(0.0, 50.0, 0.5)
    angle = 2 * np.pi * np.arange(100) / 100
    path = path_through(10 * np.cos(angle), 10 * np.sin(angle), t_s, drift_m=1e-6, own_m=0.5)
    size = measured_together(drawn(path, 0.0, 50.0), diameter_m)
    assert size.sd / 2 == pytest.approx(0.05, rel=0.35)


def test_a_covariance_that_is_not_quite_positive_is_still_drawn_from() -> None:
    path = replace(path_through(X_M, Y_M, T_S), posterior=Broken())
    stretch = drawn(path, 0.0, 20.0)
    assert np.isfinite(stretch.x_draws_m).all()


def test_the_same_ride_gives_the_same_doubt() -> None:
    path = path_through(X_M, Y_M, T_S)
    first = measured_together(drawn(path, 0.0, 31.4), diameter_m)
    assert first == measured_together(drawn(path, 0.0, 31.4), diameter_m)


def test_too_short_a_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match="too short"):
        drawn(path_through(X_M, Y_M, T_S), 0.0, 0.6)
