"""The ridden path as the pages draw it: a smooth line through the result's points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.interpolate import CubicSpline

from report.arena_svg import thinned
from report.result import BoutRow, Gait, PathRow
from track.path import Floats

DRAWN_EVERY_S = 0.1
DRAWN_EVERY_M = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A stretch of the ridden line in one gait.

    Attributes
    ----------
    gait : str
    t_s, x_m, y_m, sd_m : array, shape (n,)
    """

    gait: Gait
    t_s: Floats
    x_m: Floats
    y_m: Floats
    sd_m: Floats


@dataclass(frozen=True, kw_only=True)
class DrawnPath:
    """A result's path with what the drawings ask of it."""

    row: PathRow
    bouts: Sequence[BoutRow]

    @cached_property
    def t_s(self) -> Floats:
        """Times of the result's points, s."""
        return np.asarray(self.row.t_s, dtype=np.float64)

    @cached_property
    def _line(self) -> CubicSpline:
        return CubicSpline(self.t_s, np.column_stack([self.row.x_m, self.row.y_m]))

    def at(self, t_s: Floats | float) -> tuple[Floats, Floats]:
        """x and y in metres; times outside the ride are held at its ends."""
        inside = np.clip(np.asarray(t_s, dtype=np.float64), self.t_s[0], self.t_s[-1])
        xy = self._line(inside)
        return xy[..., 0], xy[..., 1]

    def heading_rad(self, t_s: Floats | float) -> Floats:
        """Unwrapped heading at any times."""
        degrees = np.unwrap(np.asarray(self.row.heading_deg), period=360.0)
        return np.asarray(np.radians(np.interp(t_s, self.t_s, degrees)))

    def sd_m(self, t_s: Floats | float) -> Floats:
        """Standard uncertainty per axis at any times."""
        return np.asarray(np.interp(t_s, self.t_s, self.row.sd_m))

    def speed_ms(self, t_s: float) -> float:
        """Speed at a time."""
        return float(np.interp(t_s, self.t_s, self.row.speed_ms))

    def piece(self, gait: Gait, start_s: float, end_s: float) -> Piece:
        """The line between two times, as points a few tenths of a metre apart."""
        count = max(2, round((end_s - start_s) / DRAWN_EVERY_S) + 1)
        t = np.linspace(start_s, end_s, count)
        x, y = self.at(t)
        keep = thinned(x, y, DRAWN_EVERY_M)
        t = t[keep]
        return Piece(gait=gait, t_s=t, x_m=x[keep], y_m=y[keep], sd_m=self.sd_m(t))

    def whole(self, start_s: float, end_s: float) -> Piece:
        """The line between two times, whatever the gait."""
        return self.piece("unknown", start_s, end_s)

    def pieces(self, start_s: float, end_s: float) -> tuple[Piece, ...]:
        """The line between two times, cut at the changes of gait."""
        start_s, end_s = max(start_s, self.t_s[0]), min(end_s, self.t_s[-1])
        spans = [
            (bout.gait, max(bout.start_s, start_s), min(bout.end_s, end_s)) for bout in self.bouts
        ]
        return tuple(self.piece(gait, a, b) for gait, a, b in spans if b - a > 0.05)


def quarter_times(ridden: DrawnPath, start_s: float, end_s: float) -> Floats:
    """When a figure's heading had turned by each whole quarter, both ends included.

    Returns
    -------
    array, shape (k,), s
        Five times for a full circle, three for a half circle; fewer where less was turned.
    """
    t = np.arange(start_s, end_s + DRAWN_EVERY_S / 2, DRAWN_EVERY_S)
    heading = ridden.heading_rad(t)
    turned = np.maximum.accumulate(np.abs(heading - heading[0]))
    whole = round(float(turned[-1]) / (np.pi / 2))
    if whole < 1:
        return np.array([start_s, end_s])
    # the last quarter ends with the figure, whatever a degree or two says
    inner = np.interp(np.arange(1, whole) * np.pi / 2, turned, t)
    return np.concatenate([[start_s], inner, [end_s]])


def strides_between(starts_s: Floats, durations_s: Floats, start_s: float, end_s: float) -> float:
    """How many strides lie in an interval, the first and last counted by their share.

    Examples
    --------
    >>> strides_between(np.array([0.0, 1.0, 2.0]), np.array([1.0, 1.0, 1.0]), 0.5, 2.25)
    1.75
    """
    overlap = np.minimum(starts_s + durations_s, end_s) - np.maximum(starts_s, start_s)
    return float((np.clip(overlap, 0.0, None) / durations_s).sum())
