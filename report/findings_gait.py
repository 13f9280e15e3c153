"""Findings of what a gait does over a movement: longer strides, jogging, breaking."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gait.bouts import EventKind, Gait
from report.findings_rhythm import ratio_of, stride_length_m
from report.measured import About
from report.result import Finding
from report.ridden import Asked, Ridden, RiddenSheet
from track.path import Estimate

MARGIN_S = 1.5
"""Left out at both ends of a stretch of free walk: she is still taking up or giving the rein."""


def gait_findings(ridden: Ridden, sheet: RiddenSheet, number: int, run: int) -> list[Finding]:
    """``stride_length_ratio``, ``jog_strides`` and ``break_strides`` of one movement."""
    rows = [_free_walk(ridden, sheet, asked) for asked in _free(sheet, number, run)]
    rows += _broken(ridden, sheet, number, run)
    return rows


def _free(sheet: RiddenSheet, number: int, run: int) -> Iterator[Asked]:
    for asked in sheet.asked:
        if (asked.movement, asked.run) == (number, run) and asked.change.free:
            yield asked


def _free_walk(ridden: Ridden, sheet: RiddenSheet, asked: Asked) -> Finding:
    span_s = (asked.start_s, _free_until(sheet, asked))
    about = About(
        of=asked.of, start_s=span_s[0], end_s=span_s[1], gait="walk", what="the free walk"
    )
    band = ridden.bands.band("stride_length_ratio", 1.06, "free walk")
    free = stride_length_m(ridden, "walk", span_s[0] + MARGIN_S, span_s[1] - MARGIN_S)
    medium = _medium_walk(ridden, sheet)
    if free is None or medium is None:
        because = "there is too little free or medium walk to compare"
        return ridden.missing("stride_length_ratio", about, because, band)
    return ridden.judged("stride_length_ratio", about, ratio_of(free, medium), band)


def _free_until(sheet: RiddenSheet, asked: Asked) -> float:
    """When the free walk ends: at its window's end, else at the next change."""
    if asked.end_s - asked.start_s > 4.0:
        return asked.end_s
    later = [a.start_s for a in sheet.asked if a.run == asked.run and a.start_s > asked.start_s + 1]
    return min(later, default=asked.start_s)


def _medium_walk(ridden: Ridden, sheet: RiddenSheet) -> Estimate | None:
    """Stride length of the walk asked for as medium walk, all stretches together."""
    free = [(a.start_s, _free_until(sheet, a)) for a in sheet.asked if a.change.free]
    spans = [
        (max(b.start_s, first), min(b.end_s, last))
        for b in ridden.gaits.bouts
        for first, last in _between(free, *_sheet_span(sheet))
        if b.gait == "walk" and min(b.end_s, last) - max(b.start_s, first) > 5.0
    ]
    found = [stride_length_m(ridden, "walk", a + MARGIN_S, b - MARGIN_S) for a, b in spans]
    lengths = [f for f in found if f is not None]
    if not lengths:
        return None
    weights = np.array([b - a for (a, b), f in zip(spans, found, strict=True) if f is not None])
    value = float(np.average([f.value for f in lengths], weights=weights))
    return Estimate(value=value, sd=float(np.mean([f.sd for f in lengths])))


def _sheet_span(sheet: RiddenSheet) -> tuple[float, float]:
    starts = [t.start_s for t in sheet.terms]
    return min(starts, default=0.0), max((t.end_s for t in sheet.terms), default=0.0)


def _between(
    holes: list[tuple[float, float]], start_s: float, end_s: float
) -> list[tuple[float, float]]:
    """What is left of an interval when the holes are taken out."""
    left, edge = [], start_s
    for first, last in sorted(holes):
        if first > edge:
            left.append((edge, first))
        edge = max(edge, last)
    return [*left, (edge, end_s)] if edge < end_s else left


def _broken(ridden: Ridden, sheet: RiddenSheet, number: int, run: int) -> list[Finding]:
    terms = sheet.terms_of(number, run)
    if not terms:
        return []
    span_s = (terms[0].start_s, terms[-1].end_s)
    gait = ridden.main_gait(*span_s)
    if gait == "walk":
        return [_strides_lost(ridden, "jog", "jog_strides", gait, span_s)]
    if gait == "canter":
        return [_strides_lost(ridden, "break", "break_strides", gait, span_s)]
    return []


def _strides_lost(
    ridden: Ridden, kind: EventKind, measure: str, gait: Gait, span_s: tuple[float, float]
) -> Finding:
    inside = [
        event
        for event in ridden.gaits.events
        if event.kind == kind and span_s[0] <= event.start_s < span_s[1]
    ]
    lost = [ridden.strides_in("trot", e.start_s - 0.3, e.end_s + 0.3) for e in inside]
    strides = max(sum(len(run) for run in lost), len(inside))
    about = About(of=None, start_s=span_s[0], end_s=span_s[1], gait=gait, what=f"the {gait}")
    count = Estimate(value=float(strides), sd=0.0)
    return ridden.judged(measure, about, count, ridden.bands.band(measure, 0.0))
