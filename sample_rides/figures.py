"""Measures of a true line: circle, roundness, extents, as the findings define them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.optimize import least_squares

from track.path import Floats

WAVES: Final = 4
"""Out of round counts waves of 1 to 4 undulations per revolution."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueCircle:
    """Geometric least-squares circle of a line (LSCI), metres."""

    centre_x_m: float
    centre_y_m: float
    radius_m: float


def fit_circle(x_m: Floats, y_m: Floats) -> TrueCircle:
    """Circle with the least sum of squared radial deviations.

    Examples
    --------
    >>> import numpy as np
    >>> angle = np.linspace(0.0, 2.0 * np.pi, 50)
    >>> round(fit_circle(3.0 + 5.0 * np.cos(angle), 5.0 * np.sin(angle)).radius_m, 6)
    5.0
    """
    start = [x_m.mean(), y_m.mean(), np.hypot(x_m - x_m.mean(), y_m - y_m.mean()).mean()]

    def deviation(circle: Floats) -> Floats:
        return np.asarray(np.hypot(x_m - circle[0], y_m - circle[1]) - circle[2])

    found = least_squares(deviation, start, method="lm", xtol=1e-12, ftol=1e-12)
    centre_x_m, centre_y_m, radius_m = found.x.tolist()
    return TrueCircle(centre_x_m=centre_x_m, centre_y_m=centre_y_m, radius_m=radius_m)


def out_of_round_m(x_m: Floats, y_m: Floats, circle: TrueCircle) -> float:
    """Peak to valley of the radial deviation in waves of 1 to 4 per revolution (RONt)."""
    angle = np.arctan2(y_m - circle.centre_y_m, x_m - circle.centre_x_m)
    deviation = np.hypot(x_m - circle.centre_x_m, y_m - circle.centre_y_m) - circle.radius_m

    def waves(at: Floats) -> Floats:
        columns = [np.ones(len(at))]
        for order in range(1, WAVES + 1):
            columns += [np.cos(order * at), np.sin(order * at)]
        return np.column_stack(columns)

    weights, *_ = np.linalg.lstsq(waves(angle), deviation, rcond=None)
    weights[0] = 0.0
    round_again = waves(np.linspace(0.0, 2.0 * np.pi, 721)) @ weights
    return float(np.ptp(round_again))


def width_m(x_m: Floats, y_m: Floats, heading_rad: float) -> float:
    """Extent across a heading."""
    return float(np.ptp(-x_m * np.sin(heading_rad) + y_m * np.cos(heading_rad)))
