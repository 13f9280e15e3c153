"""The local plane against published positions and against geodesics."""

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from track.geodesy import LocalPlane

# X at 52°N 5°E, C on bearing 030°, letters of a 20x40 arena by geodesic (geographiclib).
X = LocalPlane(lat_deg=52.0, lon_deg=5.0)
PUBLISHED = {
    "A": (51.999844334, 4.999854394, 0.0, -20.0),
    "C": (52.000155666, 5.000145608, 0.0, 20.0),
    "E": (52.000044937, 4.999873901, -10.0, 0.0),
    "B": (51.999955063, 5.000126099, 10.0, 0.0),
}


@pytest.mark.parametrize("letter", PUBLISHED)
def test_letters_of_an_arena_fall_on_their_places(letter: str) -> None:
    lat, lon, x, y = PUBLISHED[letter]
    east, north = X.to_plane(lat, lon)
    bearing = np.radians(30.0)
    assert east * np.cos(bearing) - north * np.sin(bearing) == pytest.approx(x, abs=1e-3)
    assert east * np.sin(bearing) + north * np.cos(bearing) == pytest.approx(y, abs=1e-3)


def test_metres_per_degree_at_52_north() -> None:
    # Recomputed from the WGS84 ellipsoid's radii of curvature.
    assert X.north_m_per_deg == pytest.approx(111267.353, abs=1e-3)
    assert X.east_m_per_deg == pytest.approx(68678.016, abs=1e-3)


@given(st.floats(-70, 70), st.floats(-180, 180), st.floats(0, 360), st.floats(1, 63.25))
def test_a_plane_errs_by_less_than_a_millimetre_over_an_arena(
    lat: float, lon: float, azimuth: float, distance_m: float
) -> None:
    # Oracle: geographiclib, Karney's geodesics on the same ellipsoid.
    there = Geodesic.WGS84.Direct(lat, lon, azimuth, distance_m)
    east, north = LocalPlane(lat_deg=lat, lon_deg=lon).to_plane(there["lat2"], there["lon2"])
    expected = distance_m * np.array([np.sin(np.radians(azimuth)), np.cos(np.radians(azimuth))])
    assert np.hypot(east - expected[0], north - expected[1]) < 1e-3


@given(st.floats(-80, 80), st.floats(-179.9, 179.9), st.floats(-100, 100), st.floats(-100, 100))
def test_there_and_back(lat: float, lon: float, east: float, north: float) -> None:
    plane = LocalPlane(lat_deg=lat, lon_deg=lon)
    back = plane.to_plane(*plane.to_earth(east, north))
    assert np.allclose(back, (east, north), atol=1e-6)
