"""The two halves of a circle: whether it grows or shrinks."""

from __future__ import annotations

from typing import Final

import numpy as np

from report.places import distance_at, heading_at
from report.quarters import quarter_edges_s
from track.path import Estimate, Path

HALF_SD_RAD: Final = 0.03
"""Doubt of the heading at half-way, beside that of the path [measured on made-up rides]."""


def second_half_m(path: Path, start_s: float, end_s: float) -> Estimate:
    """Mean radius of a circle's second half less that of its first, metres.

    The mean radius of a half is the distance ridden over the heading turned: radii about one
    common centre would hide four fifths of a difference, because the centre gives way.

    The doubt: heading at half-way divides the circle (u = 2R/π · u(ψ)), and the speed of the
    halves is known apart to its own doubt.
    """
    edges = quarter_edges_s(path, start_s, end_s)
    half_s = (float(edges[0]), float(edges[2]), float(edges[4]))
    lengths = np.diff([distance_at(path, t_s) for t_s in half_s])
    turned = abs(heading_at(path, half_s[2]) - heading_at(path, half_s[0]))
    radii = lengths / (turned / 2)
    inside = path.between(half_s[0], half_s[2])
    relative = float(np.mean(path.speed_sd_ms[inside] / np.maximum(path.speed_ms[inside], 0.5)))
    mean = float(radii.mean())
    heading_sd = float(np.hypot(HALF_SD_RAD, np.median(path.heading_sd_rad[inside])))
    sd = float(np.hypot(2 * mean / np.pi * heading_sd, mean * relative))
    return Estimate(value=float(radii[1] - radii[0]), sd=sd)
