"""A few walk steps inside a trot or a canter, too short for windows that tell gaits by their beat.

Three to five steps of walk last 1 to 3 s: a window of their length holds more of the gait about
them than of their own. What gives them away is that the trunk hardly moves: the vertical falls to
a third within a stride and comes back as quickly. So the vertical's rms over about a beat is
weighed against what this ride taught of both gaits, and the stretch with the largest sum of
log odds is taken where the sum is beyond chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from gait.decode import Course
from gait.envelope import envelope_of
from gait.spans import Span
from track.path import Floats

INDEPENDENT_S: Final = 0.4
LEAST_LOG_ODDS: Final = 10.0
"""A change of gait has odds of 1 in 125 per 0.2 s (once in 25 s) and there are two of them: ten."""
LEAST_S: Final = 0.6
LEAST_RATIO: Final = 0.55
"""Log of the least ratio of amplitudes for which this works at all: a factor of 1.7."""
FARTHEST_SD: Final = 4.0
ENVELOPE_SD: Final = 0.3
"""Beats of one gait differ by so much, as a log, over a window of one beat [judgement]."""
ONSET_SD_S: Final = 0.15


def with_passages(course: Course, spans: Sequence[Span]) -> list[Span]:
    """Split trots and canters where a few walk steps lie inside."""
    t_s, log_up = envelope_of(course.signals)
    out: list[Span] = []
    for span in spans:
        out += _split(course, span, t_s, log_up) if span.gait in ("trot", "canter") else [span]
    return out


def _split(course: Course, span: Span, t_s: Floats, log_up: Floats) -> list[Span]:
    inside = (t_s >= span.start_s) & (t_s < span.end_s)
    found = _steps_inside(course, span, t_s[inside], log_up[inside])
    if found is None:
        return [span]
    start_s, end_s, odds = found
    walk = replace(
        span, gait="walk", start_s=start_s, end_s=end_s, start_sd_s=ONSET_SD_S, margin=odds,
        stride_hz=float(np.exp(course.model.gaits["walk"].log_rate)), ends_known=True,
    )  # fmt: skip
    before = replace(span, end_s=start_s)
    after = replace(span, start_s=end_s, start_sd_s=ONSET_SD_S)
    return [
        *_split(course, before, t_s, log_up), walk, *_split(course, after, t_s, log_up),
    ]  # fmt: skip


def _steps_inside(
    course: Course, span: Span, t_s: Floats, log_up: Floats
) -> tuple[float, float, float] | None:
    """Start, end and log odds of the likeliest walk inside; None where there is none."""
    walk, own = (course.model.gaits[g].measures["log_up"][0] for g in ("walk", span.gait))
    usual = float(np.median(log_up)) if log_up.size else own
    own = min(own, usual)  # a quiet bout is no walk
    if own - walk < LEAST_RATIO or t_s.size < 3:
        return None
    odds = _log_density(log_up, walk) - _log_density(log_up, own)
    odds *= float(t_s[1] - t_s[0]) / INDEPENDENT_S
    first, last, total = largest_sum(odds)
    # What touches an end of the bout belongs to the change there.
    if first == 0 or last == t_s.size or total < LEAST_LOG_ODDS:
        return None
    half = 0.5 * float(t_s[1] - t_s[0])
    start_s, end_s = float(t_s[first]) - half, float(t_s[last]) - half
    return (start_s, end_s, total) if end_s - start_s >= LEAST_S else None


def _log_density(value: Floats, mean: float) -> Floats:
    z = np.clip((value - mean) / ENVELOPE_SD, -FARTHEST_SD, FARTHEST_SD)
    return np.asarray(-0.5 * z**2)


def largest_sum(values: Floats) -> tuple[int, int, float]:
    """First, one past the last, and sum of the run of values with the largest sum.

    Examples
    --------
    >>> largest_sum(np.array([-1.0, 2.0, 3.0, -4.0, 1.0]))
    (1, 3, 5.0)
    """
    sums = np.concatenate([[0.0], np.cumsum(values)])
    lowest = np.minimum.accumulate(sums)
    last = int((sums - lowest).argmax())
    first = int(sums[: last + 1].argmin())
    return first, last, float(sums[last] - sums[first])
