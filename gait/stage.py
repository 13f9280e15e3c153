"""The gait stage: motion and path in, bouts, strides, transitions and events out."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Event, Gaits, Stride
from gait.decode import course_of
from gait.positions import gaits_from_positions
from gait.spans import Span, bout_of, spans_of
from gait.transitions import events_of, transitions_of
from ingest.recording import Note
from track.motion import Motion
from track.path import Floats, Path

SHORTEST_S: Final = 6.0
REIN_S: Final = 6.0
"""The rein before and after a bout is that of so many seconds."""


def decode(motion: Motion | None, path: Path | None) -> Gaits:
    """Find halts, walk, trot and canter, every stride, and the changes between.

    Parameters
    ----------
    motion : Motion or None
        On the path's clock when there are both. Without it gaits are coarse: from speed alone.
    path : Path or None
        Without it gaits come from motion alone.

    Returns
    -------
    Gaits
        Nothing but ``unknown`` where there is neither, or less than a few seconds.
    """
    if motion is None or motion.t_s.size < SHORTEST_S * motion.rate_hz:
        return gaits_from_positions(path)
    course = course_of(motion, path)
    spans = spans_of(course)
    turned = _turned(spans, motion, path)
    events = events_of(spans, turned) + _moved(motion)
    return Gaits(
        bouts=tuple(bout_of(span, course) for span in spans),
        strides=strides_of(spans),
        stride_sd_s=_stride_sd_s(spans),
        transitions=tuple(transitions_of(spans, turned)),
        events=tuple(sorted(events, key=lambda event: event.start_s)),
        notes=_notes(path),
    )


def strides_of(spans: list[Span]) -> tuple[Stride, ...]:
    """Every whole stride of every span, in order."""
    out: list[Stride] = []
    for span in spans:
        if span.tracked is None:
            continue
        own = span.tracked
        rows = zip(
            pairwise(own.corner_t_s.tolist()),
            own.duration_sd_s.tolist(),
            own.half_t_s.tolist(),
            strict=True,
        )
        out += [
            Stride(t_s=start, duration_s=end - start, gait=span.gait, sd_s=sd, half_t_s=half)
            for (start, end), sd, half in rows
        ]
    return tuple(out)


def _stride_sd_s(spans: list[Span]) -> float:
    sds = [span.tracked.corner_sd_s for span in spans if span.tracked is not None]
    return float(np.median(np.concatenate(sds))) if sds else float("nan")


def _turned(spans: list[Span], motion: Motion, path: Path | None) -> list[float]:
    """Sign of the rein after each span times before it, 0 where it is not clear."""
    t, turn = (motion.t_s, motion.turn_rads) if path is None else (path.t_s, path.turn_rads)
    sure = np.abs(turn) > 0.1
    side = np.where(sure, np.sign(turn), 0.0)
    return [
        _side(t, side, span.start_s - REIN_S, span.start_s)
        * _side(t, side, span.end_s, span.end_s + REIN_S)
        for span in spans
    ]


def _side(t: Floats, side: Floats, start_s: float, end_s: float) -> float:
    first, last = np.searchsorted(t, [start_s, end_s])
    part = side[first:last]
    return float(np.sign(np.round(part.mean(), 1))) if part.size else 0.0


def _moved(motion: Motion) -> list[Event]:
    return [
        Event(kind="phone moved", start_s=t, end_s=t, because="the phone shifted in its pocket")
        for t in motion.moved_s
    ]


def _notes(path: Path | None) -> tuple[Note, ...]:
    if path is not None:
        return ()
    return (
        Note(
            code="gait-from-motion-only",
            text="No positions: gaits come from the motion sensors alone.",
            severity="info",
        ),
    )
