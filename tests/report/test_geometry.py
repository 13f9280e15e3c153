"""Distances and radii along points, also where a rider stands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from report.geometry import least_radius_m, nearest_m, onward


@given(st.lists(st.floats(-0.2, 2.0), min_size=1, max_size=60))
def test_onward_points_always_lead_on(steps_m: list[float]) -> None:
    along = np.cumsum(steps_m)
    kept = along[onward(along)]
    assert kept[0] == along[0]
    assert np.all(np.diff(kept) > 0.05)


def test_a_stand_within_a_turn_leaves_its_radius() -> None:
    """A circle of 5 m ridden at 2 m/s, with a halt that drifts back 0.3 m in its middle."""
    ridden = np.arange(0.0, 12.0)
    stand = np.array([5.9, 5.7, 5.8, 5.95])
    along = np.concatenate([ridden[:7], stand, ridden[7:]])
    kept = onward(along)
    assert abs(least_radius_m(along[kept], along[kept] / 5.0, 2.5) - 5.0) < 1e-6


@given(radius=st.floats(2.5, 15), window=st.floats(1.5, 3.5))
def test_least_radius_of_a_circle(radius: float, window: float) -> None:
    along = np.arange(0.0, 20.0, 1.7)
    assert least_radius_m(along, along / radius, window) == pytest.approx(radius, rel=1e-6)


def test_nearest_distance_to_a_corner() -> None:
    quarter = np.linspace(0, np.pi / 2, 60)
    x_m, y_m = 6 + 3 * np.cos(quarter), 16 + 3 * np.sin(quarter)
    expected = np.hypot(4, 4) - 3
    assert float(nearest_m(x_m, y_m, (10.0, 20.0))) == pytest.approx(expected, abs=1e-3)
