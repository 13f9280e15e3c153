"""Faults of known size planted into her own ride: what this recording would have shown.

An egg or a wobble is planted into the asked line at her own times and measured with the joint
doubt of her own ride's points; a late transition or a change of tempo moves a value whose doubt
is known. So "within" and "cannot tell" mean something for this recording.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np

from report.doubts import with_doubt
from report.geometry import along_m
from report.result import DetectionRow, Finding, PlantedRow, Result
from report.result_file import all_findings
from report.ridden import Ridden
from report.verdict import SURE, Band, chance_within
from report.words import number
from track.path import Estimate, Floats
from track.shapes import circle_through
from track.shapes_fit import fit_circle, fit_line
from track.shapes_line import rms_from_line_m
from track.stretch import Stretch, measured, stretch_of

SHOWN: Final = 0.9
EGGS_M: Final = (1.0, 2.0, 3.0, 4.0)
LATE_STRIDES: Final = (0.5, 1.0, 1.5, 2.0)
WOBBLES_M: Final = (0.4, 0.8, 1.2, 1.6)
TEMPI_SPM: Final = (2.0, 4.0, 6.0, 8.0)
SWING_M: Final = 12.0
"""Length of one swing of a planted wobble, to one side and the other."""
GRID: Final = np.linspace(-3.0, 3.0, 61)
"""Errors a value may have, in sd, each weighed by the normal law."""
WEIGHTS: Final = np.exp(-(GRID**2) / 2) / np.exp(-(GRID**2) / 2).sum()

Name = Literal["egg", "late", "wobble", "tempo"]
Chances = list[Floats]
"""One array of chances, by size, for every place a fault was planted into."""


def detection_rows(result: Result, ridden: Ridden) -> list[DetectionRow]:
    """Plant faults into a ride and tell which sizes would have been called outside.

    Parameters
    ----------
    result : Result
    ridden : Ridden
    """
    made = [f for f in all_findings(result) if f.value is not None and f.sd is not None]
    rows = [
        _row("egg", "length_minus_width", "m", EGGS_M, _eggs(ridden, made)),
        _row("late", "placement", "strides", LATE_STRIDES, _late(ridden, made)),
        _row("wobble", "wander", "m", WOBBLES_M, _wobbles(ridden, made)),
        _row("tempo", "tempo_change", "strides/min", TEMPI_SPM, _tempi(made)),
    ]
    return [row for row in rows if row is not None]


def chance_shown(truth: float, sd: float, band: Band) -> float:
    """Chance that a true value would have been called outside its band.

    Examples
    --------
    >>> from report.verdict import at_most
    >>> round(chance_shown(4.0, 0.5, at_most(1.0)), 2)
    1.0
    """
    called = [chance_within(truth + sd * e, sd, band.low, band.high) <= 1 - SURE for e in GRID]
    return float(WEIGHTS @ np.array(called))


def _band(finding: Finding) -> Band:
    return Band(target=finding.target, low=finding.low, high=finding.high)


def _rated(made: Sequence[Finding], measure: str) -> list[Finding]:
    return [f for f in made if f.measure == measure and f.verdict is not None and f.low != f.high]


def _eggs(ridden: Ridden, made: Sequence[Finding]) -> Chances:
    chances: Chances = []
    for finding in _rated(made, "length_minus_width"):
        stretch = _stretch(ridden, finding)
        if stretch is not None:
            planted = [circle_through(_egg(stretch, size)) for size in EGGS_M]
            found = [shape.length_minus_width_m for shape in planted]
            truths = [(finding.target or 0.0) + size for size in EGGS_M]
            chances.append(_chances(ridden, finding, truths, found))
    return chances


def _chances(
    ridden: Ridden, finding: Finding, truths: Sequence[float], found: Sequence[Estimate]
) -> Floats:
    """Chance of each planted size to be called outside, all doubt of the measure included."""
    sds = [with_doubt(finding.measure, each, gyro=ridden.means.gyro).sd for each in found]
    pairs = zip(truths, sds, strict=True)
    return np.array([chance_shown(truth, sd, _band(finding)) for truth, sd in pairs])


def _stretch(ridden: Ridden, finding: Finding) -> Stretch | None:
    if ridden.path is None or finding.start_s is None or finding.end_s is None:
        return None
    if ridden.path.between(finding.start_s, finding.end_s).size < 8:
        return None
    return stretch_of(ridden.path, finding.start_s, finding.end_s)


def _egg(stretch: Stretch, size_m: float) -> Stretch:
    """Lay a round circle at her times, longer than wide by so much."""
    circle = fit_circle(stretch.x_m, stretch.y_m)
    angle = np.arctan2(stretch.y_m - circle.y_m, stretch.x_m - circle.x_m)
    return _moved(
        stretch,
        circle.x_m + (circle.radius_m - size_m / 4) * np.cos(angle),
        circle.y_m + (circle.radius_m + size_m / 4) * np.sin(angle),
    )


def _moved(stretch: Stretch, x_m: Floats, y_m: Floats) -> Stretch:
    """Lay the same stretch, with its own doubt, on another line."""
    return replace(
        stretch,
        x_m=x_m,
        y_m=y_m,
        x_edges_m=stretch.x_edges_m + (x_m - stretch.x_m),
        y_edges_m=stretch.y_edges_m + (y_m - stretch.y_m),
    )


def _wobbles(ridden: Ridden, made: Sequence[Finding]) -> Chances:
    chances: Chances = []
    for finding in _rated(made, "wander"):
        stretch = _stretch(ridden, finding)
        if stretch is not None:
            found = [measured(_wobble(stretch, size), rms_from_line_m) for size in WOBBLES_M]
            truths = [each.value for each in found]
            chances.append(_chances(ridden, finding, truths, found))
    return chances


def _wobble(stretch: Stretch, size_m: float) -> Stretch:
    """Lay a straight line at her times, snaking by so much to either side."""
    line = fit_line(stretch.x_m, stretch.y_m)
    along = along_m(stretch.x_m, stretch.y_m)
    along = along - along.mean()
    aside = size_m * np.sin(2 * np.pi * along / SWING_M)
    cosine, sine = np.cos(line.direction_rad), np.sin(line.direction_rad)
    return _moved(
        stretch,
        line.x_m + along * cosine - aside * sine,
        line.y_m + along * sine + aside * cosine,
    )


def _late(ridden: Ridden, made: Sequence[Finding]) -> Chances:
    chances: Chances = []
    for finding in _rated(made, "placement"):
        stride_m = ridden.stride_m(finding.gait or "unknown", finding.start_s or 0.0)
        if stride_m is not None:
            truths = [count * stride_m for count in LATE_STRIDES]
            sd = finding.sd or 0.0
            chances.append(np.array([chance_shown(t, sd, _band(finding)) for t in truths]))
    return chances


def _tempi(made: Sequence[Finding]) -> Chances:
    return [
        np.array([chance_shown(size, f.sd or 0.0, _band(f)) for size in TEMPI_SPM])
        for f in _rated(made, "tempo_change")
    ]


def _row(
    fault: Name, measure: str, unit: str, sizes: Sequence[float], chances: Chances
) -> DetectionRow | None:
    if not chances:
        return None
    mean = np.mean(chances, axis=0)
    shown = [size for size, chance in zip(sizes, mean, strict=True) if chance >= SHOWN]
    smallest = min(shown, default=None)
    return DetectionRow(
        fault=fault,
        measure=measure,
        unit=unit,
        tried=len(chances),
        sizes=[
            PlantedRow(size=size, chance_shown=float(chance))
            for size, chance in zip(sizes, mean, strict=True)
        ],
        smallest_shown=smallest,
        sentence=_sentence(fault, unit, smallest, max(sizes)),
    )


WORDS: Final = {
    "egg": "a circle longer than wide",
    "late": "a transition away from its letter",
    "wobble": "a line that snakes to either side",
    "tempo": "a change of tempo",
}


def _sentence(fault: Name, unit: str, smallest: float | None, largest: float) -> str:
    if smallest is None:
        return (
            f"Planted into this ride, {WORDS[fault]} by up to {number(largest)} {unit} would not "
            "surely have been called outside."
        )
    return (
        f"Planted into this ride, {WORDS[fault]} by {number(smallest)} {unit} or more would have "
        "been called outside in 9 of 10."
    )
