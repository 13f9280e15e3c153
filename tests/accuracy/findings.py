"""How true the findings are: seeded made-up rides with planted faults, against their truth.

Run as ``python -m tests.accuracy.findings --rides 300 --seed 1``. Prints, per measure, how many
findings were made, bias and root mean square error, stated sd, how often the 95 % interval holds
the truth, and how often a definite verdict is right. ``--keep FILE`` adds the cases to a file
after every ride, goes on where it was left and prints the table of all that it holds: a long run is
made in parts by seed. Two processes keep a file each; ``--rides 0 --also FILE FILE`` tells of both.
"""

from __future__ import annotations

import argparse
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np
from scipy.stats import binom

from report.bands import bands_of
from report.pipeline import Options, analyse_recording
from report.result import Finding
from sample_rides.faults import Fault
from sample_rides.scenario import Scenario
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from sample_rides.simulate import simulate
from tests.accuracy.findings_truth import keyed, true_findings
from track.lay_out import lay_out
from track.layout import Layout
from track.path import Floats

COUNTS = {"jog_strides", "break_strides", "between_strides", "settle_strides"}
"""Counts have no interval to be held against."""
NON_NEGATIVE = {
    "out_of_round", "wander", "heading_wobble", "quarter_spread", "centre_offset", "overshoot",
    "tempo_range", "loop_spread",
}  # fmt: skip
"""Held against their truth only where it is above two sd."""
DRAWS = 400
"""Times the rides are drawn anew for the band of measures that a ride has many of."""
TYPICAL_TROT_M = 1.0
"""Goal of the error of a transition's place at trot, 1 sd."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One finding with its truth."""

    measure: str
    value: float
    sd: float
    truth: float
    verdict: str | None
    low: float | None
    high: float | None
    seed: int
    where: str
    gait: str | None = None

    @property
    def windowed(self) -> bool:
        """True for a place asked between two letters: nought anywhere inside, never below."""
        return self.measure == "placement" and self.low == self.high

    @property
    def held(self) -> bool:
        """True when the 95 % interval holds the truth."""
        return abs(self.value - self.truth) <= 1.96 * self.sd

    @property
    def truly_within(self) -> bool:
        """True when the truth lies in the band."""
        above = self.low is None or self.truth >= self.low
        return above and (self.high is None or self.truth <= self.high)

    @property
    def right(self) -> bool | None:
        """Whether a definite verdict is right; None for one that is not definite."""
        if self.verdict not in ("within", "outside"):
            return None
        return self.truly_within == (self.verdict == "within")


def planted_faults(layout: Layout, rng: np.random.Generator) -> list[Fault]:
    """Three faults of known size on movements that can have them."""
    lines = [line for line in layout.movements if line.end_m > line.start_m]
    round_ones = [m for m in lines if any(s.kind == "circle" for s in m.stretches)]
    changing = [m for m in lines if any(c.where == "at" for c in m.changes)]
    straight = [m for m in lines if any(s.kind in ("line", "diagonal") for s in m.stretches)]
    faults = []
    for kind, pool in (("egg", round_ones), ("late", changing), ("wobble", straight)):
        if pool and rng.random() < 0.7:
            number = pool[rng.integers(len(pool))].number
            most = {"egg": 4.0, "late": 6.0, "wobble": 1.0}[kind]
            size = float(
                rng.uniform(0.3, 1.0) * most * (1 if kind == "wobble" else rng.choice([-1, 1]))
            )
            faults.append(Fault(kind=kind, movement=number, amount=size, unit="m"))  # type: ignore[arg-type]
    return faults


def cases_of(name: str, seed: int, scenario: Scenario | None) -> Iterator[Case]:
    """Simulate one ride, analyse it, and set every finding beside its truth."""
    sheet = demo_sheet(name)
    rng = np.random.default_rng(seed)
    layout = lay_out(sheet)
    ride = simulate(layout, seed=seed, scenario=scenario, faults=planted_faults(layout, rng))
    bands = bands_of(sheet.level)
    made = analyse_recording(ride.recording(), sheet, bands, Options())
    if made.layout is None or made.result.arena is None:
        return
    truth = true_findings(ride.truth, made.layout, bands, made.ridden.track_offset_m)
    for row in made.result.movements:
        for key, finding in keyed(row.number, row.run, row.findings).items():
            if key in truth:
                case = case_of(finding, truth[key], seed, f"{name} {key}")
                if case is not None:
                    yield case


def case_of(finding: Finding, truth: Finding, seed: int, where: str) -> Case | None:
    """Set one finding beside its truth; None where either could not be made."""
    if finding.value is None or finding.sd is None or truth.value is None:
        return None
    return Case(
        measure=finding.measure,
        value=finding.value,
        sd=finding.sd,
        truth=truth.value,
        verdict=finding.verdict,
        low=finding.low,
        high=finding.high,
        seed=seed,
        where=where,
        gait=finding.gait,
    )


def _surprise(case: Case) -> float:
    return abs(case.value - case.truth) / max(case.sd, 0.05)


def table(cases: Sequence[Case]) -> str:
    """One line per measure, and what the issue asks for below."""
    by_measure: dict[str, list[Case]] = defaultdict(list)
    for case in cases:
        by_measure[case.measure].append(case)
    lines = [
        f"{'measure':22s}{'n':>6s}{'rides':>6s}{'bias':>8s}{'rms':>8s}{'sd':>8s}{'tested':>7s}"
        f"{'held %':>8s}{'binomial 99 %':>15s}{'by ride 99 %':>14s}{'definite':>10s}"
        f"{'right %':>9s}{'near':>6s}{'open':>6s}"
    ]
    lines += [_line(name, rows) for name, rows in sorted(by_measure.items())]
    judged = [c for c in cases if c.right is not None]
    held = [c for c in cases if _counts_for_interval(c)]
    right = 100 * np.mean([bool(c.right) for c in judged])
    share = 100 * np.mean([c.held for c in held])
    sorted_rows = sorted(by_measure.items())
    off = [name for name, rows in sorted_rows if _inconsistent(rows)]
    still = [name for name in off if not _by_ride(by_measure[name])[2]]
    lines.append(f"rides: {len({c.seed for c in cases})}")
    lines.append(f"definite verdicts right: {right:.1f} % of {len(judged)} (goal 97 %)")
    lines.append(f"95 % intervals that hold the truth: {share:.1f} % of {len(held)} (goal 93-97 %)")
    lines.append(f"measures outside their binomial 99 % band: {', '.join(off) or 'none'}")
    lines.append(
        f"of these, not consistent with 95 % by rides either: {', '.join(still) or 'none'}"
    )
    lines += [_at_letters(by_measure["placement"])] if by_measure["placement"] else []
    return "\n".join(lines)


def _at_letters(placements: Sequence[Case]) -> str:
    """Error of the place of transitions asked at a letter, all of them and those with a trot."""
    rows = [c for c in placements if not c.windowed]
    trot = [c for c in rows if c.gait == "trot"]
    return "; ".join(
        f"placement at a letter, {name}: error {_rms(c.value - c.truth for c in part):.2f} m rms, "
        f"median {np.median([abs(c.value - c.truth) for c in part]):.2f} m, "
        f"stated {_rms(c.sd for c in part):.2f} m, of {len(part)}"
        for name, part in (("every gait", rows), (f"into trot (goal {TYPICAL_TROT_M} m)", trot))
        if part
    )


def _rms(values: Iterable[float]) -> float:
    return float(np.sqrt(np.mean(np.square(list(values)))))


def _counts_for_interval(case: Case) -> bool:
    if case.measure in COUNTS:
        return False
    if case.windowed:
        return abs(case.truth) > 2 * case.sd
    return case.measure not in NON_NEGATIVE or case.truth > 2 * case.sd


def _inconsistent(rows: Sequence[Case]) -> bool:
    """True where a measure's intervals hold the truth too often or too seldom for 95 %."""
    tested = [c for c in rows if _counts_for_interval(c)]
    low, high = binom.interval(0.99, len(tested), 0.95) if tested else (0.0, 0.0)
    return not low <= sum(c.held for c in tested) <= high


def _by_ride(rows: Sequence[Case]) -> tuple[float, float, bool]:
    """99 % band of the share held with as many findings as are independent, %; whether it holds.

    Findings of one ride share its clocks, lag and placement. How many independent ones they are
    worth follows from the spread of the share when whole rides are drawn anew (bootstrap, Efron
    1979 [recalled]) against that of single findings.
    """
    rides: dict[int, list[bool]] = defaultdict(list)
    for case in rows:
        if _counts_for_interval(case):
            rides[case.seed].append(case.held)
    if not rides:
        return float("nan"), float("nan"), True
    held = np.array([sum(own) for own in rides.values()])
    many = np.array([len(own) for own in rides.values()])
    share = float(held.sum() / many.sum())
    drawn = np.random.default_rng(1).integers(len(rides), size=(DRAWS, len(rides)))
    spread2 = float(np.var(held[drawn].sum(axis=1) / many[drawn].sum(axis=1)))
    worth = share * (1 - share) / spread2 if spread2 > 0 else float(many.sum())
    count = round(min(max(worth, float(len(rides))), float(many.sum())))
    low, high = (100 * float(end) / count for end in binom.interval(0.99, count, 0.95))
    return low, high, bool(low <= 100 * share <= high)


def _line(name: str, rows: Sequence[Case]) -> str:
    errors: Floats = np.array([c.value - c.truth for c in rows])
    tested = [c for c in rows if _counts_for_interval(c)]
    held = np.mean([c.held for c in tested]) if tested else np.nan
    low, high = binom.interval(0.99, max(len(tested), 1), 0.95)
    first, last, _ = _by_ride(rows)
    judged = [c for c in rows if c.right is not None]
    right = 100 * np.mean([bool(c.right) for c in judged]) if judged else np.nan
    near, still_open = (sum(c.verdict == word for c in rows) for word in ("near", "cannot tell"))
    count = max(len(tested), 1)
    return (
        f"{name:22s}{len(rows):6d}{len({c.seed for c in rows}):6d}{errors.mean():8.3f}"
        f"{_rms(errors):8.3f}{_rms(c.sd for c in rows):8.3f}{len(tested):7d}{100 * held:8.1f}"
        f"{100 * low / count:8.1f} -{100 * high / count:5.1f}{first:8.1f} -{last:5.1f}"
        f"{len(judged):9d}{right:9.1f}{near:6d}{still_open:6d}"
    )


def _kept(file: Path) -> list[Case]:
    return [Case(**row) for row in json.loads(file.read_text())] if file.exists() else []


def main() -> None:
    """Run the rides and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--plain", action="store_true", help="the ordinary scenario only")
    parser.add_argument("--measure", help="the worst of this measure only")
    parser.add_argument("--worst", type=int, default=0, help="also print the worst of a measure")
    parser.add_argument("--keep", type=Path, help="add the cases to this file, and tell of all")
    parser.add_argument("--also", type=Path, nargs="*", default=[], help="tell of these files too")
    args = parser.parse_args()
    cases: list[Case] = [] if args.keep is None else _kept(args.keep)
    done = {case.seed for case in cases}
    for ride in range(args.rides):
        seed = args.seed + ride
        if seed in done:
            continue
        scenario = None if args.plain else Scenario.drawn(seed)
        cases += cases_of(DEMO_SHEETS[ride % len(DEMO_SHEETS)], seed, scenario)
        if args.keep is not None:
            args.keep.write_text(json.dumps([asdict(case) for case in cases]))
    for file in args.also:
        cases += _kept(file)
    print(table(cases))
    shown = [c for c in cases if args.measure in (None, c.measure)]
    print(*sorted(shown, key=_surprise, reverse=True)[: args.worst], sep="\n")


if __name__ == "__main__":
    main()
