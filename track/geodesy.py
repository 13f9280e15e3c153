"""A plane in metres that touches the WGS84 ellipsoid, good to a millimetre over an arena.

East and north are scaled by the ellipsoid's two radii of curvature at the plane's origin. Over
63 m, the corner-to-corner length of a 20x60 arena, that errs by at most 0.62 mm; a sphere of
6371 km errs by 0.18-0.35 m.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from track.path import Floats

WGS84_A_M: Final = 6378137.0
"""Semi-major axis, NGA.STND.0036 (WGS84)."""
WGS84_E2: Final = 6.69437999014e-3
"""First eccentricity squared, same source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LocalPlane:
    """Metres east and north of an origin.

    Attributes
    ----------
    lat_deg, lon_deg : float, degrees
        WGS84 position of the origin.

    Examples
    --------
    >>> plane = LocalPlane(lat_deg=52.0, lon_deg=5.0)
    >>> round(plane.north_m_per_deg, 3), round(plane.east_m_per_deg, 3)
    (111267.353, 68678.016)
    """

    lat_deg: float
    lon_deg: float

    @property
    def _w2(self) -> float:
        return 1.0 - WGS84_E2 * float(np.sin(np.radians(self.lat_deg))) ** 2

    @property
    def north_m_per_deg(self) -> float:
        """Metres in one degree of latitude: the meridional radius of curvature."""
        radius_m = WGS84_A_M * (1.0 - WGS84_E2) / self._w2**1.5
        return float(np.radians(radius_m))

    @property
    def east_m_per_deg(self) -> float:
        """Metres in one degree of longitude: the prime-vertical radius times cos(latitude)."""
        radius_m = WGS84_A_M / self._w2**0.5
        return float(np.radians(radius_m) * np.cos(np.radians(self.lat_deg)))

    def to_plane(self, lat_deg: ArrayLike, lon_deg: ArrayLike) -> tuple[Floats, Floats]:
        """East and north, in metres, of positions; longitude differences wrap at 180 degrees."""
        east_deg = (np.asarray(lon_deg, dtype=np.float64) - self.lon_deg + 180.0) % 360.0 - 180.0
        north_deg = np.asarray(lat_deg, dtype=np.float64) - self.lat_deg
        return east_deg * self.east_m_per_deg, north_deg * self.north_m_per_deg

    def to_earth(self, east_m: ArrayLike, north_m: ArrayLike) -> tuple[Floats, Floats]:
        """Latitude and longitude, in degrees, of places on the plane."""
        lat_deg = self.lat_deg + np.asarray(north_m, dtype=np.float64) / self.north_m_per_deg
        lon_deg = self.lon_deg + np.asarray(east_m, dtype=np.float64) / self.east_m_per_deg
        return lat_deg, (lon_deg + 180.0) % 360.0 - 180.0
