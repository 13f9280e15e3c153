"""Which planted faults are called: eggs, small circles, and that perfect circles never are.

Run as ``python -m tests.accuracy called --rides 8 --seed 1``: ordinary noise, gyroscope; every
circle of a ride has the same fault. Eggs and perfect circles are ridden in the first canter sheet,
small ones three times over at one place on either rein. The card of what a ride would have shown is
held against faults that were ridden: how often those sizes were called that it says would have
been. ``--without-speed`` leaves the speed column out. ``--keep FILE`` adds the rides to a file,
goes on where it was left and tells of all that it holds; two processes keep a file each, and
``--rides 0 --also FILE FILE`` tells of both.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from scipy.stats import binomtest

from report.bands import bands_of
from report.detection import detection_rows
from report.pipeline import Analysis, Options, analyse_recording
from report.result import Finding, MovementRow
from sample_rides.faults import Fault, FaultKind, Unit
from sample_rides.scenario import Scenario
from sample_rides.sheets import demo_sheet
from sample_rides.simulate import simulate
from track.lay_out import lay_out
from track.sheet import Sheet
from track.sheet_file import parse_sheet

SHEET = demo_sheet("first canter")
THREE = parse_sheet(
    "title: Larch Wood three circles\narena: 20x40\nenter: trot\nlevel: first canter\n"
    "1  line A X C, turn left at C\n2  circle left 20 at E\n3  circle left 20 at E\n"
    "4  circle left 20 at E\n5  track E K A F, diagonal F X H\n"
    "6  track H C M B, circle right 20 at B\n7  circle right 20 at B\n8  circle right 20 at B\n"
    "9  track B F A, turn right at A, line A X, halt at X for 4 s\n"
)
SHAPE = ("diameter", "length_minus_width", "out_of_round", "second_half")
GOALS: Final[Mapping[str, str]] = {
    "egg of 4 m, single circles": "goal 90 % or more",
    "egg of 4 m, quarters": "goal: seen",
    "egg of 4 m, no quarters could be counted": "none is best",
    "perfect circle, quarters": "none is best",
    "circle 2 m small, single": "no goal",
    "circle 2 m small, three repeats": "goal 80 % or more",
    "perfect circle, any measure of shape": "goal below 1 %",
    "card: eggs": "claimed 90 %",
    "card: late": "claimed 90 %",
    "card: wobble": "claimed 90 %",
    "card: tempo": "claimed 90 %",
}
"""Questions in the order they are told, and what is wanted of each."""


def ridden(
    seed: int, kind: FaultKind | None, amount: float, scenario: Scenario, sheet: Sheet = SHEET
) -> Analysis:
    """Ride a sheet with one fault in each of its circles."""
    layout = lay_out(sheet)
    numbers = [m.number for m in layout.movements if any(s.kind == "circle" for s in m.stretches)]
    faults = [] if kind is None else [
        Fault(kind=kind, movement=number, amount=amount, unit="m") for number in numbers
    ]  # fmt: skip
    ride = simulate(layout, seed=seed, scenario=scenario, faults=faults)
    return analyse_recording(ride.recording(), sheet, bands_of(sheet.level), Options())


def of_circles(made: Analysis, measures: Sequence[str]) -> list[Finding]:
    """Findings of the asked circles."""
    circles = [
        row for row in made.result.figures if row.kind == "circle" and row.movement is not None
    ]
    return [f for row in circles for f in row.findings if f.measure in measures]


def outside(findings: Sequence[Finding]) -> list[bool]:
    """Whether each finding is called outside."""
    return [f.verdict == "outside" for f in findings]


PLANTED: Final[Mapping[str, tuple[FaultKind, Unit, str]]] = {
    "late": ("late", "strides", "placement"),
    "wobble": ("wobble", "m", "wander"),
    "tempo": ("tempo", "spm", "tempo_change"),
}
"""Faults of the card besides the egg: how they are ridden, and the measure that shows them."""


def card_claims(plain: Analysis, fault: str, seed: int, scenario: Scenario) -> list[bool]:
    """Ride the smallest size that the card of a plain ride says would be shown.

    It is planted into every second movement, so that a tempo has one before it to be held
    against; told is, for each place the plain ride rates, whether it was called outside.
    """
    kind, unit, measure = PLANTED[fault]
    row = next((r for r in detection_rows(plain.result, plain.ridden) if r.fault == fault), None)
    if row is None or row.smallest_shown is None:
        return []
    places = sorted({
        m.number
        for m in plain.result.movements
        if any(f.measure == measure and rated(f) and begins(m, f, fault) for f in m.findings)
    })  # fmt: skip
    faults = [
        Fault(kind=kind, movement=number, amount=row.smallest_shown, unit=unit)
        for number in places[:: 2 if fault == "tempo" else 1]
    ]
    layout = lay_out(SHEET)
    ride = simulate(layout, seed=seed, scenario=scenario, faults=faults)
    made = analyse_recording(ride.recording(), SHEET, bands_of(SHEET.level), Options())
    planted = {fault.movement for fault in faults}
    return [
        f.verdict == "outside"
        for m in made.result.movements
        if m.number in planted
        for f in m.findings
        if f.measure == measure and rated(f) and begins(m, f, fault)
    ]


def begins(movement: MovementRow, finding: Finding, fault: str) -> bool:
    """True unless a tempo is held against strides of the same movement: all of it is quicker."""
    if fault != "tempo":
        return True
    starts = (movement.start_s, finding.start_s)
    return None not in starts and (finding.start_s or 0.0) < (movement.start_s or 0.0) + 2.0


def rated(finding: Finding) -> bool:
    """True for a finding that the card plants into: rated, and not against a window."""
    return finding.verdict is not None and finding.low != finding.high


def true_of_card(made: Analysis, eggs: Sequence[tuple[float, Analysis]]) -> list[bool]:
    """Whether each egg was called whose size the card of the plain ride says would be shown."""
    rows = [r for r in detection_rows(made.result, made.ridden) if r.fault == "egg"]
    if not rows or rows[0].smallest_shown is None:
        return []
    return [
        f.verdict == "outside"
        for size, egg in eggs
        if size >= rows[0].smallest_shown
        for f in of_circles(egg, ["length_minus_width"])
    ]


def answers(seed: int, *, speed: bool) -> dict[str, list[bool]]:
    """Ride everything once for one seed: for each question, what was called outside."""
    usual = replace(Scenario(), speed_and_course=speed)
    perfect = replace(usual, imperfection=0.0)
    eggs = {size: ridden(seed, "egg", size, usual) for size in (2.0, 3.0, 4.0)}
    small = ridden(seed, "small", 2.0, usual, THREE)
    clean = ridden(seed, None, 0.0, perfect)
    threes = [row for row in small.result.repeats if row.kind == "circle" and row.count == 3]
    pooled = [f for row in threes for f in row.findings if f.measure == "diameter"]
    quarters = of_circles(eggs[4.0], ["quarter_spread"])
    return {
        "egg of 4 m, single circles": outside(of_circles(eggs[4.0], ["length_minus_width"])),
        "egg of 4 m, quarters": outside([f for f in quarters if f.value is not None]),
        "egg of 4 m, no quarters could be counted": [f.value is None for f in quarters],
        "circle 2 m small, single": outside(of_circles(small, ["diameter"])),
        "circle 2 m small, three repeats": outside(pooled),
        "perfect circle, any measure of shape": outside(of_circles(clean, SHAPE)),
        "perfect circle, quarters": outside(of_circles(clean, ["quarter_spread"])),
        "card: eggs": true_of_card(clean, list(eggs.items())),
        **{f"card: {fault}": card_claims(clean, fault, seed, perfect) for fault in PLANTED},
    }


def told(hits: Sequence[bool]) -> str:
    """Share with its exact 99 % interval (Clopper and Pearson 1934 [recalled])."""
    if not hits:
        return "none made"
    low, high = binomtest(sum(hits), len(hits)).proportion_ci(0.99)
    share = 100 * sum(hits) / len(hits)
    return f"{share:.1f} % of {len(hits)} (99 % interval {100 * low:.1f} to {100 * high:.1f})"


Kept = dict[str, dict[str, list[bool]]]
"""What was called, by seed and question."""


def read(file: Path) -> Kept:
    """Read the rides of a file; none where there is no such file yet."""
    kept: Kept = json.loads(file.read_text()) if file.exists() else {}
    return kept


def main() -> None:
    """Ride, and print one line per question."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--without-speed", action="store_true", help="no speed column")
    parser.add_argument("--keep", type=Path, help="add the rides to this file, and tell of all")
    parser.add_argument("--also", type=Path, nargs="*", default=[], help="tell of these files too")
    args = parser.parse_args()
    kept: Kept = {} if args.keep is None else read(args.keep)
    for seed in range(args.seed, args.seed + args.rides):
        if str(seed) in kept:
            continue
        kept[str(seed)] = answers(seed, speed=not args.without_speed)
        if args.keep is not None:
            args.keep.write_text(json.dumps(kept))
    for file in args.also:
        kept |= read(file)
    together: dict[str, list[bool]] = defaultdict(list)
    for ride in kept.values():
        for question, hits in ride.items():
            together[question] += hits
    print(f"rides: {len(kept)}; called outside:")
    for question, goal in GOALS.items():
        print(f"{question}: {told(together[question])}; {goal}")


if __name__ == "__main__":
    main()
