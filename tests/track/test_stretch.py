"""Points of a path with their joint doubt, against closed forms."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from tests.report.made import MadePosterior, path_through
from track.path import Floats, Ints
from track.shapes import circle_of
from track.stretch import measured, one_by_one, stretch_of

T_S = np.arange(0.0, 40.0, 0.5)
X_M, Y_M = np.cos(T_S / 5) * 9.2, np.sin(T_S / 5) * 9.2


@dataclass(frozen=True)
class Broken:
    """A covariance that rounding has left with a negative eigenvalue."""

    def covariance(self, epochs: Ints) -> Floats:
        full = np.full((2 * epochs.size, 2 * epochs.size), 0.25)
        full[0, 0] -= 1e-6
        return full


def test_points_between_epochs_lie_on_the_circle() -> None:
    stretch = stretch_of(path_through(X_M, Y_M, T_S), 3.1, 21.7)
    assert np.hypot(stretch.x_m, stretch.y_m) == pytest.approx(9.2, abs=1e-3)
    assert (stretch.t_s[0], stretch.t_s[-1]) == pytest.approx((3.1, 21.7))


def test_drift_moves_a_place_and_not_a_size() -> None:
    posterior = MadePosterior(t_s=T_S, drift_m=2.0, own_m=1e-3, memory_s=1e5)
    path = replace(path_through(X_M, Y_M, T_S), posterior=posterior)
    assert circle_of(path, 0.0, 31.4).diameter_m.sd < 0.02
    stretch = stretch_of(path, 0.0, 31.4, edge_sd_s=0.0)
    place = measured(stretch, lambda x_m, _: x_m.mean(axis=1))
    assert place.sd == pytest.approx(2.0, rel=0.2)
    row = np.tile([1.0, 0.0], stretch.t_s.size) / stretch.t_s.size
    assert np.sqrt(stretch.variance(row)) == pytest.approx(2.0, rel=0.01)


def test_the_doubt_of_an_edge_counts_where_it_matters() -> None:
    along = np.arange(0.0, 40.0) * 1.6
    path = path_through(along, np.zeros(40), np.arange(0.0, 20.0, 0.5), drift_m=1e-4, own_m=1e-4)
    stretch = stretch_of(path, 2.0, 12.0, edge_sd_s=0.25)
    # Two ends, each 0.25 s at 3.2 m/s.
    length = measured(stretch, lambda x_m, _: np.ptp(x_m, axis=1))
    assert length.sd == pytest.approx(np.sqrt(2) * 0.8, rel=0.01)
    assert measured(stretch, lambda _, y_m: np.ptp(y_m, axis=1)).sd < 1e-3


def test_a_covariance_that_is_not_quite_positive_is_still_drawn_from() -> None:
    path = replace(path_through(X_M, Y_M, T_S), posterior=Broken())
    assert np.isfinite(stretch_of(path, 0.0, 20.0).drawn()).all()


def test_the_same_ride_gives_the_same_doubt() -> None:
    path = path_through(X_M, Y_M, T_S)
    first, again = (
        measured(stretch_of(path, 0.0, 31.4), one_by_one(lambda x, y: float(np.ptp(x) - np.ptp(y))))
        for _ in range(2)
    )
    assert first == again


def test_too_short_a_stretch_is_refused() -> None:
    with pytest.raises(ValueError, match="only"):
        stretch_of(path_through(X_M, Y_M, T_S), 0.0, 0.6)
