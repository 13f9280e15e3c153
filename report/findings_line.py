"""Findings of straight lines: stray, swing, and on which side of the asked line."""

from __future__ import annotations

from typing import Final

import numpy as np

from report.findings_turn import NO_TURN_RATE
from report.measured import About
from report.result import Finding
from report.ridden import Ridden
from track.path import Estimate, Path
from track.shapes_fit import LineFit
from track.shapes_line import LEAST_SPEED_MS, line_of, line_offset_of

LEAST_S: Final = 4.0


def line_findings(
    ridden: Ridden,
    path: Path,
    run_s: tuple[float, float],
    about: About,
    ideal: LineFit,
) -> list[Finding]:
    """``wander``, ``heading_wobble`` and ``line_offset`` of the longest straight run of a line.

    Parameters
    ----------
    run_s : (float, float), s
        When the straight run begins and ends.
    about : About
        ``what`` ends in "diagonal" for a diagonal.
    ideal : LineFit
        The line that is asked for, in riding direction.
    """
    case = "diagonal" if about.what.endswith("diagonal") else "line"
    bands = ridden.bands
    run = path.between(*run_s)
    seconds = float(run.size * np.median(np.diff(path.t_s)))
    if run.size < 4 or seconds * (path.speed_ms[run] > LEAST_SPEED_MS).mean() < LEAST_S:
        because = "the straight run is too short to tell"
        return [ridden.missing("wander", about, because, bands.band("wander", 0.0, case))]
    shape = line_of(path, *run_s)
    wobble = shape.heading_wobble_rad
    wobble = Estimate(value=float(np.rad2deg(wobble.value)), sd=float(np.rad2deg(wobble.sd)))
    aside = line_offset_of(
        path, *run_s, (float(ideal.x_m), float(ideal.y_m)), float(ideal.direction_rad)
    )
    swing = bands.band("heading_wobble", 0.0)
    return [
        ridden.judged("wander", about, shape.wander_m, bands.band("wander", 0.0, case)),
        ridden.judged("heading_wobble", about, wobble, swing)
        if ridden.means.gyro
        else ridden.missing("heading_wobble", about, NO_TURN_RATE, swing),
        ridden.judged("line_offset", about, aside, bands.band("line_offset", 0.0, case)),
    ]
