"""Findings of corners, right-angle turns, and what a turn runs beyond its line."""

from __future__ import annotations

from typing import Final

import numpy as np

from report.geometry import along_m, least_radius_m, nearest_m, onward
from report.measured import About
from report.places import distance_m
from report.result import Finding
from report.ridden import Ridden, Term
from report.verdict import Band
from track.layout import Corner
from track.path import Estimate, Floats, Path
from track.shapes_fit import fit_line
from track.stretch import Stretch, measured, one_by_one, stretch_of

AFTER_TURN_M: Final = 10.0
"""An overshoot is looked for in the first 10 m after a turn onto a line."""
USUAL_STRIDE_M: Final = 2.5
TURN_RADIUS_M: Final = 5.0
TURNED_SD_RAD: Final = 0.01
"""Doubt of the heading turned over one stride: the gyroscope's noise, and a trunk's sway."""
PEAK_SD: Final = 0.06
"""Doubt of the tightest turn as a share: a peak of curvature is rounded off by a window that is a
little off a stride's length [measured on made-up rides]."""
NO_TURN_RATE: Final = (
    "positions alone round off what is short; a logger that saves the gyroscope would settle it"
)


def stride_window_m(ridden: Ridden, about: About, at_s: float) -> float:
    """Length of one stride there, metres; a usual one where strides are not known."""
    known = ridden.stride_m(about.gait or "unknown", at_s)
    return float(np.clip(known or USUAL_STRIDE_M, 1.2, 4.0))


def tightest(path: Path, start_s: float, end_s: float, window_m: float) -> Estimate | None:
    """Least radius over one stride's length of path, metres; None where nothing moved.

    The doubt is that of the heading turned over the window: R = L/ψ, so u(R) = R²/L · u(ψ). What
    the whole ride's heading is out by does not matter.
    """
    inside = path.between(start_s, end_s)
    along = distance_m(path)[inside]
    moving = onward(along)
    if moving.size < 4:
        return None
    value = least_radius_m(along[moving], path.heading_rad[inside][moving], window_m)
    turned_sd = float(np.hypot(TURNED_SD_RAD, PEAK_SD * window_m / value))
    return Estimate(value=value, sd=value**2 / window_m * turned_sd)


def corner_findings(
    ridden: Ridden, path: Path, corner: Corner, about: About, circle_radius: Estimate | None
) -> list[Finding]:
    """``corner_radius``, ``corner_depth`` and, beside a circle, ``corner_contrast``.

    Parameters
    ----------
    about : About
        With the times between which the corner is ridden.
    circle_radius : Estimate or None, m
        Of the circle before or after it.
    """
    start_s, end_s = about.start_s or 0.0, about.end_s or 0.0
    stretch = stretch_of(path, start_s - 1.0, end_s + 1.0)
    point = (corner.x_m, corner.y_m)
    depth = measured(stretch, lambda x_m, y_m: nearest_m(x_m, y_m, point))
    rows = [ridden.judged("corner_depth", about, depth, Band())]
    band = ridden.bands.band("corner_radius", None)
    window = stride_window_m(ridden, about, start_s)
    radius = tightest(path, start_s - 1.0, end_s + 1.0, window)
    if radius is None or not ridden.means.gyro:
        return [ridden.missing("corner_radius", about, NO_TURN_RATE, band), *rows]
    rows.insert(0, ridden.judged("corner_radius", about, radius, band))
    if circle_radius is not None:
        rows.append(_contrast(ridden, about, radius, circle_radius))
    return rows


def _contrast(ridden: Ridden, about: About, radius: Estimate, circle: Estimate) -> Finding:
    value = circle.value / radius.value
    sd = value * float(np.hypot(radius.sd / radius.value, circle.sd / circle.value))
    return ridden.judged(
        "corner_contrast",
        about,
        Estimate(value=value, sd=sd),
        ridden.bands.band("corner_contrast", 2.0),
    )


def turn_findings(
    ridden: Ridden, path: Path, arc_s: tuple[float, float], about: About
) -> list[Finding]:
    """``turn_radius`` of a right-angle turn, ridden between two times."""
    window = stride_window_m(ridden, about, arc_s[0])
    radius = tightest(path, arc_s[0] - 0.5, arc_s[1] + 0.5, window)
    band = ridden.bands.band("turn_radius", TURN_RADIUS_M)
    if radius is None or not ridden.means.gyro:
        return [ridden.missing("turn_radius", about, NO_TURN_RATE, band)]
    return [ridden.judged("turn_radius", about, radius, band)]


def overshoot_m(line_s: tuple[float, float], turn_sign: float, stretch: Stretch) -> Estimate:
    """Peak beyond a line in the first 10 m after the turn onto it, metres.

    Parameters
    ----------
    line_s : (float, float), s
        When the line begins (the turn ends) and ends.
    turn_sign : float
        +1 where the turn onto it is to the left: beyond is then to the right.
    stretch : Stretch
        From the turn's end to the line's end.
    """
    inside = stretch.t_s >= line_s[0]

    def beyond(x_m: Floats, y_m: Floats) -> float:
        x_m, y_m = x_m[inside], y_m[inside]
        early = along_m(x_m, y_m) <= AFTER_TURN_M
        if (~early).sum() < 8:
            early[-8:] = False
        rest = fit_line(x_m[~early], y_m[~early])
        outward = -turn_sign * rest.left_m(x_m[early], y_m[early])
        return float(max(outward.max(initial=0.0), 0.0))

    return measured(stretch, one_by_one(beyond))


def overshoot_finding(
    ridden: Ridden, path: Path, line: Term, turn_sign: float, about: About
) -> Finding:
    """``overshoot`` of the turn onto a line."""
    band = ridden.bands.band("overshoot", 0.0)
    if line.end_s - line.start_s < 5.0:
        because = "the line after the turn is too short to tell where it lay"
        return ridden.missing("overshoot", about, because, band)
    stretch = stretch_of(path, line.start_s, line.end_s)
    over = overshoot_m((line.start_s, line.end_s), turn_sign, stretch)
    return ridden.judged("overshoot", about, over, band)


def beyond_centre_line(
    ridden: Ridden, path: Path, term: Term, side: float, about: About
) -> Finding:
    """``overshoot`` beyond the centre line of a half circle to X.

    Parameters
    ----------
    side : float
        +1 where the half circle comes from the side of B.
    """
    length_s = term.end_s - term.start_s
    stretch = stretch_of(path, term.start_s + 0.6 * length_s, term.end_s + 2.5)
    over = measured(stretch, lambda x_m, _: np.maximum((-side * x_m).max(axis=1), 0.0))
    return ridden.judged("overshoot", about, over, ridden.bands.band("overshoot", 0.0))
