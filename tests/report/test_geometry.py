"""Distances and radii along points, also where a rider stands."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from report.geometry import least_radius_m, onward


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
