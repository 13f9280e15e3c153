"""Which planted faults are called: eggs, small circles, and that perfect circles never are.

Run as ``python -m tests.accuracy.called --rides 8 --seed 1``: ordinary noise, gyroscope; every
circle of a ride has the same fault. Eggs and perfect circles are ridden in the first canter sheet,
small ones three times over at one place. The card of what a ride would have shown is held
against eggs that were ridden: how often those sizes were called that it says would have been.
"""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import Final

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
    "4  circle left 20 at E\n5  track E K A F B\n6  turn left at B, line B X, halt at X for 4 s\n"
)
SHAPE = ("diameter", "length_minus_width", "out_of_round", "second_half")


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


def called(findings: Sequence[Finding]) -> str:
    """Share of findings that are called outside, and how many there are."""
    count = sum(f.verdict == "outside" for f in findings)
    return f"called outside {100 * count / max(len(findings), 1):.1f} % of {len(findings)}"


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


def main() -> None:
    """Ride, and print one line per question."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    seeds = range(args.seed, args.seed + args.rides)
    usual, perfect = Scenario(), Scenario(imperfection=0.0)
    eggs = [ridden(seed, "egg", 4.0, usual) for seed in seeds]
    lesser = [ridden(seed, "egg", size, usual) for seed in seeds for size in (2.0, 3.0)]
    small = [ridden(seed, "small", 2.0, usual, THREE) for seed in seeds]
    clean = [ridden(seed, None, 0.0, perfect) for seed in seeds]
    single = [f for r in small for f in of_circles(r, ["diameter"])]
    threes = [row for r in small for row in r.result.repeats if row.count == 3]
    pooled = [f for row in threes for f in row.findings if f.measure == "diameter"]
    never = [f for r in clean for f in of_circles(r, SHAPE)]
    print(f"egg of 4 m, single circles: {share(eggs, 'length_minus_width')} (goal 90 %)")
    print(f"egg of 4 m, its quarters, in one gait: {share(eggs, 'quarter_spread', made=True)}")
    print(f"circle 2 m small, single: {called(single)}")
    print(f"circle 2 m small, three repeats pooled: {called(pooled)} (goal 80 %)")
    print(f"perfect circle: {called(never)} (goal below 1 %)")
    sized = [
        (c, [(2.0, lesser[2 * i]), (3.0, lesser[2 * i + 1]), (4.0, eggs[i])])
        for i, c in enumerate(clean)
    ]
    told = [hit for made, ridden_eggs in sized for hit in true_of_card(made, ridden_eggs)]
    shown = f"{100 * sum(told) / max(len(told), 1):.1f} % of {len(told)}"
    print(f"eggs that the card says would be shown, called: {shown} (claimed 90 %)")
    for fault in PLANTED:
        hits = [
            hit
            for seed, made in zip(seeds, clean, strict=True)
            for hit in card_claims(made, fault, seed, perfect)
        ]
        shown = f"{100 * sum(hits) / max(len(hits), 1):.1f} % of {len(hits)}"
        print(f"{fault}: what the card says would be shown, called: {shown} (claimed 90 %)")


def share(rides: Sequence[Analysis], measure: str, *, made: bool = False) -> str:
    """Share called outside of one measure of all circles of some rides.

    Parameters
    ----------
    made : bool
        Only where the measure could be made: the strides of a circle's quarters are counted in
        one gait, so that a circle with a transition in it has none.
    """
    found = [f for ride in rides for f in of_circles(ride, [measure])]
    return called([f for f in found if f.value is not None or not made])


if __name__ == "__main__":
    main()
