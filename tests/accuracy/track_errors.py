"""Errors of one followed ride against its truth, each with the sd that was claimed."""

from __future__ import annotations

from typing import Final

import numpy as np

from tests.accuracy import invented as iv
from track.path import Estimate, Floats, Path
from track.shapes import circle_of, half_circle_of
from track.shapes_fit import fit_circle
from track.stage import Track

EDGE: Final = 10
"""Epochs at either end that are not compared: there is nothing to lean on."""
BEARING_DEG: Final = iv.Pose().bearing_deg

Row = tuple[float, float]
"""An error and the sd that was claimed for it."""


class Errors:
    """Errors and claimed sd by quantity."""

    def __init__(self) -> None:
        self.rows: dict[str, list[Row]] = {}
        self.rides = 0
        self.lost = 0

    def add(self, name: str, estimate: Estimate, truth: float) -> None:
        """Add an estimate beside its truth."""
        self.put(name, estimate.value - truth, estimate.sd)

    def put(self, name: str, error: float, sd: float) -> None:
        """Add an error and the sd claimed for it."""
        self.rows.setdefault(name, []).append((float(error), float(sd)))


def compare(track: Track, truth: iv.Ride, faults: iv.Faults, errors: Errors) -> None:
    """Add one ride's errors; the arena's ends are turned to fit, geometry cannot tell them."""
    path = track.path
    errors.rides += 1
    if path is None or track.placement is None:
        errors.lost += 1
        return
    turn = _turn(path, truth)
    late_s = faults.offset_s - track.clock.shift_s.value if track.clock else 0.0
    _compare_path(path, truth, turn, late_s, errors, logged=track.clock is not None)
    for figure in truth.figures:
        inside = (truth.t_s >= figure.start_s) & (truth.t_s < figure.end_s)
        x, y = truth.x_m[inside], truth.y_m[inside]
        if figure.kind == "circle":
            _compare_circle(path, figure, (x, y), turn, errors)
        else:
            half = half_circle_of(path, figure.start_s, figure.end_s, radius_m=4.6)
            errors.add("half_width", half.width_m, _half_width(truth, figure))
    bearing = (track.placement.arena.bearing_deg - BEARING_DEG + 90.0) % 180.0 - 90.0
    errors.put("bearing_deg", bearing, track.placement.arena.bearing_sd_deg)
    errors.add("track_offset", track.placement.track_offset_m, iv.OFFSET_M)
    errors.put("size", 0.0 if track.placement.arena.size == "20x40" else 1.0, np.inf)
    if track.clock is not None and track.clock.lag_s is not None:
        errors.add("lag_s", track.clock.lag_s, faults.lag_s)
        errors.add("shift_s", track.clock.shift_s, faults.offset_s)


def _half_width(truth: iv.Ride, figure: iv.Figure) -> float:
    inside = (truth.t_s >= figure.start_s) & (truth.t_s < figure.end_s)
    heading = float(np.interp(figure.start_s, truth.t_s, truth.heading_rad))
    across = -truth.x_m[inside] * np.sin(heading) + truth.y_m[inside] * np.cos(heading)
    return float(np.ptp(across))


def _turn(path: Path, truth: iv.Ride) -> int:
    x, y = (np.interp(path.t_s, truth.t_s, values) for values in (truth.x_m, truth.y_m))
    off = [np.hypot(s * path.x_m - x, s * path.y_m - y).mean() for s in (1, -1)]
    return 1 if off[0] < off[1] else -1


def _compare_path(
    path: Path, truth: iv.Ride, turn: int, late_s: float, errors: Errors, *, logged: bool
) -> None:
    for index in range(EDGE, len(path.t_s) - EDGE, 8):
        t = float(path.t_s[index])
        for mine, sd, theirs in (
            (path.x_m, path.sd_x_m, truth.x_m),
            (path.y_m, path.sd_y_m, truth.y_m),
        ):
            there = float(np.interp(t, truth.t_s, theirs))
            errors.put("position", turn * float(mine[index]) - there, float(sd[index]))
    for t in truth.changes_s:
        errors.put("transition", *_along(path, truth, turn, t, late_s, logged=logged))
    for start, end in truth.halts:
        _compare_place(path, truth, turn, (start + end) / 2, errors)


def _compare_place(path: Path, truth: iv.Ride, turn: int, t: float, errors: Errors) -> None:
    epoch = int(np.argmin(np.abs(path.t_s - t)))
    for mine, claimed, theirs in (
        (path.x_m, path.sd_x_m, truth.x_m),
        (path.y_m, path.sd_y_m, truth.y_m),
    ):
        there = float(np.interp(t, truth.t_s, theirs))
        errors.put("halt_2d", turn * float(mine[epoch]) - there, float(claimed[epoch]))


def _along(path: Path, truth: iv.Ride, turn: int, t: float, late_s: float, *, logged: bool) -> Row:
    """Error along the heading at an instant known to the motion log, and its sd.

    The path has that instant later by the true shift of the clocks less the found one. Without a
    motion log it is an instant of the positions' clock, and the sd has the lag in it.
    """
    heading = float(np.interp(t, truth.t_s, truth.heading_rad))
    x, y = path.at(t + late_s)
    off_x = turn * float(x) - float(np.interp(t, truth.t_s, truth.x_m))
    off_y = turn * float(y) - float(np.interp(t, truth.t_s, truth.y_m))
    epoch = np.array([int(np.argmin(np.abs(path.t_s - t - late_s)))])
    direction = np.array([np.cos(heading), np.sin(heading)])
    known = (path.at_instants if logged else None) or path.posterior
    variance = direction @ known.covariance(epoch) @ direction
    return float(off_x * direction[0] + off_y * direction[1]), float(np.sqrt(variance))


def _compare_circle(
    path: Path, figure: iv.Figure, true: tuple[Floats, Floats], turn: int, errors: Errors
) -> None:
    shape = circle_of(path, figure.start_s, figure.end_s)
    fit = fit_circle(true[0][::5], true[1][::5])
    errors.add("diameter", shape.diameter_m, 2 * fit.radius_m)
    for name, estimate, centre in (
        ("centre_2d", shape.centre_x_m, fit.x_m),
        ("centre_2d", shape.centre_y_m, fit.y_m),
    ):
        errors.put(name, turn * estimate.value - centre, estimate.sd)
    angle = np.arctan2(true[1][::5] - fit.y_m, true[0][::5] - fit.x_m)
    waves = np.stack([f(k * angle) for k in (1, 2, 3, 4) for f in (np.cos, np.sin)], axis=1)
    coefficients = np.linalg.lstsq(waves, fit.deviation_m, rcond=None)[0]
    out_of_round = float(np.ptp(waves @ coefficients))
    # Intervals of a measure that cannot be negative are tested where the truth is above 2 sd.
    name = "out_of_round" if out_of_round > 2 * shape.out_of_round_m.sd else "out_of_round_small"
    errors.add(name, shape.out_of_round_m, out_of_round)
    longer = float(np.ptp(true[1]) - np.ptp(true[0]))
    errors.add("length_minus_width", shape.length_minus_width_m, longer)
