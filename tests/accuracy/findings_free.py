"""Findings of figures nobody asked for and of changes of gait, on either signal model.

Run as ``python -m tests.accuracy findings_free --rides 20 --seed 700 --model second``. No sheet:
circles and half circles are found in the ride and in the truth alike and the same measures are
taken on both; half circles of the simulator's sheets have measures of their own. Told like
:mod:`tests.accuracy.findings`, beside the times of changes of gait and the figures missed or
invented. ``--keep FILE`` adds the cases to a file and tells of all that it holds.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path as FilePath
from typing import Final, cast

import numpy as np

from gait.bouts import Bout, Gait, Gaits, Stride, Transition
from ingest.recording import Recording
from report.bands import bands_of
from report.figures_found import figure_rows
from report.pipeline import Analysis, Options, analyse_recording
from report.result import FigureRow
from report.settle import Means
from report.sheet_found import Found
from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from sample_rides.simulate import simulate
from tests.accuracy.findings import Case, case_of, table
from tests.accuracy.findings_truth import NoDoubt, true_gaits, true_path
from tests.second_model import SecondTruth, ride
from track.arena import Arena
from track.lay_out import lay_out
from track.path import Estimate, Floats, Path
from track.stage import Placement, Track

STEP_S: Final = 0.1
SAME: Final = 0.8
"""Two figures that share so much of the longer one are the same."""
NEAR_S: Final = 3.0
"""A change of gait farther from the true one is another."""
KNOWN: Final = Means(gyro=True, speed=True, course=True, boards=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """Figures that are there, that were not found, and that were found where none is."""

    true: int = 0
    missed: int = 0
    invented: int = 0


def path_of(t_s: Floats, x_m: Floats, y_m: Floats) -> Path:
    """A known line in the arena as a path without doubt."""
    at = np.arange(t_s[0], t_s[-1], STEP_S)
    x, y = np.interp(at, t_s, x_m), np.interp(at, t_s, y_m)
    along_x, along_y = np.gradient(x, STEP_S), np.gradient(y, STEP_S)
    speed = np.hypot(along_x, along_y)
    going = np.flatnonzero(speed > 0.1)
    heading = np.unwrap(np.arctan2(along_y, along_x)[going])
    held = np.interp(np.arange(at.size), going, heading)
    none = np.zeros(at.size)
    return Path(
        t_s=at, x_m=x, y_m=y, sd_x_m=none, sd_y_m=none, speed_ms=speed, speed_sd_ms=none,
        heading_rad=held, heading_sd_rad=none, turn_rads=np.gradient(held, STEP_S),
        posterior=NoDoubt(), frame="arena",
    )  # fmt: skip


def gaits_of(truth: SecondTruth) -> Gaits:
    """Bouts, strides and changes as they were."""
    return Gaits(
        bouts=tuple(
            Bout(
                gait=cast(Gait, b.gait), start_s=b.start_s, end_s=b.end_s,
                confidence=1.0, because="truth",
            )
            for b in truth.bouts
        ),
        strides=tuple(
            Stride(t_s=s.t_s, duration_s=s.duration_s, gait=cast(Gait, s.gait))
            for s in truth.strides
        ),
        stride_sd_s=1e-6,
        transitions=tuple(
            Transition(
                from_gait=cast(Gait, t.from_gait), to_gait=cast(Gait, t.to_gait), t_s=t.t_s,
                t_sd_s=0.0, between_strides=0.0,
            )
            for t in truth.transitions
        ),
        events=(),
    )  # fmt: skip


def true_figures(made: Analysis, path: Path, gaits: Gaits) -> list[FigureRow]:
    """Every figure of the true line, with its findings."""
    ridden = replace(
        made.ridden, path=path, local=path, gaits=gaits, motion=None, lag_s=None,
        clock_sd_s=0.0, means=KNOWN,
    )  # fmt: skip
    arena = Arena(
        name="", size=ridden.names.size, x_lat_deg=0.0, x_lon_deg=0.0, bearing_deg=0.0,
        sd_m=0.0, bearing_sd_deg=0.0,
    )  # fmt: skip
    placement = Placement(
        arena=arena, source="ride", ends="unknown", ends_because="",
        track_offset_m=Estimate(value=ridden.track_offset_m, sd=0.0),
    )  # fmt: skip
    track = Track(path=path, placement=placement, motion=None, clock=None)
    return figure_rows(ridden, Found(track=track), [])


def _shared(one: FigureRow, other: FigureRow) -> float:
    if (one.kind, one.rein) != (other.kind, other.rein):
        return 0.0
    both = min(one.end_s, other.end_s) - max(one.start_s, other.start_s)
    return both / max(one.end_s - one.start_s, other.end_s - other.start_s)


def figure_cases(
    found: Sequence[FigureRow], true: Sequence[FigureRow], seed: int
) -> tuple[list[Case], Counted]:
    """Findings of figures found beside those of the true ones, and how many have no partner."""
    cases: list[Case] = []
    matched = 0
    for row in found:
        partner = max(true, key=lambda other: _shared(row, other), default=None)
        if partner is None or _shared(row, partner) < SAME:
            continue
        matched += 1
        truths = {finding.measure: finding for finding in partner.findings}
        for finding in row.findings:
            truth = truths.get(finding.measure)
            case = None if truth is None else case_of(finding, truth, seed, _where(row))
            if case is not None and truth is not None and finding.gait == truth.gait:
                half = "half: " if row.kind == "half circle" else ""
                cases.append(replace(case, measure=f"{half}{case.measure}"))
    counted = Counted(true=len(true), missed=len(true) - matched, invented=len(found) - matched)
    return cases, counted


def _where(row: FigureRow) -> str:
    return f"{row.kind} at {row.start_s:.0f} s"


def change_cases(made: Analysis, gaits: Gaits, seed: int) -> Iterator[Case]:
    """The times of changes of gait on the positions' clock."""
    for row in made.result.transitions:
        alike = [
            t for t in gaits.transitions
            if t.to_gait == row.to_gait and abs(t.t_s - row.t_s) < NEAR_S
        ]  # fmt: skip
        if alike and row.t_sd_s is not None:
            truth = min(alike, key=lambda t: abs(t.t_s - row.t_s))
            yield Case(
                measure="change at, s", value=row.t_s, sd=row.t_sd_s, truth=truth.t_s,
                verdict=None, low=None, high=None, seed=seed,
                where=f"{row.from_gait} to {row.to_gait}", gait=row.to_gait,
            )  # fmt: skip


def cases_of(
    recording: Recording, path: Path, gaits: Gaits, size: str, seed: int
) -> tuple[list[Case], Counted]:
    """Analyse one ride without a sheet and set it beside its truth."""
    made = analyse_recording(recording, None, bands_of("walk and trot"), Options(size=size))  # type: ignore[arg-type]
    if made.result.arena is None:
        return [], Counted()
    free = [row for row in made.result.figures if row.movement is None]
    cases, counted = figure_cases(free, true_figures(made, path, gaits), seed)
    return [*cases, *change_cases(made, gaits, seed)], counted


def second_cases(seed: int, *, walls: bool) -> tuple[list[Case], Counted]:
    """One ride of the second signal model; in half of them positions step beside a wall."""
    made = ride(seed, walls=walls)
    truth = made.truth
    path = path_of(truth.t_s, truth.x_m, truth.y_m)
    return cases_of(made.recording, path, gaits_of(truth), truth.size, seed)


def simulated_cases(seed: int) -> tuple[list[Case], Counted]:
    """One ride of a sheet of the simulator, the sheet not told."""
    sheet = demo_sheet(DEMO_SHEETS[seed % len(DEMO_SHEETS)])
    made = simulate(lay_out(sheet), seed=seed, scenario=Scenario.drawn(seed))
    path, gaits = true_path(made.truth), true_gaits(made.truth)
    return cases_of(made.recording(), path, gaits, sheet.arena, seed)


def main() -> None:
    """Run the rides and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=20)
    parser.add_argument("--seed", type=int, default=700)
    parser.add_argument("--model", choices=["second", "simulator"], default="second")
    parser.add_argument("--open", action="store_true", help="no wall that positions step beside")
    parser.add_argument("--keep", type=FilePath, help="add the cases to this file, tell of all")
    args = parser.parse_args()
    cases: list[Case] = []
    counts: list[Counted] = []
    if args.keep is not None and args.keep.exists():
        kept = json.loads(args.keep.read_text())
        cases, counts = [Case(**c) for c in kept["cases"]], [Counted(**c) for c in kept["counts"]]
    for seed in range(args.seed, args.seed + args.rides):
        simulated = args.model == "simulator"
        one = simulated_cases(seed) if simulated else second_cases(seed, walls=not args.open)
        more, counted = one
        cases += more
        counts.append(counted)
    if args.keep is not None:
        text = {"cases": [asdict(c) for c in cases], "counts": [asdict(c) for c in counts]}
        args.keep.write_text(json.dumps(text))
    print(table(cases))
    true, missed, invented = (
        sum(getattr(c, name) for c in counts) for name in ("true", "missed", "invented")
    )
    print(f"figures: {true} true, {missed} missed, {invented} found where none is")


if __name__ == "__main__":
    main()
