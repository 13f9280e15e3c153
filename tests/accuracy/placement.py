"""How well a school is placed in a ride, refused where there is none, and surveyed from one lap.

``python -m tests.accuracy placement --rides 200 --seed 0 --laps 100 --never 10``. Rides are made up
from three sheets and three grades of position noise in turn, with everything else drawn anew; the
size is found by the ride and, a second time where it went wrong, told as a sheet tells it. Goals:
size right and end right in 99 % of rides with a sheet, heading 0.4 degrees and centre 0.5 m
(median, against the ride), no school where nobody rode in one, and one walked lap within 0.5
degrees with the size right.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from gait.stage import decode
from sample_rides.scenario import Scenario
from sample_rides.simulate import simulate
from sample_rides.truth import Truth
from tests.accuracy.elsewhere import KINDS, fixes_of, line_through, never_in_school
from tests.accuracy.match import cases, layout_of
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, SIZES
from track.follow import follow
from track.geodesy import LocalPlane
from track.match import other_end_log_odds
from track.stage import Track
from track.survey import register, survey

Floats = NDArray[np.float64]
BEARING_DEG = 30.0
WITHIN_95 = 1.96


def _half_turns(deg: float) -> float:
    return (deg + 90.0) % 180.0 - 90.0


class Rows:
    """Errors with their claimed sd, by name."""

    def __init__(self) -> None:
        self.rows: dict[str, list[tuple[float, float]]] = {}

    def put(self, name: str, error: float, sd: float = float("nan")) -> None:
        self.rows.setdefault(name, []).append((error, sd))

    def line(self, name: str, unit: str, goal: str) -> str:
        """Median, p95 and, where an sd was claimed, how many intervals hold."""
        error, sd = np.array(self.rows.get(name, [(np.nan, np.nan)])).T
        size = np.abs(error)
        told = f"{name}: median {np.median(size):.2f} {unit}, p95 {np.percentile(size, 95):.2f}"
        if np.isfinite(sd).all():
            held = float(np.mean(size <= WITHIN_95 * sd))
            told += f", claimed sd {np.median(sd):.2f}, within 95 %: {100 * held:.0f} %"
        return f"{told} (goal {goal})"


def against_the_ride(track: Track, truth: Truth, rows: Rows) -> None:
    """Heading and centre of the placed path against the true one, while inside the school."""
    path, half_y = track.path, HALF_LENGTH_M[truth.arena.size]
    if path is None or track.placement is None:
        return
    true = truth.path
    inside = (np.abs(true.x_m) < HALF_WIDTH_M) & (np.abs(true.y_m) < half_y)
    inside &= (true.t_s > path.t_s[0] + 5) & (true.t_s < path.t_s[-1] - 5)
    at = np.flatnonzero(inside)[::5]
    x, y = path.at(true.t_s[at])
    fit = register(np.stack([x, y], axis=1), np.stack([true.x_m[at], true.y_m[at]], axis=1))
    turn = fit.rotation_rad
    back = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    rows.put("heading against the ride", _half_turns(float(np.degrees(turn))))
    rows.put("centre against the ride", float(np.hypot(*(back @ fit.shift_m))))


def against_the_earth(track: Track, truth: Truth, rows: Rows) -> None:
    """Bearing, X and track offset against the true ones, with the claimed sd."""
    placement = track.placement
    if placement is None:
        return
    arena, true = placement.arena, truth.arena
    rows.put("bearing", _half_turns(arena.bearing_deg - true.bearing_deg), arena.bearing_sd_deg)
    plane = LocalPlane(lat_deg=true.x_lat_deg, lon_deg=true.x_lon_deg)
    place = plane.to_plane(np.array([arena.x_lat_deg]), np.array([arena.x_lon_deg]))
    for axis in place:
        rows.put("X per axis", float(axis[0]), arena.sd_m)
    offset = placement.track_offset_m
    rows.put("track offset", offset.value - true.track_offset_m, offset.sd)


def end_right(track: Track, truth: Truth, sheet: str) -> bool:
    """Whether the sheet tells the right end to be A."""
    if track.path is None or track.placement is None:
        return False
    gaits = decode(track.motion, track.path)
    odds = other_end_log_odds(
        track.path,
        layout_of(sheet, round(track.placement.track_offset_m.value, 1)),
        gait_t_s=np.array([bout.start_s for bout in gaits.bouts]),
        gait_names=[bout.gait for bout in gaits.bouts],
    )
    x, y = track.path.at(truth.path.t_s)
    off = [np.median(np.hypot(s * x - truth.path.x_m, s * y - truth.path.y_m)) for s in (1, -1)]
    return (odds >= 0) == (off[0] < off[1]) and bool(min(off) < 5.0)


def rides(count: int, seed: int) -> list[str]:
    """Figures over rides of sheets."""
    rows, found, size_right, told_right, ends = Rows(), 0, 0, 0, 0
    chosen = list(cases(seed + count, 0))[seed:]
    for case in chosen:
        scenario = replace(Scenario.drawn(case.seed), noise=case.grade)
        faults = [case.fault] if case.fault else []
        made = simulate(layout_of(case.sheet), seed=case.seed, scenario=scenario, faults=faults)
        wanted = layout_of(case.sheet).sheet.arena
        track = follow(made.recording())
        free = track.placement is not None and track.placement.arena.size == wanted
        found += track.placement is not None
        size_right += free
        if not free:
            track = follow(made.recording(), size=wanted)
            print(f"  seed {case.seed} {case.sheet} {case.grade}: size not found", file=sys.stderr)
        told_right += track.placement is not None
        end = end_right(track, made.truth, case.sheet)
        ends += end
        if not end:
            print(f"  seed {case.seed} {case.sheet} {case.grade}: end wrong", file=sys.stderr)
        against_the_ride(track, made.truth, rows)
        against_the_earth(track, made.truth, rows)
    share = 100 / max(len(chosen), 1)
    return [
        f"rides: {len(chosen)}; school found without a size {found}, size right {size_right} = "
        f"{share * size_right:.1f} %; with the sheet's size found {told_right} = "
        f"{share * told_right:.1f} %, end right {ends} = {share * ends:.1f} % (goal 99 %)",
        rows.line("heading against the ride", "deg", "0.4 median"),
        rows.line("centre against the ride", "m", "0.5 median"),
        rows.line("bearing", "deg", "95 %"),
        rows.line("X per axis", "m", "95 %"),
        rows.line("track offset", "m", "95 %"),
    ]


def never(count: int, seed: int) -> list[str]:
    """How many rides that never were in a school were placed all the same."""
    placed = []
    for kind in KINDS:
        for number in range(seed, seed + count):
            if follow(never_in_school(kind, number)).placement is not None:
                placed.append(f"{kind} {number}")
    total = count * len(KINDS)
    return [f"never in a school: {len(placed)} of {total} placed (goal 0) {', '.join(placed)}"]


def lap_corners(half_y_m: float, count: int) -> list[tuple[float, float]]:
    """Corners of laps walked half a metre inside the boards, from A."""
    x, y = HALF_WIDTH_M - 0.5, half_y_m - 0.5
    return [(0.0, -y), *[(-x, -y), (-x, y), (x, y), (x, -y)] * count, (0.0, -y)]


def laps(count: int, seed: int, rounds: int) -> list[str]:
    """Size and bearing of a school surveyed by walked laps, positions only."""
    rows, right = Rows(), 0
    for number in range(seed, seed + count):
        rng = np.random.default_rng([number, rounds])
        size = SIZES[number % 2]
        line = line_through(lap_corners(HALF_LENGTH_M[size], rounds), 1.35, rng, 1.5)
        found = survey(fixes_of(*line, rng, wander_m=0.7, bearing_deg=BEARING_DEG))
        right += found.arena.size == size
        rows.put(
            "bearing",
            _half_turns(found.arena.bearing_deg - BEARING_DEG),
            found.arena.bearing_sd_deg,
        )
    name = f"{rounds} walked lap{'s' if rounds > 1 else ''}"
    return [f"{name}: size right {right} of {count}; {rows.line('bearing', 'deg', '0.5')}"]


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy placement")
    parser.add_argument("--rides", type=int, default=30)
    parser.add_argument("--laps", type=int, default=30)
    parser.add_argument("--never", type=int, default=3, help="per kind of ride")
    parser.add_argument("--seed", type=int, default=0)
    chosen = parser.parse_args()
    if chosen.laps:
        for rounds in (1, 2):
            print("\n".join(laps(chosen.laps, chosen.seed, rounds)), flush=True)
    if chosen.never:
        print("\n".join(never(chosen.never, chosen.seed)), flush=True)
    if chosen.rides:
        print("\n".join(rides(chosen.rides, chosen.seed)), flush=True)


if __name__ == "__main__":
    main()
