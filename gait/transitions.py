"""From bouts to planned changes of gait, and to what was not planned."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from gait.bouts import Event, Transition
from gait.spans import Span

ORDER: Final = {"halt": 0, "walk": 1, "trot": 2, "canter": 3}
PASSING_DOWN_STRIDES: Final = 6.5
"""On the way down a gait between two others for no longer than this was passed through: the most
that novice sheets and bands allow is 5 [common practice]."""
PASSING_UP_STRIDES: Final = 3.0
"""On the way up: a direct transition has 2 at most [common practice]; a horse that trots for
more than three strides before it canters was ridden in trot."""
JOG_STRIDES: Final = 6.5
"""A few strides of trot in walk, or of trot in canter, on the same rein."""
PASSING_UNKNOWN_S: Final = 5.0


def transitions_of(spans: Sequence[Span], turned: Sequence[float]) -> list[Transition]:
    """Changes from gait to gait, one row from old to new whatever lies between.

    Parameters
    ----------
    spans : sequence of Span
    turned : sequence of float
        Sign of the rein after each span against before it: -1 where it changed.
    """
    kept = _without_events(spans, turned)
    rows: list[Transition] = []
    i = 0
    while i < len(kept) - 1:
        j = _arrival(kept, i)
        if j is None:
            i += 1
            continue
        if kept[i].gait != kept[j].gait:
            rows.append(_row(kept[i], kept[i + 1 : j], kept[j]))
        i = j
    return rows


def events_of(spans: Sequence[Span], turned: Sequence[float]) -> list[Event]:
    """Jogs in walk and breaks in canter."""
    out = []
    for i in range(1, len(spans) - 1):
        kind = _unplanned(spans, i, turned)
        if kind is None:
            continue
        span = spans[i]
        count = strides_in(span)
        rest = "walk" if kind == "jog" else "canter"
        out.append(
            Event(
                kind="jog" if kind == "jog" else "break",
                start_s=span.start_s,
                end_s=span.end_s,
                because=f"{count:.0f} trot strides, {rest} before and after",
            )
        )
    return out


def strides_in(span: Span) -> float:
    """How many strides a span holds, fractions included."""
    if span.tracked is None:
        rate = span.stride_hz if np.isfinite(span.stride_hz) else 0.0
        return rate * (span.end_s - span.start_s)
    phase = span.tracked.phase
    return float(phase[-1] - phase[0])


def _unplanned(spans: Sequence[Span], i: int, turned: Sequence[float]) -> str | None:
    old, span, new = spans[i - 1], spans[i], spans[i + 1]
    if span.gait != "trot" or old.gait != new.gait or strides_in(span) > JOG_STRIDES:
        return None
    if old.gait == "walk":
        return "jog"
    if old.gait == "canter" and turned[i] >= 0:
        return "break"
    return None


def _without_events(spans: Sequence[Span], turned: Sequence[float]) -> list[Span]:
    kept: list[Span] = []
    skip = {i for i in range(1, len(spans) - 1) if _unplanned(spans, i, turned)}
    for i, span in enumerate(spans):
        if i in skip or (i - 1 in skip and kept and kept[-1].gait == span.gait):
            continue
        kept.append(span)
    return kept


def _arrival(spans: Sequence[Span], i: int) -> int | None:
    """Index of the gait that span i leads to, past what is only passed through."""
    if spans[i].gait == "unknown":
        return None
    j = i + 1
    while j < len(spans) - 1 and _passed_through(spans, i, j):
        j += 1
    if spans[j].gait == "unknown":
        return None
    return j


def _passed_through(spans: Sequence[Span], i: int, j: int) -> bool:
    old, span, new = spans[i], spans[j], spans[j + 1]
    if span.gait == "unknown":
        return span.end_s - span.start_s <= PASSING_UNKNOWN_S
    if span.gait == "halt" or new.gait == "unknown":
        return False
    a, b, c = ORDER[old.gait], ORDER[span.gait], ORDER[new.gait]
    if a < b < c:
        return strides_in(span) <= PASSING_UP_STRIDES
    return a > b > c and strides_in(span) <= PASSING_DOWN_STRIDES


def _row(old: Span, passed: Sequence[Span], new: Span) -> Transition:
    count = 0.0
    sd = new.start_sd_s
    for span in passed:
        if span.gait == "unknown":
            rates = [s.stride_hz for s in (old, new) if np.isfinite(s.stride_hz)]
            count += float(np.mean(rates or [1.0])) * (span.end_s - span.start_s)
            sd = float(np.hypot(sd, 0.25 * (span.end_s - span.start_s)))
        else:
            count += strides_in(span)
    return Transition(
        from_gait=old.gait,
        to_gait=new.gait,
        t_s=new.start_s,
        t_sd_s=sd,
        between_strides=round(count, 2),
    )
