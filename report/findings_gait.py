"""Findings of what a gait does over a movement: longer strides, jogging, breaking."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from gait.bouts import EventKind, Gait
from report.findings_rhythm import BEFORE, ratio_of, stride_length_m
from report.measured import About
from report.result import Finding
from report.ridden import Asked, Ridden, RiddenSheet
from track.path import Estimate

MARGIN_S = 1.5
"""Left out at both ends of a stretch of free walk: she is still taking up or giving the rein."""


def gait_findings(ridden: Ridden, sheet: RiddenSheet, number: int, run: int) -> list[Finding]:
    """``stride_length_ratio``, ``jog_strides`` and ``break_strides`` of one movement."""
    rows = [_free_walk(ridden, sheet, asked) for asked in _free(sheet, number, run)]
    rows += _lengthened(ridden, sheet, number, run)
    rows += _broken(ridden, sheet, number, run)
    return rows


def _lengthened(ridden: Ridden, sheet: RiddenSheet, number: int, run: int) -> list[Finding]:
    """Lengthened strides where the sheet wants them shown, against the same gait before."""
    movement = next(m for m in sheet.layout.sheet.movements if m.number == number)
    span_s = _shown_span(sheet, movement.show, number, run)
    if "lengthened" not in movement.show or span_s is None:
        return []
    gait = ridden.main_gait(*span_s)
    about = About(of=None, start_s=span_s[0], end_s=span_s[1], gait=gait, what="the lengthening")
    band = ridden.bands.band("stride_length_ratio", 1.15, "lengthened")
    longer = stride_length_m(ridden, gait, *span_s)
    before = [s for s in ridden.gaits.strides if s.gait == gait and s.t_s < span_s[0]][-BEFORE:]
    usual = stride_length_m(ridden, gait, before[0].t_s, span_s[0]) if before else None
    if longer is None or usual is None:
        because = "there are too few strides to compare"
        return [ridden.missing("stride_length_ratio", about, because, band)]
    return [ridden.judged("stride_length_ratio", about, ratio_of(longer, usual), band)]


def _shown_span(sheet: RiddenSheet, show: str, number: int, run: int) -> tuple[float, float] | None:
    """When what is to be shown was ridden: between its letters, else the whole movement."""
    line = next(line for line in sheet.layout.movements if line.number == number)
    start_m, end_m = line.start_m, line.end_m
    named = re.search(r"from ([A-Z]) to ([A-Z])", show)
    if named:
        own = [p for p in sheet.layout.passages if start_m - 1 <= p.s_m <= end_m + 1]
        first = [p.s_m for p in own if p.letter == named[1]]
        last = [p.s_m for p in own if p.letter == named[2] and first and p.s_m > first[0]]
        if not last:
            return None
        start_m, end_m = first[0], last[0]
    span = (sheet.time_at(run, start_m), sheet.time_at(run, end_m))
    return span if np.isfinite(span).all() else None


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
    """Stride length of medium walk: inside the test, else of all other walk of the ride."""
    free = [(a.start_s, _free_until(sheet, a)) for a in sheet.asked if a.change.free]
    start_s, end_s = _sheet_span(sheet)
    inside = _walk_length(ridden, _between(free, start_s, end_s))
    if inside is not None or not ridden.gaits.bouts:
        return inside
    return _walk_length(ridden, _between(free, 0.0, ridden.gaits.bouts[-1].end_s))


def _walk_length(ridden: Ridden, parts: list[tuple[float, float]]) -> Estimate | None:
    """Mean stride length of the walk inside some intervals, each weighed by its length."""
    spans = [
        (max(bout.start_s, first) + MARGIN_S, min(bout.end_s, last) - MARGIN_S)
        for bout in ridden.gaits.bouts
        for first, last in parts
        if bout.gait == "walk" and min(bout.end_s, last) - max(bout.start_s, first) > 5.0
    ]
    found = [(b - a, stride_length_m(ridden, "walk", a, b)) for a, b in spans]
    known = [(weight, length) for weight, length in found if length is not None]
    if not known:
        return None
    value = np.average([length.value for _, length in known], weights=[w for w, _ in known])
    return Estimate(value=float(value), sd=float(np.mean([length.sd for _, length in known])))


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
