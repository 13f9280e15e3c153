"""Dots of a comparison: one per ride with its interval, and a line per season or trend."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from report import words_compare as w
from report.compare_rows import Row
from report.words import number
from report.words_labels import GAITS

TOP: Final = 12
BOTTOM: Final = 118
LEFT: Final = 44
RIGHT: Final = 330
REACH: Final = 1.96
"""Standard uncertainties from a dot to the end of its bar: 95 %."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dot:
    """One ride, in the units of the drawing."""

    x: float
    y: float
    high: float
    low: float
    label: str
    after: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """A drawing as a template needs it; lines are x1, y1, x2, y2; ticks are y and words."""

    title: str
    said: str
    dots: tuple[Dot, ...]
    lines: tuple[tuple[float, float, float, float], ...]
    ticks: tuple[tuple[float, str], ...]


def chart_of(row: Row) -> Chart | None:
    """Draw a row ride by ride; None with fewer than two rides."""
    values = np.concatenate([row.before.values, row.after.values])
    if values.size < 2:
        return None
    reach = REACH * np.concatenate([row.before.sd, row.after.sd])
    low, high = float((values - reach).min()), float((values + reach).max())
    margin = max(0.05 * (high - low), 0.5)
    low, high = low - margin, high + margin

    def y(value: float) -> float:
        return round(BOTTOM - (value - low) / (high - low) * (BOTTOM - TOP), 1)

    first = row.before.values.size
    numbers = (*row.before.numbers, *row.after.numbers)
    places = np.linspace(LEFT + 16, RIGHT - 12, values.size)
    if row.ends is not None:
        share = (np.array(numbers) - numbers[0]) / max(numbers[-1] - numbers[0], 1)
        places = LEFT + 16 + share * (RIGHT - 28 - LEFT)
    xs = [round(float(x), 1) for x in places]
    dots = tuple(
        Dot(
            x=x, y=y(value), high=y(value + own), low=y(value - own), label=str(numbers[i]),
            after=row.ends is None and i >= first,
        )
        for i, (x, value, own) in enumerate(zip(xs, values.tolist(), reach.tolist(), strict=True))
    )  # fmt: skip
    gait = GAITS[row.key.gait]
    ticks = [low + margin, high - margin]
    return Chart(
        title=w.CHART_TITLE.format(gait),
        said=w.CHART_SAID.format(", ".join(number(v, 1) for v in values.tolist())),
        dots=dots,
        lines=tuple((a, y(p), b, y(q)) for a, p, b, q in _lines(row, xs, first)),
        ticks=tuple((y(v), number(v, 1)) for v in ticks),
    )


def _lines(row: Row, xs: list[float], first: int) -> list[tuple[float, float, float, float]]:
    """The fitted line, or the mean of each season over its own rides."""
    if row.ends is not None:
        return [(xs[0], row.ends[0].value, xs[-1], row.ends[1].value)]
    sides = ((row.before, xs[:first]), (row.after, xs[first:]))
    return [(x[0] - 8, s.mean, x[-1] + 8, s.mean) for s, x in sides if s.mean is not None]
