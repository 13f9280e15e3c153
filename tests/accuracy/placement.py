"""How well a school is placed in a ride, refused where there is none, and surveyed from one lap.

``python -m tests.accuracy placement --rides 200 --seed 0 --laps 100 --never 10``. Rides are made up
from three sheets and three grades of position noise in turn, with everything else drawn anew; the
size is found by the ride and, a second time where it went wrong, told as a sheet tells it. Goals:
size right and end right in 99 % of rides with a sheet, heading 0.4 degrees and centre 0.5 m
(median, against the ride), no school where nobody rode in one, and one walked lap within 0.5
degrees with the size right.

``--keep FILE`` adds the figures to a file and tells of all that it holds, so that 200 rides can be
made in parts: ``--rides 50 --laps 0 --never 0 --seed 50 --keep FILE`` and so on.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.stats import binom

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
    """Errors with their claimed sd, and counts, by name."""

    def __init__(self) -> None:
        self.rows: dict[str, list[tuple[float, float]]] = {}
        self.counts: Counter[str] = Counter()

    @classmethod
    def read(cls, file: Path) -> Rows:
        """What runs before have kept."""
        kept, rows = json.loads(file.read_text()), cls()
        rows.rows = {name: [(e, s) for e, s in each] for name, each in kept["rows"].items()}
        rows.counts = Counter(kept["counts"])
        return rows

    def write(self, file: Path) -> None:
        """Keep them for runs to come."""
        file.write_text(json.dumps({"rows": self.rows, "counts": self.counts}))

    def put(self, name: str, error: float, sd: float = float("nan")) -> None:
        self.rows.setdefault(name, []).append((error, sd))

    def line(self, name: str, unit: str, goal: str) -> str:
        """Median, p95 and, where an sd was claimed, how many intervals hold."""
        error, sd = np.array(self.rows.get(name, [(np.nan, np.nan)])).T
        size = np.abs(error)
        told = f"{name}: median {np.median(size):.2f} {unit}, p95 {np.percentile(size, 95):.2f}"
        if np.isfinite(sd).all():
            held = float(np.mean(size <= WITHIN_95 * sd))
            low, high = (float(binom.ppf(q, len(sd), 0.95)) / len(sd) for q in (0.005, 0.995))
            told += f", claimed sd {np.median(sd):.2f}, within 95 %: {100 * held:.1f} %"
            told += f" of {len(sd)} ({100 * low:.0f}-{100 * high:.0f} % of independent ones)"
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


def rides(rows: Rows, count: int, seed: int) -> None:
    """Figures over rides of sheets."""
    for case in list(cases(seed + count, 0))[seed:]:
        scenario = replace(Scenario.drawn(case.seed), noise=case.grade)
        faults = [case.fault] if case.fault else []
        made = simulate(layout_of(case.sheet), seed=case.seed, scenario=scenario, faults=faults)
        wanted = layout_of(case.sheet).sheet.arena
        track = follow(made.recording())
        free = track.placement is not None and track.placement.arena.size == wanted
        rows.counts["rides"] += 1
        rows.counts["found"] += track.placement is not None
        rows.counts["size"] += free
        if not free:
            track = follow(made.recording(), size=wanted)
            print(f"  seed {case.seed} {case.sheet} {case.grade}: size not found", file=sys.stderr)
        rows.counts["told"] += track.placement is not None
        end = end_right(track, made.truth, case.sheet)
        rows.counts["end"] += end
        if not end:
            print(f"  seed {case.seed} {case.sheet} {case.grade}: end wrong", file=sys.stderr)
        against_the_ride(track, made.truth, rows)
        against_the_earth(track, made.truth, rows)


def rides_told(rows: Rows) -> list[str]:
    """The lines of rides of sheets."""
    counts = rows.counts
    if not counts["rides"]:
        return []
    share = 100 / counts["rides"]
    return [
        f"rides: {counts['rides']}; school found without a size {counts['found']}, size right "
        f"{counts['size']} = {share * counts['size']:.1f} %; with the sheet's size found "
        f"{counts['told']} = {share * counts['told']:.1f} %, end right {counts['end']} = "
        f"{share * counts['end']:.1f} % (goal 99 %)",
        rows.line("heading against the ride", "deg", "0.4 median"),
        rows.line("centre against the ride", "m", "0.5 median"),
        rows.line("bearing", "deg", "95 %"),
        rows.line("X per axis", "m", "95 %"),
        rows.line("track offset", "m", "95 %"),
    ]


def never(rows: Rows, count: int, seed: int) -> None:
    """How many rides that never were in a school were placed all the same."""
    for kind in KINDS:
        for number in range(seed, seed + count):
            placed = follow(never_in_school(kind, number)).placement is not None
            rows.counts["never"] += 1
            rows.counts["never placed"] += placed
            if placed:
                print(f"  {kind} {number}: placed", file=sys.stderr)


def never_told(rows: Rows) -> list[str]:
    """The line of rides that never were in a school."""
    total, placed = rows.counts["never"], rows.counts["never placed"]
    return [f"never in a school: {placed} of {total} placed (goal 0)"] if total else []


def lap_corners(half_y_m: float, count: int) -> list[tuple[float, float]]:
    """Corners of laps walked half a metre inside the boards, from A."""
    x, y = HALF_WIDTH_M - 0.5, half_y_m - 0.5
    return [(0.0, -y), *[(-x, -y), (-x, y), (x, y), (x, -y)] * count, (0.0, -y)]


def _laps(rounds: int) -> str:
    return f"{rounds} walked lap{'s' if rounds > 1 else ''}"


def laps(rows: Rows, count: int, seed: int, rounds: int) -> None:
    """Size and bearing of a school surveyed by walked laps, positions only."""
    name = _laps(rounds)
    for number in range(seed, seed + count):
        rng = np.random.default_rng([number, rounds])
        size = SIZES[number % 2]
        line = line_through(lap_corners(HALF_LENGTH_M[size], rounds), 1.35, rng, 1.5)
        found = survey(fixes_of(*line, rng, wander_m=0.7, bearing_deg=BEARING_DEG))
        rows.counts[name] += 1
        rows.counts[f"{name}, size"] += found.arena.size == size
        off = _half_turns(found.arena.bearing_deg - BEARING_DEG)
        rows.put(f"{name}, bearing", off, found.arena.bearing_sd_deg)


def laps_told(rows: Rows, rounds: int) -> list[str]:
    """The line of walked laps."""
    name = _laps(rounds)
    if not rows.counts[name]:
        return []
    told = rows.line(f"{name}, bearing", "deg", "0.5")
    return [f"{name}: size right {rows.counts[f'{name}, size']} of {rows.counts[name]}; {told}"]


def main() -> None:
    """Make rides, and tell of them and of those that were kept."""
    parser = argparse.ArgumentParser(prog="python -m tests.accuracy placement")
    parser.add_argument("--rides", type=int, default=30)
    parser.add_argument("--laps", type=int, default=30)
    parser.add_argument("--never", type=int, default=3, help="per kind of ride")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--keep", type=Path, help="add the figures to this file, and tell of all")
    chosen = parser.parse_args()
    rows = Rows.read(chosen.keep) if chosen.keep and chosen.keep.exists() else Rows()
    for rounds in (1, 2):
        laps(rows, chosen.laps, chosen.seed, rounds)
    never(rows, chosen.never, chosen.seed)
    rides(rows, chosen.rides, chosen.seed)
    if chosen.keep:
        rows.write(chosen.keep)
    told = [*laps_told(rows, 1), *laps_told(rows, 2), *never_told(rows), *rides_told(rows)]
    print("\n".join(told))


if __name__ == "__main__":
    main()
