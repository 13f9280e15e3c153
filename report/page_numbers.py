"""Every number of a result with its doubt and its key, for the tables at the page's end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from report import words_labels as labels
from report import words_page as w
from report import words_said as sentences
from report import words_tables as tables_words
from report.result import Finding, Result, Value


@dataclass(frozen=True, slots=True, kw_only=True)
class Number:
    """One number of the result, for the tables at the end.

    Attributes
    ----------
    where, name, unit, verdict : str
    key : str
        Where it stands in ``result.json``.
    value, sd, target, low, high, chance : float or None
    """

    where: str
    name: str
    unit: str
    key: str
    value: float | None
    sd: float | None
    target: float | None = None
    low: float | None = None
    high: float | None = None
    chance: float | None = None
    verdict: str = ""


def all_numbers(result: Result) -> Iterator[Number]:
    """Every number that has a doubt, with its key."""
    yield from _ride_numbers(result)
    for i, row in enumerate(result.rhythm):
        where = f"{labels.GAITS[row.gait]}, {labels.REINS[row.rein]}"
        for key, (name, unit) in tables_words.RHYTHM_NAMES.items():
            value = getattr(row, key)
            if value is not None:
                yield _value(where, name, unit, f"rhythm[{i}].{key}", value)
    for i, movement in enumerate(result.movements):
        where = sentences.MOVEMENT.format(movement.number)
        yield from _findings(where, movement.findings, f"movements[{i}].findings")
    for i, figure in enumerate(result.figures):
        where = f"{figure.kind} {figure.rein}, {sentences.clock(figure.start_s)}"
        yield from _findings(where, figure.findings, f"figures[{i}].findings")

    for i, group in enumerate(result.repeats):
        where = w.REPEATS.format(group.count, group.kind, group.rein, labels.GAITS[group.gait])
        yield from _findings(where, group.findings, f"repeats[{i}].findings")


def _ride_numbers(result: Result) -> Iterator[Number]:
    ride, arena = result.ride, result.arena
    if ride.clock_offset_s is not None:
        yield _value(
            tables_words.THE_RIDE,
            tables_words.CLOCK_OFFSET,
            "s",
            "ride.clock_offset_s",
            ride.clock_offset_s,
        )
    if ride.receiver_lag_s is not None:
        yield _value(
            tables_words.THE_RIDE,
            tables_words.RECEIVER_LAG,
            "s",
            "ride.receiver_lag_s",
            ride.receiver_lag_s,
        )
    if arena is not None:
        yield _value(
            tables_words.THE_SCHOOL,
            tables_words.TRACK_OFFSET,
            "m",
            "arena.track_offset_m",
            arena.track_offset_m,
        )


def _value(where: str, name: str, unit: str, key: str, value: Value) -> Number:
    return Number(where=where, name=name, unit=unit, key=key, value=value.value, sd=value.sd)


def _findings(where: str, findings: Sequence[Finding], key: str) -> Iterator[Number]:
    for i, f in enumerate(findings):
        yield Number(
            where=where, name=labels.MEASURES.get(f.measure, f.measure), unit=f.unit,
            key=f"{key}[{i}]", value=f.value, sd=f.sd, target=f.target, low=f.low, high=f.high,
            chance=f.chance_within,
            verdict=labels.VERDICTS[f.verdict] if f.value is not None else "",
        )  # fmt: skip
