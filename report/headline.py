"""The first screen: which findings are said first, of all that were made.

Chosen, not scored: nothing here adds findings up into one figure.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from report.result import FigureRow, Finding, RepeatRow, Result
from report.settle import way_words
from track.layout import Layout

AT_MOST: Final = 3

FAMILIES: Final = {
    "shape": {
        "diameter", "width", "out_of_round", "length_minus_width", "quarter_spread",
        "second_half", "centre_offset", "loop_depth", "loop_spread",
    },
    "line": {"wander", "heading_wobble", "line_offset", "overshoot", "crossing_angle"},
    "corner": {"corner_radius", "turn_radius", "corner_contrast"},
    "place": {"placement", "leave_place", "arrive_place"},
    "halt": {"halt_time", "halt_place"},
    "change": {"between_strides", "settle_strides", "rush"},
    "tempo": {"tempo_change", "tempo_range", "jog_strides", "break_strides"},
    "stride": {"stride_length_ratio"},
}  # fmt: skip
"""Measures that one piece of homework serves."""

WORTH_SAYING: Final = {
    "diameter": 3, "length_minus_width": 2, "out_of_round": 3, "width": 3, "placement": 3,
    "wander": 2, "halt_time": 2, "halt_place": 1, "tempo_range": 2, "stride_length_ratio": 2,
    "settle_strides": 1, "loop_spread": 1, "overshoot": 1, "arrive_place": 1,
}  # fmt: skip
"""Which good things a rider would rather hear first; everything else is said last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One finding with where it stands.

    Attributes
    ----------
    finding : Finding
    movement : int or None
        None without a sheet.
    run : int
    coefficient : int
    rein : str
        Of the figure, without a sheet; else empty.
    """

    finding: Finding
    movement: int | None
    run: int
    coefficient: int
    rein: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Headline:
    """What the first screen says.

    Attributes
    ----------
    well, school : tuple of Told
        At most three each; nothing is to be schooled that has no action to offer.
    near, untold : int
        How many findings are about right, and how many cannot be told.
    outside : int
        How many findings are outside their band.
    rated : int
        How many findings have a verdict at all.
    settles : str
        What would settle most of the latter; may be empty.
    settles_count : int
        How many it would settle.
    """

    well: tuple[Told, ...]
    school: tuple[Told, ...]
    near: int
    untold: int
    outside: int
    rated: int
    settles: str
    settles_count: int


def headline(result: Result, layout: Layout | None) -> Headline:
    """Choose what is said first.

    Parameters
    ----------
    result : Result
    layout : Layout or None
        For the coefficients of the marks.

    Returns
    -------
    Headline
    """
    told = tuple(every_finding(result, layout))
    outside = [t for t in told if t.finding.verdict == "outside" and t.finding.do]
    within = [t for t in told if t.finding.verdict == "within" and t.finding.say]
    unsure = [t.finding for t in told if t.finding.verdict == "cannot tell"]
    settles, count = settles_most(unsure)
    if count < len(unsure) / 3:
        settles, count = "", 0  # it would settle too little to be worth saying here
    return Headline(
        well=first_few(sorted(within, key=_good_first), ()),
        school=first_few(sorted(outside, key=cost, reverse=True), ()),
        near=sum(t.finding.verdict == "near" for t in told),
        untold=len(unsure),
        outside=sum(t.finding.verdict == "outside" for t in told),
        rated=sum(t.finding.verdict is not None for t in told),
        settles=settles,
        settles_count=count,
    )


def every_finding(result: Result, layout: Layout | None) -> Iterator[Told]:
    """Each finding once: by movement where there is a sheet, else by figure."""
    marks = {m.number: m.coefficient for m in layout.sheet.movements} if layout else {}
    for row in result.movements:
        for finding in row.findings:
            yield Told(
                finding=finding, movement=row.number, run=row.run,
                coefficient=marks.get(row.number, 1),
            )  # fmt: skip
    if not result.movements:
        groups: list[RepeatRow | FigureRow] = [*result.repeats, *result.figures]
        for group in groups:
            for finding in group.findings:
                yield Told(finding=finding, movement=None, run=1, coefficient=1, rein=group.rein)


def family(measure: str) -> str:
    """The family of a measure; a measure of none is its own."""
    return next((name for name, members in FAMILIES.items() if measure in members), measure)


def cost(told: Told) -> float:
    """How far outside its band, in half-widths of the band, times the mark's coefficient.

    Only an order for saying things: it is shown nowhere.
    """
    finding = told.finding
    if finding.value is None:
        return 0.0
    over = [
        distance
        for limit, distance in (
            (finding.low, (finding.low or 0.0) - finding.value),
            (finding.high, finding.value - (finding.high or 0.0)),
        )
        if limit is not None
    ]
    return told.coefficient * min(max([0.0, *over]) / _half_width(finding), 3.0)


def _half_width(finding: Finding) -> float:
    if finding.low is not None and finding.high is not None and finding.high > finding.low:
        return (finding.high - finding.low) / 2
    limit = finding.low if finding.low is not None else finding.high
    aim = finding.target if finding.target is not None else 0.0
    return abs((limit or 0.0) - aim) or 1.0


def _good_first(told: Told) -> tuple[int, float]:
    worth = WORTH_SAYING.get(told.finding.measure, 0) * told.coefficient
    return -worth, -(told.finding.chance_within or 0.0)


def first_few(told: Sequence[Told], chosen: tuple[Told, ...]) -> tuple[Told, ...]:
    """The first few of a list, no two of one movement or one family while there is a choice."""
    left = list(told)
    for strict in (2, 1, 0):
        for one in list(left):
            if len(chosen) < AT_MOST and _clashes(one, chosen) <= 2 - strict:
                chosen = (*chosen, one)
                left.remove(one)
    return chosen


def _clashes(one: Told, chosen: Sequence[Told]) -> int:
    """0 new in family and place, 1 shares one of them, 2 both, 3 names the same thing again."""
    worst = 0
    for other in chosen:
        same_family = family(one.finding.measure) == family(other.finding.measure)
        same_place = one.movement == other.movement and one.rein == other.rein
        says_same = one.finding.say == other.finding.say
        again = says_same or _thing(one) == _thing(other)
        worst = max(worst, 3 if again else same_family + same_place)
    return worst


def _thing(told: Told) -> tuple[int | None, int, str | None, str, float | None]:
    """What a finding is about: one circle, one transition; a whole group of repeats has no time."""
    finding = told.finding
    return told.movement, told.run, finding.of, told.rein, finding.start_s


def settles_most(findings: Sequence[Finding]) -> tuple[str, int]:
    """The way that would settle most of the open findings, and how many.

    Ways that differ only in how many repeats they ask for are one; the largest number is said.
    """
    ways = [way for f in findings if f.verdict == "cannot tell" for way in f.settles]
    counts = Counter(way.what for way in ways)
    if not counts:
        return "", 0
    best, count = counts.most_common(1)[0]
    same = [way for way in ways if way.what == best]
    return way_words(max(same, key=lambda way: way.more or 0)), count
