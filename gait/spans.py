"""Spans of one gait: from the course of windows to bouts with exact ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Bout, Gait
from gait.decode import Course
from gait.envelope import ONSET_SD_S as STANDING_SD_S
from gait.envelope import envelope_of, place_standing
from gait.features import Signals
from gait.halves import with_halves
from gait.model import MOVING, STATES
from gait.onsets import Onset, place_onset
from gait.stride_start import by_gait, restarted
from gait.strides import Tracked, track_bout
from gait.viterbi import runs
from track.path import Floats

LEAST_STRIDES: Final = 1.5
"""Less than this is no bout of a gait but part of a change."""
LEAST_HALT_S: Final = 0.8
LEAST_UNKNOWN_S: Final = 1.2
UNPLACED_SD_S: Final = 0.6
NEAR_EDGE_S: Final = 1.0

Beside = Sequence[tuple[Tracked, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One gait between two onsets.

    Attributes
    ----------
    gait : str
    start_s, end_s : float, s
    start_sd_s : float, s
    stride_hz : float, Hz
        Median rate, NaN for halt and unknown.
    margin : float
        Mean log odds against the next best gait, per independent window.
    tracked : Tracked or None
        Its strides' pace.
    ends_known : bool
        Both its ends were placed when it was found.
    """

    gait: Gait
    start_s: float
    end_s: float
    start_sd_s: float
    stride_hz: float
    margin: float
    tracked: Tracked | None = None
    ends_known: bool = False


def rough_spans(course: Course) -> list[Span]:
    """Spans of a course, those too short to be real given to their neighbours."""
    return _joined(_rough(course))


def finished_spans(course: Course, rough: Sequence[Span]) -> list[Span]:
    """The same spans with their onsets placed and their strides tracked."""
    placed = _placed(course.signals, tracked_spans(course, rough, rounds=1))
    kept = _joined([span for span in placed if span.end_s > span.start_s])
    beside = [_beside(kept, i) for i in range(len(kept))]
    return _started(course, tracked_spans(course, kept, rounds=2, beside=beside))


def _beside(spans: Sequence[Span], i: int) -> Beside:
    """The neighbours of a span that have a beat, and when they gave way."""
    edges = ((i - 1, spans[i].start_s), (i + 1, spans[i].end_s))
    near = [(spans[j].tracked, edge_s) for j, edge_s in edges if 0 <= j < len(spans)]
    return [(tracked, edge_s) for tracked, edge_s in near if tracked is not None]


def _started(course: Course, spans: list[Span]) -> list[Span]:
    """Begin the strides of each gait where their lengths change, and lay them through halves."""
    out = list(spans)
    for name, own in by_gait([span.gait for span in spans]).items():
        if name not in MOVING:
            continue
        beats = course.model.gaits[name].beats
        tracked = restarted([spans[i].tracked for i in own], beats, risen=name == "trot")
        for i, new in zip(own, with_halves(tracked), strict=True):
            out[i] = replace(spans[i], tracked=new)
    return out


def tracked_spans(
    course: Course, spans: Sequence[Span], *, rounds: int, beside: Sequence[Beside] | None = None
) -> list[Span]:
    """The same spans with the pace of their strides."""
    near = [()] * len(spans) if beside is None else beside
    return [
        replace(span, tracked=_track(course, span, rounds, other))
        for span, other in zip(spans, near, strict=True)
    ]


def bout_of(span: Span, course: Course) -> Bout:
    """The bout a span tells of, with how sure and why."""
    chance = 1.0 / (1.0 + float(np.exp(-np.clip(span.margin, -30.0, 30.0))))
    return Bout(
        gait=span.gait,
        start_s=span.start_s,
        end_s=span.end_s,
        confidence=round(0.5 if span.gait == "unknown" else chance, 3),
        because=_because(span, course),
    )


def _rough(course: Course) -> list[Span]:
    half = 0.5 * float(course.t_s[1] - course.t_s[0]) if course.t_s.size > 1 else 0.1
    spans = []
    for state, first, last in runs(course.state):
        rate = course.stride_hz[first:last]
        others = np.delete(course.odds[first:last], state, axis=1).max(axis=1)
        margin = (course.odds[first:last, state] - others).mean() / course.temper
        spans.append(
            Span(
                gait=_name(state),
                start_s=float(course.t_s[first]) - half,
                end_s=float(course.t_s[last - 1]) + half,
                start_sd_s=2 * half,
                stride_hz=float(np.median(rate)),
                margin=float(margin),
            )
        )
    return spans


def _name(state: int) -> Gait:
    name: Gait = STATES[state]
    return name


def _joined(spans: list[Span]) -> list[Span]:
    """Give spans too short to be real to their neighbours, shortest first."""
    spans = list(spans)
    while len(spans) > 1:
        lengths = [span.end_s - span.start_s for span in spans]
        short = [i for i, span in enumerate(spans) if lengths[i] < _least_s(span)]
        if not short:
            break
        spans = _given_away(spans, min(short, key=lambda i: lengths[i]))
    return spans


def _least_s(span: Span) -> float:
    if span.ends_known:
        return 0.0
    if span.gait == "halt":
        return LEAST_HALT_S
    if span.gait == "unknown" or not np.isfinite(span.stride_hz):
        return LEAST_UNKNOWN_S
    return LEAST_STRIDES / span.stride_hz


def _given_away(spans: list[Span], i: int) -> list[Span]:
    """Drop span i; its neighbours meet in its middle, or become one when they are the same."""
    gone = spans[i]
    before, after = spans[:i], spans[i + 1 :]
    if before and after and before[-1].gait == after[0].gait:
        whole = replace(before[-1], end_s=after[0].end_s)
        return [*before[:-1], whole, *after[1:]]
    middle = 0.5 * (gone.start_s + gone.end_s)
    if before:
        before = [*before[:-1], replace(before[-1], end_s=middle if after else gone.end_s)]
    if after:
        after = [replace(after[0], start_s=middle if before else gone.start_s), *after[1:]]
    return before + after


def _track(course: Course, span: Span, rounds: int, beside: Beside) -> Tracked | None:
    if span.gait not in MOVING:
        return None
    of_gait = course.state == STATES.index(span.gait)
    rate = np.where(of_gait, course.stride_hz, span.stride_hz if span.ends_known else np.nan)
    beats = course.model.gaits[span.gait].beats
    limits = (span.start_s, span.end_s)
    return track_bout(
        course.signals, limits, course.t_s, rate,
        beats=beats, rounds=rounds, beside=beside, doubted=False,
    )  # fmt: skip


def _placed(signals: Signals, spans: list[Span]) -> list[Span]:
    envelope = envelope_of(signals)
    onsets = [_onset(signals, envelope, a, b) for a, b in pairwise(spans)]
    out = []
    for i, span in enumerate(spans):
        start = onsets[i - 1] if i else Onset(t_s=span.start_s, sd_s=span.start_sd_s)
        end = onsets[i].t_s if i < len(onsets) else span.end_s
        out.append(replace(span, start_s=start.t_s, start_sd_s=start.sd_s, end_s=end))
    return out


def _onset(signals: Signals, envelope: tuple[Floats, Floats], old: Span, new: Span) -> Onset:
    rough = new.start_s
    if old.ends_known or new.ends_known:
        return Onset(t_s=rough, sd_s=new.start_sd_s)
    if "unknown" in (old.gait, new.gait):
        return _edge_of_unread(signals, rough)
    # Not past the middle of a short span, so that onsets keep their order.
    earliest = 0.5 * (old.start_s + old.end_s)
    latest = 0.5 * (new.start_s + new.end_s)
    if "halt" in (old.gait, new.gait):
        limits = (
            old.start_s if new.gait == "halt" else earliest,
            latest if new.gait == "halt" else new.end_s,
        )
        at = place_standing(*envelope, rough, limits_s=limits, into=new.gait == "halt")
        if at is not None:
            return Onset(t_s=float(np.clip(at, earliest, latest)), sd_s=STANDING_SD_S)
    if _untold(old) or _untold(new):
        return Onset(t_s=rough, sd_s=UNPLACED_SD_S)
    return place_onset(
        signals, old.tracked, new.tracked, rough,
        earliest_s=earliest, latest_s=latest, envelope=envelope,
    )  # fmt: skip


def _edge_of_unread(signals: Signals, rough_s: float) -> Onset:
    """What is not known ends where the log can be read again, if that is near."""
    edges = [t for span in signals.unread_s for t in span if abs(t - rough_s) < NEAR_EDGE_S]
    at = min(edges, key=lambda t: abs(t - rough_s), default=rough_s)
    return Onset(t_s=at, sd_s=UNPLACED_SD_S)


def _untold(span: Span) -> bool:
    return span.gait != "halt" and span.tracked is None


def _because(span: Span, course: Course) -> str:
    if span.gait == "unknown":
        return "no gait fits: the phone was handled, the log has a gap, or the beat was lost"
    rms = _rms(course.signals, span.start_s, span.end_s)
    if span.gait == "halt":
        return f"no beat, {rms:.1f} m/s² up and down"
    beats = course.model.gaits[span.gait].beats
    word = "one beat" if beats == 1 else "two beats"
    return f"{60.0 * span.stride_hz:.0f} strides a minute, {word} each, {rms:.1f} m/s² up and down"


def _rms(signals: Signals, start_s: float, end_s: float) -> float:
    first, last = (max(0, round((t - signals.start_s) * signals.rate_hz)) for t in (start_s, end_s))
    up: Floats = signals.axes_ms2[0, first:last]
    return float(np.sqrt(np.mean(up**2))) if up.size else 0.0
