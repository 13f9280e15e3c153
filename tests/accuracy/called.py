"""Which planted faults are called: eggs, small circles, and that perfect circles never are.

Run as ``python -m tests.accuracy.called --rides 8 --seed 1``: ordinary noise, gyroscope, first
canter sheet; every circle of a ride has the same fault.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from report.bands import bands_of
from report.pipeline import Options, analyse_recording
from report.result import Finding, Result
from sample_rides.faults import Fault, FaultKind
from sample_rides.scenario import Scenario
from sample_rides.sheets import demo_sheet
from sample_rides.simulate import simulate
from track.lay_out import lay_out

SHEET = "first canter"
SHAPE = ("diameter", "length_minus_width", "out_of_round", "second_half")


def ridden(seed: int, kind: FaultKind | None, amount: float, scenario: Scenario) -> Result:
    """Ride the sheet with one fault in each of its circles."""
    sheet = demo_sheet(SHEET)
    layout = lay_out(sheet)
    numbers = [m.number for m in layout.movements if any(s.kind == "circle" for s in m.stretches)]
    faults = [] if kind is None else [
        Fault(kind=kind, movement=number, amount=amount, unit="m") for number in numbers
    ]  # fmt: skip
    ride = simulate(layout, seed=seed, scenario=scenario, faults=faults)
    return analyse_recording(ride.recording(), sheet, bands_of(sheet.level), Options()).result


def of_circles(result: Result, measures: Sequence[str]) -> list[Finding]:
    """Findings of the asked circles."""
    circles = [row for row in result.figures if row.kind == "circle" and row.movement is not None]
    return [f for row in circles for f in row.findings if f.measure in measures]


def share(findings: Sequence[Finding]) -> str:
    """Share of findings that are called outside, and how many there are."""
    called = sum(f.verdict == "outside" for f in findings)
    return f"{100 * called / max(len(findings), 1):.1f} % of {len(findings)}"


def main() -> None:
    """Ride, and print one line per question."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    seeds = range(args.seed, args.seed + args.rides)
    usual, perfect = Scenario(), Scenario(imperfection=0.0)
    eggs = [ridden(seed, "egg", 4.0, usual) for seed in seeds]
    small = [ridden(seed, "small", 2.0, usual) for seed in seeds]
    clean = [ridden(seed, None, 0.0, perfect) for seed in seeds]
    egg = [f for r in eggs for f in of_circles(r, ["length_minus_width"])]
    single = [f for r in small for f in of_circles(r, ["diameter"])]
    pooled = [
        f
        for r in small
        for row in r.repeats
        if row.kind == "circle" and row.asked_m == 20.0
        for f in row.findings
        if f.measure == "diameter"
    ]
    never = [f for r in clean for f in of_circles(r, SHAPE)]
    print(f"egg of 4 m called outside, single circles: {share(egg)}")
    print(f"circle 2 m small called outside, single: {share(single)}")
    print(f"circle 2 m small called outside, repeats pooled: {share(pooled)}")
    print(f"perfect circle called outside: {share(never)}")
    quarters = [f for r in eggs for f in of_circles(r, ["quarter_spread"])]
    print(f"egg of 4 m, quarters called outside: {share(quarters)}")


if __name__ == "__main__":
    main()
