"""The ridden path on one clock, and how sure each point of it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A value with its standard uncertainty (JCGM 100), both in the unit of the name it bears."""

    value: float
    sd: float


class Posterior(Protocol):
    """The joint posterior of the epochs of a path, at times of the positions' clock."""

    def covariance(self, epochs: Ints) -> Floats:
        """Joint covariance of x and y at some epochs.

        Parameters
        ----------
        epochs : array of int, shape (k,)
            Indices into the path's arrays.

        Returns
        -------
        array, shape (2 * k, 2 * k), m²
            Ordered x0, y0, x1, y1, ...; placement's own uncertainty is included.
        """
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """Where the rider's body was, at the smoother's epochs.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Ascending, evenly spaced, on the positions' clock.
    x_m, y_m : array, shape (n,), m
        Arena frame, or metres east and north of the first fix when ``frame`` is ``"local"``.
    sd_x_m, sd_y_m : array, shape (n,), m
        Marginal standard uncertainty of each coordinate at a time of the positions' clock,
        placement and clocks included.
    speed_ms, speed_sd_ms : array, shape (n,), m/s
        Speed along the path.
    heading_rad, heading_sd_rad : array, shape (n,), rad
        Unwrapped; 0 along +x, anticlockwise positive.
    turn_rads : array, shape (n,), rad/s
        Turn rate, left positive.
    posterior : Posterior
        Joint covariance of any choice of epochs.
    frame : {"arena", "local"}
    at_instants : Posterior or None
        The same for instants of the motion log, such as the start of a gait: where the path was
        steered by it, the clocks' doubt moves both alike. None where there is no motion.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    sd_x_m: Floats
    sd_y_m: Floats
    speed_ms: Floats
    speed_sd_ms: Floats
    heading_rad: Floats
    heading_sd_rad: Floats
    turn_rads: Floats
    posterior: Posterior
    frame: Literal["arena", "local"]
    at_instants: Posterior | None = None

    def at(self, t_s: Floats | float) -> tuple[Floats, Floats]:
        """x and y, in metres, at any times (linear between epochs, held at the ends)."""
        t = np.asarray(t_s, dtype=np.float64)
        return np.interp(t, self.t_s, self.x_m), np.interp(t, self.t_s, self.y_m)

    def between(self, start_s: float, end_s: float) -> Ints:
        """Indices of the epochs in the half-open interval ``[start_s, end_s)``."""
        first, last = np.searchsorted(self.t_s, [start_s, end_s], side="left")
        return np.arange(first, last, dtype=np.int64)
