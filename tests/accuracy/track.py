"""Accuracy of the track stage on invented rides: the issue's table, biases and intervals.

``python -m tests.accuracy track --rides 200 --seed 1``. Two columns: the noise of the bound's table
(with speed) and the noise measured on phones (without). Targets are Monte Carlo results of a batch
smoother at the Bayesian Cramer-Rao bound, from the same kind of noise.
"""

from __future__ import annotations

import argparse
from typing import Final

import numpy as np
from scipy.stats import binom

from tests.accuracy import invented as iv
from track.follow import follow_motion
from track.path import Estimate, Floats, Path
from track.shapes import circle_of, half_circle_of
from track.shapes_fit import fit_circle
from track.stage import Track

GAITS: Final = ("trot", "walk", "canter")
TARGETS: Final = {
    "diameter": (0.32, 0.41, 0.30),
    "out_of_round": (0.23, 0.29, 0.21),
    "centre_2d": (0.50, 0.62, 0.47),
    "half_width": (0.25, 0.36, 0.23),
    "transition": (0.55, 0.63, 0.52),
    "halt_2d": (0.65, 0.78, 0.66),
    "position": (0.34, 0.39, 0.33),
}
COLUMNS: Final = {
    "table": iv.PLAIN,
    "phone": iv.PHONE,
    "no gyro": iv.Faults(gyro=False),
    "positions": iv.Faults(gyro=False, speed_ms=None),
    "lag 1 s": iv.Faults(lag_s=1.0),
    "offset 1 s": iv.Faults(offset_s=1.0),
    "speed 3 %": iv.Faults(speed_scale=-0.03),
    "wild 5 %": iv.Faults(wild_percent=5.0),
    "frozen": iv.Faults(frozen=True),
    "good": iv.Faults(drift_m=0.5, fix_m=0.05),
    "poor": iv.Faults(drift_m=3.0, fix_m=1.0, speed_ms=0.4),
    "no gyro good": iv.Faults(gyro=False, drift_m=0.5, fix_m=0.05),
    "no gyro poor": iv.Faults(gyro=False, drift_m=3.0, fix_m=1.0, speed_ms=0.4),
}
EDGE: Final = 10
"""Epochs at either end that are not compared: there is nothing to lean on."""

Row = tuple[float, float]
"""An error and the sd that was claimed for it."""


class Errors:
    """Errors and claimed sd by quantity."""

    def __init__(self) -> None:
        self.rows: dict[str, list[Row]] = {}
        self.lost = 0

    def add(self, name: str, estimate: Estimate, truth: float) -> None:
        self.rows.setdefault(name, []).append((estimate.value - truth, estimate.sd))

    def put(self, name: str, error: float, sd: float) -> None:
        self.rows.setdefault(name, []).append((error, sd))


def compare(track: Track, truth: iv.Ride, faults: iv.Faults, errors: Errors) -> None:
    """Add one ride's errors; the arena's ends are turned to fit, geometry cannot tell them."""
    path = track.path
    if path is None or track.placement is None:
        errors.lost += 1
        return
    turn = _turn(path, truth)
    late_s = faults.offset_s - track.clock.shift_s.value if track.clock else 0.0
    _compare_path(path, truth, turn, late_s, errors)
    for figure in truth.figures:
        inside = (truth.t_s >= figure.start_s) & (truth.t_s < figure.end_s)
        x, y = truth.x_m[inside], truth.y_m[inside]
        if figure.kind == "circle":
            _compare_circle(path, figure, (x, y), turn, errors)
        else:
            half = half_circle_of(path, figure.start_s, figure.end_s, radius_m=4.6)
            errors.add("half_width", half.width_m, _half_width(truth, figure))
    bearing = (track.placement.arena.bearing_deg - 30.0 + 90.0) % 180.0 - 90.0
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


def _compare_path(path: Path, truth: iv.Ride, turn: int, late_s: float, errors: Errors) -> None:
    for index in range(EDGE, len(path.t_s) - EDGE, 8):
        t = float(path.t_s[index])
        for mine, sd, theirs in (
            (path.x_m, path.sd_x_m, truth.x_m),
            (path.y_m, path.sd_y_m, truth.y_m),
        ):
            there = float(np.interp(t, truth.t_s, theirs))
            errors.put("position", turn * float(mine[index]) - there, float(sd[index]))
    for t in truth.changes_s:
        errors.put("transition", *_along(path, truth, turn, t, late_s))
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


def _along(path: Path, truth: iv.Ride, turn: int, t: float, late_s: float) -> Row:
    """Error along the heading at an instant known to the motion log, and its sd.

    The path has that instant later by the true shift of the clocks less the found one.
    """
    heading = float(np.interp(t, truth.t_s, truth.heading_rad))
    x, y = path.at(t + late_s)
    off_x = turn * float(x) - float(np.interp(t, truth.t_s, truth.x_m))
    off_y = turn * float(y) - float(np.interp(t, truth.t_s, truth.y_m))
    epoch = np.array([int(np.argmin(np.abs(path.t_s - t - late_s)))])
    direction = np.array([np.cos(heading), np.sin(heading)])
    variance = direction @ path.posterior.covariance(epoch) @ direction
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


def run(faults: iv.Faults, gait: str, rides: int, seed: int) -> Errors:
    """Errors of so many rides of one gait."""
    errors = Errors()
    for number in range(rides):
        rng = np.random.default_rng([seed, number, GAITS.index(gait)])
        truth = iv.ride(gait, rng)
        recording, motion = iv.recorded(truth, faults, rng)
        compare(follow_motion(recording, motion), truth, faults, errors)
    return errors


def table(column: str, gait: str, errors: Errors, rides: int) -> list[str]:
    """Lines of the report for one column and gait."""
    lines = [f"[{column}, {gait}] {rides} rides, {errors.lost} without a placement"]
    for name, rows in errors.rows.items():
        error = np.array([row[0] for row in rows])
        sd = np.array([row[1] for row in rows])
        size = float(np.sqrt(np.mean(error**2))) * (np.sqrt(2) if name.endswith("2d") else 1.0)
        inside = int((np.abs(error) <= 1.96 * sd).sum())
        low = float(binom.ppf(0.005, len(rows), 0.95)) / len(rows)
        high = float(binom.ppf(0.995, len(rows), 0.95)) / len(rows)
        target = TARGETS.get(name, (np.nan, np.nan, np.nan))[GAITS.index(gait)]
        lines.append(
            f"  {name:20s} error {size:6.3f}  target {target:5.2f}  bias {error.mean():+6.3f}"
            f" ({_in_sd(error)} sd)"
            f"  claimed sd {np.median(sd):6.3f}  within 95 %: {inside / len(rows):.3f}"
            f" ({low:.2f}-{high:.2f} expected of independent ones)"
        )
    judged = [row for name, rows in errors.rows.items() if name in TARGETS for row in rows]
    if judged:
        held = sum(abs(error) <= 1.96 * sd for error, sd in judged) / len(judged)
        lines.append(f"  of the quantities with a target, within 95 %: {held:.3f} (goal 0.93-0.97)")
    return lines


def _in_sd(error: Floats) -> str:
    """Bias over the errors' own sd; nothing from fewer than three."""
    if len(error) < 3 or not error.std():
        return "-"
    return f"{error.mean() / error.std():+.2f}"


def main() -> None:
    """Run the columns asked for and print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy track")
    parser.add_argument("--rides", type=int, default=200, help="per gait and column")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--columns", default="table,phone", help=", ".join(COLUMNS))
    parser.add_argument("--gaits", default=",".join(GAITS))
    chosen = parser.parse_args()
    for column in chosen.columns.split(","):
        for gait in chosen.gaits.split(","):
            errors = run(COLUMNS[column], gait, chosen.rides, chosen.seed)
            print("\n".join(table(column, gait, errors, chosen.rides)), flush=True)


if __name__ == "__main__":
    main()
