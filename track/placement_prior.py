"""An arena file as what is known beforehand of where the school lies in a ride.

The file was made on another day. Receivers are off by a metre or two for a whole ride [measured],
so the file gives the size, the ends and a first guess with a spread, and the ride its own frame.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.arena import Arena, Size
from track.geodesy import LocalPlane
from track.path import Floats
from track.smoother_band import Factor
from track.smoother_state import ROT, SHIFT_X, SHIFT_Y, State, X, Y

DAY_ERROR_M: Final = 1.0
"""Error of a receiver that stays for a whole ride: repeats differ by 0.4-2.2 m [measured]."""
LEAST_BEARING_SD_RAD: Final = np.radians(0.3)
ELSEWHERE_M: Final = 80.0
"""A ride whose nearest fix is further from X than this was not in that school."""
MOST_SDS: Final = 3.5
"""A file that the ride contradicts by more than this is not used for the pose."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownPose:
    """Where a school lies in the plane of the fixes, beforehand.

    Attributes
    ----------
    size : {"20x40", "20x60"}
    rotation_rad : float, rad
        Takes east and north into the arena, A at the low end of y.
    east_m, north_m : float, m
        X on the plane.
    sd_m, rotation_sd_rad : float
        Per axis, the receiver's error of the day counted in.
    """

    size: Size
    rotation_rad: float
    east_m: float
    north_m: float
    sd_m: float
    rotation_sd_rad: float

    def nearest(self, rotation_rad: float) -> float:
        """The rotation, or the same the other way round, nearest to one, rad."""
        turns = round((rotation_rad - self.rotation_rad) / np.pi)
        return float(self.rotation_rad + turns * np.pi)

    def centre(self, rotation_rad: float) -> tuple[float, float]:
        """X in the plane turned by a rotation, m."""
        cos, sin = float(np.cos(rotation_rad)), float(np.sin(rotation_rad))
        return cos * self.east_m - sin * self.north_m, sin * self.east_m + cos * self.north_m

    def off(self, ride: Floats) -> Floats:
        """A pose's distance from the file's, in standard uncertainties: rotation, x and y."""
        x, y = self.centre(float(ride[ROT]))
        return np.array([
            (ride[ROT] - self.nearest(float(ride[ROT]))) / self.rotation_sd_rad,
            (x + ride[SHIFT_X]) / self.sd_m,
            (y + ride[SHIFT_Y]) / self.sd_m,
        ])  # fmt: skip

    def factors(self, state: State) -> Iterator[Factor]:
        """What the file says of the ride's pose, as factors of the smoother."""
        ride = state.ride
        x, y = self.centre(float(ride[ROT]))
        turn = float(ride[ROT]) - self.nearest(float(ride[ROT]))
        yield _known(((ROT, 1.0),), turn, self.rotation_sd_rad, X)
        yield _known(((SHIFT_X, 1.0), (ROT, -y)), x + float(ride[SHIFT_X]), self.sd_m, X)
        yield _known(((SHIFT_Y, 1.0), (ROT, x)), y + float(ride[SHIFT_Y]), self.sd_m, Y)


def _known(border: tuple[tuple[int, float], ...], off: float, sd: float, axis: int) -> Factor:
    return Factor(
        kind="file",
        where=np.zeros(1, dtype=np.int64),
        terms=[(0, axis, 0.0)],
        border=border,
        residual=np.array([off]),
        weight=np.array([1.0 / sd**2]),
        trust=np.ones(1),
    )


def known_pose(arena: Arena | None, plane: LocalPlane) -> KnownPose | None:
    """An arena file's pose on the plane of a ride's fixes; None without a file."""
    if arena is None:
        return None
    east, north = plane.to_plane(np.array([arena.x_lat_deg]), np.array([arena.x_lon_deg]))
    return KnownPose(
        size=arena.size,
        rotation_rad=float(np.radians(arena.bearing_deg)),
        east_m=float(east[0]),
        north_m=float(north[0]),
        sd_m=float(np.hypot(arena.sd_m, DAY_ERROR_M)),
        rotation_sd_rad=max(float(np.radians(arena.bearing_sd_deg)), LEAST_BEARING_SD_RAD),
    )


def is_elsewhere(known: KnownPose, east_m: Floats, north_m: Floats) -> bool:
    """Whether no fix lies near the file's school."""
    return bool(np.hypot(east_m - known.east_m, north_m - known.north_m).min() > ELSEWHERE_M)
