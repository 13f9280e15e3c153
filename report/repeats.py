"""Repeats of one figure on one rein, pooled: how they were in this ride, and how they differ."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from report.measured import About
from report.pooling import mean_in_ride, spread_of_repeats
from report.result import FigureRow, Finding, Gait, RepeatRow
from report.ridden import Ridden
from report.settle import SHARED
from report.verdict import Band
from report.words import in_unit
from track.path import Estimate

POOLED: Final = (
    "diameter", "width", "out_of_round", "length_minus_width", "quarter_spread", "second_half",
)  # fmt: skip
CLASS_M: Final = 3.0
"""Figures nobody asked for are repeats of one another when no two sizes are further apart."""
GAP_M: Final = 1.5
"""Nor does the size jump by more than this from one to the next larger."""

Key = tuple[str, str, Gait, float | None]


def repeat_rows(ridden: Ridden, figures: Sequence[FigureRow]) -> list[RepeatRow]:
    """Pool the figures that are repeats of one another; single ones are left out."""
    groups: dict[Key, list[FigureRow]] = defaultdict(list)
    for figure in figures:
        size = _first(figure, "diameter")
        if size is not None and size.value is not None:
            gait = size.gait or "unknown"
            groups[figure.kind, figure.rein, gait, figure.asked_m].append(figure)
    repeats = [
        rows
        for (*_, asked_m), found in groups.items()
        for rows in ([found] if asked_m is not None else of_one_size(found))
    ]
    return [_row(ridden, rows) for rows in repeats if len(rows) > 1]


def of_one_size(figures: Sequence[FigureRow]) -> list[list[FigureRow]]:
    """Part figures nobody asked for into those of about one size, each in order of time."""
    groups: list[list[FigureRow]] = []
    for figure in sorted(figures, key=_size_m):
        last = groups[-1] if groups else []
        fits = (
            last
            and _size_m(figure) - _size_m(last[-1]) <= GAP_M
            and _size_m(figure) - _size_m(last[0]) <= CLASS_M
        )
        if fits:
            last.append(figure)
        else:
            groups.append([figure])
    return [sorted(group, key=lambda row: row.start_s) for group in groups]


def _size_m(figure: FigureRow) -> float:
    size = _first(figure, "diameter")
    return 0.0 if size is None or size.value is None else size.value


def _first(figure: FigureRow, measure: str) -> Finding | None:
    return next((f for f in figure.findings if f.measure == measure), None)


def _row(ridden: Ridden, figures: Sequence[FigureRow]) -> RepeatRow:
    first = figures[0]
    gait = (_first(first, "diameter") or first.findings[0]).gait or "unknown"
    findings = [_pooled(ridden, figures, measure, gait) for measure in POOLED]
    return RepeatRow(
        kind=first.kind,
        rein=first.rein,
        gait=gait,
        asked_m=first.asked_m,
        count=len(figures),
        findings=[finding for finding in findings if finding is not None],
    )


def _pooled(
    ridden: Ridden, figures: Sequence[FigureRow], measure: str, gait: Gait
) -> Finding | None:
    own = [f for figure in figures for f in [_first(figure, measure)] if f is not None]
    own = [f for f in own if f.value is not None and f.sd is not None]
    if len(own) < 2:
        return None
    # Length less width has another target at every place: what is pooled is the difference.
    base = [f.target or 0.0 if measure == "length_minus_width" else 0.0 for f in own]
    values = [
        Estimate(value=(f.value or 0.0) - b, sd=f.sd or 0.0) for f, b in zip(own, base, strict=True)
    ]
    mean = mean_in_ride(values, SHARED.get(measure, 0.0))
    if mean is None:
        return None
    lead, asked = own[0], figures[0].asked_m
    band = Band(
        target=None if lead.target is None else lead.target - base[0],
        low=None if lead.low is None else lead.low - base[0],
        high=None if lead.high is None else lead.high - base[0],
    )
    shift = 0.0
    if measure in ("diameter", "width"):
        shift = 2 * ridden.track_offset_m if asked is None else asked - (lead.target or asked)
    about = About(
        of=None,
        start_s=None,
        end_s=None,
        gait=gait,
        what=f"the average of {len(own)} {figures[0].kind}s to the {figures[0].rein}",
    )
    made = ridden.judged(measure, about, mean, band, asked=asked, shift=shift)
    apart = in_unit(spread_of_repeats(values) or 0.0, made.unit)
    because = f"{made.because}; among themselves they differ by {apart} (standard deviation)"
    return made.model_copy(update={"because": because})
