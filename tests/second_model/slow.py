"""Slow random change: a smooth curve through random knots, unit variance."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import CubicSpline

from tests.second_model.truth import Floats


def slow_noise(rng: np.random.Generator, at: Floats, scale: float, tails: float = 6.0) -> Floats:
    """Values at ``at`` (evenly spaced), changing over about ``scale``; Student's t at the knots."""
    knots = np.arange(at[0], at[-1] + 3 * scale, scale)
    curve = CubicSpline(knots, rng.standard_t(tails, len(knots)))(at)
    return np.asarray(curve / max(float(curve.std()), 1e-9))
