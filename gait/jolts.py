"""Stumbles and spooks: single jolts that no stride explains, told with restraint.

What the strides' template leaves over is looked at in half seconds. A jolt is both far beyond what
the bout usually leaves and as strong as a body being thrown; up and down more than sideways it is
a stumble, else a spook. A phone that slides about in its pocket jolts too: where a ride shows more
than one, or the phone moved in its pocket, nothing is told but that.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.ndimage import uniform_filter1d

from gait.bouts import Event
from gait.features import Signals
from gait.spans import Span
from gait.strides import Tracked, template
from ingest.recording import Note
from track.path import Floats

WINDOW_S: Final = 0.5
EDGE_S: Final = 2.5
"""Nothing is looked for so near a change of gait, which is no stride's own either."""
LEAST_BOUT_S: Final = 10.0
LEAST_RATIO: Final = 3.5
LEAST_MS2: Final = 3.5
"""A trunk that drops or swerves by a few decimetres within half a second [reckoned]."""
MOST_IN_A_RIDE: Final = 1
"""More than this, and it is the phone that is loose [judgement]."""


def jolts_of(
    signals: Signals, spans: Sequence[Span], moved_s: Sequence[float]
) -> tuple[list[Event], Note | None]:
    """Stumbles and spooks of a ride; none, and a note, where the phone itself jolts.

    Parameters
    ----------
    signals : Signals
    spans : sequence of Span
    moved_s : sequence of float, s
        When the phone shifted in its pocket.
    """
    found = []
    for span in spans:
        if span.tracked is not None and span.end_s - span.start_s >= LEAST_BOUT_S:
            found += _inside(signals, span.tracked)
    if not found or (len(found) <= MOST_IN_A_RIDE and not len(moved_s)):
        return found, None
    return [], Note(
        code="jolts-not-told",
        text=f"{len(found)} jolt{'s' if len(found) > 1 else ''} that no stride explains, in a "
        "phone that may have been loose: whether the horse stumbled or shied cannot be told. A "
        "tight pocket or a belt would settle it.",
        severity="info",
    )


def _inside(signals: Signals, tracked: Tracked) -> list[Event]:
    left = _left_over(signals, tracked)
    usual = np.median(left, axis=1)[:, None]
    away = (left > LEAST_RATIO * usual) & (left > LEAST_MS2)
    inner = (tracked.t_s > tracked.t_s[0] + EDGE_S) & (tracked.t_s < tracked.t_s[-1] - EDGE_S)
    for start_s, end_s in signals.unread_s:
        inner &= (tracked.t_s < start_s - 1.0) | (tracked.t_s > end_s + 1.0)
    marks = np.flatnonzero(away.any(axis=0) & inner)
    if marks.size == 0:
        return []
    groups = np.split(marks, np.flatnonzero(np.diff(marks) > 2.0 * signals.rate_hz) + 1)
    return [_event(tracked.t_s, left, group) for group in groups]


def _left_over(signals: Signals, tracked: Tracked) -> Floats:
    """Rms of what the template leaves, over half a second, shape (3, n), m/s²."""
    first = round((tracked.t_s[0] - signals.start_s) * signals.rate_hz)
    axes = signals.axes_ms2[:, first : first + tracked.t_s.size]
    rest = axes - template(tracked.shape, tracked.phase)
    return np.sqrt(uniform_filter1d(rest**2, round(WINDOW_S * signals.rate_hz), axis=1))


def _event(t_s: Floats, left: Floats, group: np.ndarray) -> Event:
    up, level_a, level_b = left[:, group].max(axis=1)
    sideways = float(max(level_a, level_b))
    kind = "stumble" if up > sideways else "spook"
    return Event(
        kind="stumble" if kind == "stumble" else "spook",
        start_s=float(t_s[group[0]]),
        end_s=float(t_s[group[-1]]) + WINDOW_S,
        because=f"a jolt of {up:.0f} m/s² up and down and {sideways:.0f} m/s² level that no stride "
        "explains; the horse may have stumbled or shied, or the rider moved",
    )
