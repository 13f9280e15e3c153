"""The horse's strides: when each begins, and the stride's phase at every instant."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import CubicSpline

from sample_rides.horse import RATE_EXPONENT, own_rate_hz, own_speed_ms
from sample_rides.plan import Pace
from sample_rides.scenario import Scenario
from sample_rides.schedule import Span, Timeline
from track.path import Floats

MESSY_STRIDES: Final = 1.5
"""Strides next to a change of gait are this many times as uneven ..."""
MESSY_FACTOR: Final = 2.0
LEAST_SPEED_SHARE: Final = 0.55
"""Below this share of its ordinary speed a gait's rate falls no further [judgement]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StridedSpan:
    """One bout of a gait with its strides.

    Attributes
    ----------
    span : Span
    boundary_s : array, shape (k,), s
        Beginnings of the strides; the last is the end of the last whole one.
    phase_of : CubicSpline
        Strides done since the start of the bout at a time in seconds.
    size : array, shape (k,)
        How large each stride's motion is against the ordinary.
    """

    span: Span
    boundary_s: Floats
    phase_of: CubicSpline
    size: Floats


def make_strides(
    timeline: Timeline, paces: tuple[Pace, ...], scenario: Scenario, rng: Generator
) -> tuple[StridedSpan, ...]:
    """Strides of every bout that is not a halt; whole or half a stride at each bout's end."""
    rate_factor = np.ones(len(timeline.t_s))
    for pace in paces:
        within = (timeline.s_m >= pace.start_m) & (timeline.s_m < pace.end_m)
        rate_factor[within] *= pace.rate_factor
    drift = 1.0 + 0.02 * rng.standard_normal() * (timeline.t_s / timeline.t_s[-1] - 0.5)
    return tuple(
        _stride_span(span, timeline, rate_factor * drift, scenario, rng)
        for span in timeline.spans
        if span.gait != "halt"
    )


def _stride_span(
    span: Span, timeline: Timeline, factor: Floats, scenario: Scenario, rng: Generator
) -> StridedSpan:
    within = (timeline.t_s >= span.start_s) & (timeline.t_s < span.end_s)
    t_s = timeline.t_s[within]
    share = timeline.speed_ms[within] / own_speed_ms(scenario, span.gait)
    share = np.clip(share, LEAST_SPEED_SHARE, 1.6) ** RATE_EXPONENT[span.gait]
    rate_hz = own_rate_hz(scenario, span.gait) * share * factor[within]
    even = np.concatenate([[0.0], np.cumsum(rate_hz[:-1] * np.diff(t_s))])
    even += (span.start_s - t_s[0]) * -rate_hz[0]
    total = even[-1] + rate_hz[-1] * (span.end_s - t_s[-1])
    count = max(round(2.0 * total) / 2.0, 0.5)
    boundary_s = _boundaries(
        t_s, even * count / total, span, count=count, cv=scenario.stride_cv, rng=rng
    )
    whole = np.append(np.arange(len(boundary_s) - 1.0), count)
    phase_of = CubicSpline(boundary_s, whole, bc_type="natural")
    sizes = np.exp(0.06 * rng.standard_normal(len(boundary_s)))
    return StridedSpan(
        span=span,
        boundary_s=boundary_s[: int(count) + 1],
        phase_of=phase_of,
        size=sizes,
    )


def _boundaries(
    t_s: Floats, even: Floats, span: Span, *, count: float, cv: float, rng: Generator
) -> Floats:
    """Stride beginnings from the even phase, each duration then varied; ends stay."""
    marks = np.append(np.arange(0.0, count - 0.25), count)
    even_s = np.interp(marks, even, t_s)
    even_s[0], even_s[-1] = span.start_s, span.end_s
    duration_s = np.diff(even_s)
    from_end = np.minimum(np.arange(len(duration_s)), np.arange(len(duration_s))[::-1])
    messy = np.where(from_end < MESSY_STRIDES, MESSY_FACTOR, 1.0)
    noise = cv * messy * rng.standard_normal(len(duration_s))
    duration_s = duration_s * (1.0 + np.clip(noise, -0.15, 0.15))
    duration_s *= (span.end_s - span.start_s) / duration_s.sum()
    return span.start_s + np.concatenate([[0.0], np.cumsum(duration_s)])
