"""Where the school lies in the ride: a first pose from headings and extent, for every size.

A school shows in three ways: headings gather about two directions at right angles, riding fills a
rectangle of known size, and straight riding gathers just inside its sides. Each pose is scored by
the likelihood of that; riding outside (coming in, going home) costs little.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from scipy.ndimage import gaussian_filter1d

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, Size
from track.boards import curvature
from track.evidence import EPOCH_S
from track.path import Bools, Floats
from track.placement_prior import KnownPose

BIN_M: Final = 0.5
FIX_ERROR_M: Final = 1.8
"""Slow error of the fixes that the first pose has to live with, sd."""
OFFSET_M: Final = 0.8
ALONG_SHARE: Final = 0.55
"""Share of straight riding parallel to a side that is on the track."""
OUTSIDE_SHARE: Final = 0.04
OUTSIDE_SPAN_M: Final = 200.0
ROUGH_TURN_RAD: Final = np.radians(2.0)
MOST_AWAY: Final = 12.0
"""Log odds at most against a pose for not being where an arena file has it."""
CORRELATED_S: Final = 10.0
"""Neighbouring epochs say the same: one independent observation in so many seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """The path's frame in the arena: ``arena = R(rotation) path + shift``, and its worth.

    Attributes
    ----------
    size : str
    rotation_rad : float, rad
    shift_x_m, shift_y_m : float, m
    log_likelihood : float
        Of independent observations, natural logarithm.
    """

    size: Size
    rotation_rad: float
    shift_x_m: float
    shift_y_m: float
    log_likelihood: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Ridden:
    """What the search looks at: moving epochs only."""

    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    straight: Bools


def ridden(x_m: Floats, y_m: Floats, heading_rad: Floats, speed_ms: Floats) -> Ridden:
    """Moving epochs, and whether each is on a straight."""
    straight = np.abs(curvature(heading_rad, speed_ms)) < 1 / 25.0
    moving = speed_ms > 0.6
    return Ridden(
        x_m=x_m[moving],
        y_m=y_m[moving],
        heading_rad=heading_rad[moving],
        straight=straight[moving],
    )


def poses(ride: Ridden, sizes: Sequence[Size], known: KnownPose | None = None) -> list[Pose]:
    """Poses worth trying, the likeliest first; one per size and direction of the long side.

    Parameters
    ----------
    ride : Ridden
    sizes : sequence of str
    known : KnownPose, optional
        What an arena file says: another direction to try, and a place that is likelier.
    """
    rotations = [
        np.pi / 2 - direction - turn
        for direction, turn in product(_directions(ride), (0.0, np.pi / 2))
    ]
    if known is not None:
        rotations.append(known.rotation_rad)
    found = [_best_shift(ride, size, turn, known) for size, turn in product(sizes, rotations)]
    return sorted(found, key=lambda pose: -pose.log_likelihood)


def _directions(ride: Ridden) -> list[float]:
    """The likeliest headings of the sides, modulo 90 degrees, rad."""
    quarter = np.pi / 2
    bins = 90
    folded = ride.heading_rad[ride.straight] % quarter
    counts = np.bincount((folded / quarter * bins).astype(int) % bins, minlength=bins)
    smooth = gaussian_filter1d(counts.astype(float), 2.0, mode="wrap")
    out: list[float] = []
    for _ in range(3):
        peak = int(np.argmax(smooth))
        if smooth[peak] <= 0.2 * counts.mean():
            break
        out.append(_refined(folded, (peak + 0.5) / bins * quarter))
        away = (np.arange(bins) - peak + bins // 2) % bins - bins // 2
        smooth[np.abs(away) < 12] = 0.0
    return out or [0.0]


def _refined(folded: Floats, near: float) -> float:
    """Mean of the headings within 8 degrees of a peak, modulo 90 degrees."""
    away = (folded - near + np.pi / 4) % (np.pi / 2) - np.pi / 4
    close = np.abs(away) < np.radians(8.0)
    return float(near + away[close].mean()) if close.any() else near


def _best_shift(ride: Ridden, size: Size, rotation_rad: float, known: KnownPose | None) -> Pose:
    """Best place of a rectangle in one direction: its two axes are searched apart."""
    cos, sin = np.cos(rotation_rad), np.sin(rotation_rad)
    x, y = cos * ride.x_m - sin * ride.y_m, sin * ride.x_m + cos * ride.y_m
    heading = ride.heading_rad + rotation_rad
    upright = np.abs(np.cos(heading)) < np.sin(np.radians(15.0))
    level = np.abs(np.sin(heading)) < np.sin(np.radians(15.0))
    likely = (None, None) if known is None else known.centre(rotation_rad)
    sd_m = FIX_ERROR_M if known is None else max(known.sd_m, FIX_ERROR_M)
    centre_x, worth_x = _best_centre(x, ride.straight & upright, HALF_WIDTH_M, likely[0], sd_m)
    centre_y, worth_y = _best_centre(y, ride.straight & level, HALF_LENGTH_M[size], likely[1], sd_m)
    return Pose(
        size=size,
        rotation_rad=float(rotation_rad),
        shift_x_m=-centre_x,
        shift_y_m=-centre_y,
        log_likelihood=(worth_x + worth_y) * EPOCH_S / CORRELATED_S
        - (0.0 if known is None else _turned_away(known, float(rotation_rad))),
    )


def _turned_away(known: KnownPose, rotation_rad: float) -> float:
    """Cost of a direction that is not the file's, up to a limit: files may be wrong."""
    off = rotation_rad - known.nearest(rotation_rad)
    return float(min(0.5 * (off / max(known.rotation_sd_rad, ROUGH_TURN_RAD)) ** 2, MOST_AWAY))


def _best_centre(
    place: Floats, along: Bools, half_m: float, likely_m: float | None, sd_m: float
) -> tuple[float, float]:
    """Centre of an interval that explains places best, and the log likelihood there."""
    low = np.floor(np.percentile(place, 0.5)) - 2 * half_m
    high = np.ceil(np.percentile(place, 99.5)) + 2 * half_m
    bins = max(int((high - low) / BIN_M), 1)
    index = np.clip(((place - low) / BIN_M).astype(int), 0, bins - 1)
    reach = int((half_m + 10 * FIX_ERROR_M) / BIN_M)
    offsets: Floats = np.arange(-reach, reach + 1, dtype=np.float64) * BIN_M
    far = np.log(OUTSIDE_SHARE / OUTSIDE_SPAN_M)
    worth = np.full(bins, len(place) * far)
    for chosen, share in ((along, ALONG_SHARE), (~along, 0.0)):
        counts = np.bincount(index[chosen], minlength=bins).astype(float)
        gain = np.log(_density(offsets, half_m, share)) - far
        worth += np.correlate(np.pad(counts, reach), gain, mode="valid")
    if likely_m is not None:
        z = (low + (np.arange(bins) + 0.5) * BIN_M - likely_m) / sd_m
        worth -= np.minimum(0.5 * z**2, MOST_AWAY) * CORRELATED_S / EPOCH_S
    best = int(np.argmax(worth))
    return low + (best + 0.5) * BIN_M, float(worth[best])


def _density(place_m: Floats, half_m: float, share: float) -> Floats:
    """Density of a coordinate relative to the centre, blurred by the error of the fixes."""
    near = np.abs(place_m)
    on_track = _normal(near - (half_m - OFFSET_M)) / 2
    inside = 1 / (1 + np.exp((near - half_m) / (0.6 * FIX_ERROR_M))) / (2 * half_m)
    within = (1 - OUTSIDE_SHARE) * (share * on_track + (1 - share) * inside)
    density: Floats = within + OUTSIDE_SHARE / OUTSIDE_SPAN_M
    return density


def _normal(off_m: Floats) -> Floats:
    density: Floats = np.exp(-0.5 * (off_m / FIX_ERROR_M) ** 2) / (FIX_ERROR_M * np.sqrt(2 * np.pi))
    return density
