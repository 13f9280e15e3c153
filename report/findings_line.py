"""Findings of straight lines: stray, swing, and on which side of the asked line."""

from __future__ import annotations

from typing import Final

import numpy as np

from report.drawn import drawn, measured_on
from report.findings_turn import NO_TURN_RATE
from report.geometry import Straight, headings_rad, straight_through
from report.measured import About
from report.result import Finding
from report.ridden import Ridden
from track.path import Floats, Path

LEAST_SPEED_MS: Final = 0.6


def rms_from_line_m(x_m: Floats, y_m: Floats) -> float:
    """Root mean square deviation from the least-squares line (STRq after ISO 12780-1), metres.

    Examples
    --------
    Pearson's points of 1901 lie 0.2487 about their line:

    >>> x_m = np.array([0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
    >>> y_m = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
    >>> round(rms_from_line_m(x_m, y_m), 7)
    0.2487112
    """
    line = straight_through(x_m, y_m)
    return float(np.sqrt(np.mean(line.left_m(x_m, y_m) ** 2)))


def line_findings(
    ridden: Ridden,
    path: Path,
    run_s: tuple[float, float],
    about: About,
    ideal: Straight,
) -> list[Finding]:
    """``wander``, ``heading_wobble`` and ``line_offset`` of the longest straight run of a line.

    Parameters
    ----------
    run_s : (float, float), s
        When the straight run begins and ends.
    about : About
        ``what`` ends in "diagonal" for a diagonal.
    ideal : Straight
        The line that is asked for, in riding direction.
    """
    case = "diagonal" if about.what.endswith("diagonal") else "line"
    run = path.between(*run_s)
    if (path.speed_ms[run] > LEAST_SPEED_MS).sum() < 8:
        because = "the straight run is too short to tell"
        return [ridden.missing("wander", about, because, ridden.bands.band("wander", 0.0, case))]
    stretch = drawn(path, *run_s)
    bands = ridden.bands

    moving = np.interp(stretch.t_s, path.t_s, path.speed_ms) > LEAST_SPEED_MS

    def wobble_deg(x_m: Floats, y_m: Floats) -> float:
        # A standing horse has no heading: only the moving part counts.
        x_m, y_m = x_m[moving], y_m[moving]
        return float(np.rad2deg(np.std(headings_rad(x_m, y_m)[1:-1])))

    def left_m(x_m: Floats, y_m: Floats) -> float:
        return float(ideal.left_m(x_m, y_m).mean())

    wander, wobble = measured_on(stretch, rms_from_line_m), measured_on(stretch, wobble_deg)
    aside = measured_on(stretch, left_m)
    swing = bands.band("heading_wobble", 0.0)
    return [
        ridden.judged("wander", about, wander, bands.band("wander", 0.0, case)),
        ridden.judged("heading_wobble", about, wobble, swing)
        if ridden.means.gyro
        else ridden.missing("heading_wobble", about, NO_TURN_RATE, swing),
        ridden.judged("line_offset", about, aside, bands.band("line_offset", 0.0, case)),
    ]
