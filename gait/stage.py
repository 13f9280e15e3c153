"""The gait stage: motion and path in, bouts, strides, transitions and events out."""

from __future__ import annotations

from itertools import pairwise
from typing import Final

import numpy as np
from scipy.ndimage import uniform_filter1d

from gait.bouts import Event, Gaits, Stride
from gait.decode import course_of
from gait.jolts import jolts_of
from gait.passages import with_passages
from gait.positions import gaits_from_positions
from gait.spans import Span, bout_of, finished_spans, rough_spans
from gait.transitions import events_of, transitions_of
from gait.warp import with_overstated
from ingest.recording import Note
from track.motion import Motion
from track.path import Floats, Path

SHORTEST_S: Final = 6.0
REIN_S: Final = 16.0
"""The rein before and after a bout is that of the nearest turn within so many seconds: in canter
half a long diagonal and the way to the corner take ten."""
TURN_RADS: Final = 0.12
TURN_S: Final = 2.0
"""A turn is quicker than this on average over so long: a circle of 20 m has 0.16 in walk."""


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
    spans = finished_spans(course, with_passages(course, rough_spans(course)))
    turned = _turned(spans, motion, path)
    events = events_of(spans, turned) + _moved(motion)
    jolts, withheld = jolts_of(course.signals, spans, motion.moved_s)
    events += jolts
    return Gaits(
        bouts=tuple(bout_of(span, course) for span in spans),
        strides=with_overstated(strides_of(spans)),
        stride_sd_s=_stride_sd_s(spans),
        transitions=tuple(transitions_of(spans, turned)),
        events=tuple(sorted(events, key=lambda event: event.start_s)),
        notes=_notes(path) if withheld is None else (*_notes(path), withheld),
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
            own.log_size.tolist(),
            strict=True,
        )
        last = own.duration_sd_s.size - 1
        out += [
            Stride(
                t_s=start, duration_s=end - start, gait=span.gait,
                sd_s=sd, half_t_s=half, log_size=size, at_change=number in {0, last},
            )
            for number, ((start, end), sd, half, size) in enumerate(rows)
        ]  # fmt: skip
    return tuple(out)


def _stride_sd_s(spans: list[Span]) -> float:
    sds = [span.tracked.corner_sd_s for span in spans if span.tracked is not None]
    return float(np.median(np.concatenate(sds))) if sds else float("nan")


def _turned(spans: list[Span], motion: Motion, path: Path | None) -> list[float]:
    """Sign of the rein after each span times before it, 0 where it is not clear."""
    t, turn = (motion.t_s, motion.turn_rads) if path is None else (path.t_s, path.turn_rads)
    if t.size < 2:
        return [0.0 for _ in spans]
    width = max(1, round(TURN_S / float(np.median(np.diff(t)))))
    even = uniform_filter1d(np.nan_to_num(turn), width)
    at = np.flatnonzero(np.abs(even) > TURN_RADS)
    turn_t, side = t[at], np.sign(even[at])
    return [
        _side_before(turn_t, side, s.start_s) * _side_after(turn_t, side, s.end_s) for s in spans
    ]


def _side_before(turn_t: Floats, side: Floats, t_s: float) -> float:
    last = int(np.searchsorted(turn_t, t_s)) - 1
    return float(side[last]) if last >= 0 and t_s - turn_t[last] < REIN_S else 0.0


def _side_after(turn_t: Floats, side: Floats, t_s: float) -> float:
    first = int(np.searchsorted(turn_t, t_s))
    near = first < turn_t.size and turn_t[first] - t_s < REIN_S
    return float(side[first]) if near else 0.0


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
