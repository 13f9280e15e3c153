"""Which gait where, and how fast: the ridden line in time.

Changes of gait happen at places; speed follows from gait, bends and the horse's mood, limited by
what a horse brakes and accelerates; time follows from speed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.ndimage import gaussian_filter1d

from sample_rides.horse import own_speed_ms
from sample_rides.imperfections import GRID_M, smooth_noise
from sample_rides.plan import Plan, Step
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Scenario
from track.path import Floats
from track.sheet import GaitName, Rein

RATE_HZ: Final = 100.0
"""Of the simulation's own clock; logs are sampled from it."""

SMOOTHING_S: Final = 0.15
LAST_SPEED_MS: Final = 1.5
STOP_MS2: Final = 1.8
START_MS2: Final = 1.4
"""From this speed a horse stops within a stride or so, and gets up to it as quickly [judgement]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One gait from ``start_s`` to ``end_s``.

    Attributes
    ----------
    gait : str
    start_s, end_s : float, s
    lead : {"left", "right"} or None
    """

    gait: GaitName
    start_s: float
    end_s: float
    lead: Rein | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """The ride in time, on the simulation's even clock.

    Attributes
    ----------
    t_s : array, shape (n,), s
        From the start of the log, steps of ``1 / RATE_HZ``.
    s_m : array, shape (n,), m
        Distance along the ridden line.
    speed_ms : array, shape (n,), m/s
    spans : tuple of Span
        Cover the ride without overlap.
    handled_s : tuple of (float, float)
        Spans in which the phone is in the hand.
    reached_s : array, shape (m,), s
        Time at which each point of the ridden line is reached.
    left_s : array, shape (m,), s
        Time at which it is left; later than ``reached_s`` at a halt.
    """

    t_s: Floats
    s_m: Floats
    speed_ms: Floats
    spans: tuple[Span, ...]
    handled_s: tuple[tuple[float, float], ...]
    line_m: Floats
    reached_s: Floats
    left_s: Floats

    def reached(self, s_m: float) -> float:
        """Time at which a place on the ridden line is reached."""
        return float(np.interp(s_m, self.line_m, self.reached_s))

    def left(self, s_m: float) -> float:
        """Time at which it is left, the standing at a halt included."""
        index = int(np.clip(round(s_m / GRID_M), 0, len(self.line_m) - 1))
        return max(self.reached(s_m), float(self.left_s[index]))


def make_timeline(line: RiddenLine, plan: Plan, scenario: Scenario, rng: Generator) -> Timeline:
    """Ride the line in time as planned."""
    steps = plan.steps
    squared = _speed_squared(line, plan, scenario, rng)
    reached_s, left_s, start_s = _times(line, steps, squared, scenario, rng)
    t_end_s = float(left_s[-1])
    out_s = 6.0 if scenario.handling else 2.0
    t_s = np.arange(0.0, t_end_s + out_s, 1.0 / RATE_HZ)
    s_m = _place_in_time(t_s, line.s_m, reached_s, left_s, squared)
    handled: tuple[tuple[float, float], ...] = ()
    if scenario.handling:
        handled = ((0.0, start_s - 4.0), (t_end_s + 1.0, float(t_s[-1])))
    return Timeline(
        t_s=t_s,
        s_m=s_m,
        speed_ms=np.maximum(np.gradient(s_m) * RATE_HZ, 0.0),
        spans=_spans(steps, line.s_m, reached_s, left_s, float(t_s[-1])),
        handled_s=handled,
        line_m=line.s_m,
        reached_s=reached_s,
        left_s=left_s,
    )


def _index(s_m: float, count: int) -> int:
    return int(np.clip(round(s_m / GRID_M), 0, count - 1))


def _speed_squared(line: RiddenLine, plan: Plan, scenario: Scenario, rng: Generator) -> Floats:
    """Speed squared along the line: what the gait asks, then what the horse can."""
    count = len(line.s_m)
    wanted = np.empty(count)
    brake_ms2 = rng.uniform(0.75, 1.1)
    thrust_ms2 = rng.uniform(0.7, 1.1)
    ends_m = [step.s_m for step in plan.steps[1:]] + [np.inf]
    for step, end_m in zip(plan.steps, ends_m, strict=True):
        within = (line.s_m >= step.s_m) & (line.s_m < end_m)
        wanted[within] = own_speed_ms(scenario, step.gait)
    for pace in plan.paces:
        wanted[(line.s_m >= pace.start_m) & (line.s_m < pace.end_m)] *= pace.speed_factor
    mood = np.exp(0.025 * scenario.imperfection * smooth_noise(count, GRID_M, 15.0, rng))
    slowing = rng.uniform(0.03, 0.12)
    bends = 1.0 - slowing * np.clip(np.abs(line.curvature_1m) / 0.33, 0.0, 1.0)
    wanted *= mood * gaussian_filter1d(bends, 2.0 / GRID_M)
    wanted = gaussian_filter1d(wanted, 0.8 / GRID_M)
    squared = wanted**2
    stops = [step.s_m for step in plan.steps if step.gait == "halt"]
    ends = [float(line.s_m[0]), float(line.s_m[-1]), *stops]
    for stop_m in ends:
        squared[_index(stop_m, count)] = LAST_SPEED_MS**2
    squared = _within_means(squared, line.s_m, brake_ms2=brake_ms2, thrust_ms2=thrust_ms2)
    for stop_m in ends:
        short_m = line.s_m[_index(stop_m, count)] - line.s_m
        squared = np.minimum(
            squared, 2.0 * np.where(short_m > 0, STOP_MS2, START_MS2) * np.abs(short_m)
        )
    return np.asarray(squared)


def _within_means(squared: Floats, s_m: Floats, *, brake_ms2: float, thrust_ms2: float) -> Floats:
    """Limit what is wanted to what can be reached from before, and left room for what follows."""
    forward = np.minimum.accumulate(squared - 2 * thrust_ms2 * s_m) + 2 * thrust_ms2 * s_m
    back_m = s_m[-1] - s_m[::-1]
    reverse = np.minimum.accumulate(forward[::-1] - 2 * brake_ms2 * back_m) + 2 * brake_ms2 * back_m
    return np.asarray(np.maximum(reverse[::-1], 0.0))


def _times(
    line: RiddenLine, steps: tuple[Step, ...], squared: Floats, scenario: Scenario, rng: Generator
) -> tuple[Floats, Floats, float]:
    """Times at which each point is reached and left, and when the horse first moves off."""
    speed = np.sqrt(squared)
    travel_s = 2.0 * np.diff(line.s_m) / np.maximum(speed[:-1] + speed[1:], 1e-6)
    stand_s = np.zeros(len(line.s_m))
    start_s = rng.uniform(12.0, 20.0) if scenario.handling else 2.0
    stand_s[0] = start_s
    stand_s[-1] = 3.0
    for step in steps:
        if step.gait == "halt":
            stand_s[_index(step.s_m, len(stand_s))] += step.stand_s
    left_s = np.cumsum(stand_s) + np.concatenate([[0.0], np.cumsum(travel_s)])
    return left_s - stand_s, left_s, start_s


def _place_in_time(
    t_s: Floats, line_m: Floats, reached_s: Floats, left_s: Floats, squared: Floats
) -> Floats:
    """Distance at each time: constant acceleration from point to point, then softened."""
    index = np.clip(np.searchsorted(left_s, t_s, side="right") - 1, 0, len(line_m) - 2)
    since_s = np.clip(t_s - left_s[index], 0.0, reached_s[index + 1] - left_s[index])
    accel_ms2 = np.diff(squared) / (2.0 * np.diff(line_m))
    s_m = line_m[index] + np.sqrt(squared[index]) * since_s + 0.5 * accel_ms2[index] * since_s**2
    s_m[t_s < left_s[0]] = line_m[0]
    return np.asarray(gaussian_filter1d(s_m, SMOOTHING_S * RATE_HZ, mode="nearest"))


def _spans(
    steps: tuple[Step, ...], line_m: Floats, reached_s: Floats, left_s: Floats, end_s: float
) -> tuple[Span, ...]:
    starts = [Span(gait="halt", start_s=0.0, end_s=end_s)]
    for step in steps:
        index = _index(step.s_m, len(line_m))
        start_s = float(np.interp(step.s_m, line_m, reached_s))
        if step.gait == "halt":
            start_s = float(reached_s[index])
        elif step.after_halt or step.s_m <= 0.0:
            start_s = float(left_s[index])
        starts.append(Span(gait=step.gait, start_s=start_s, end_s=end_s, lead=step.lead))
    starts.append(Span(gait="halt", start_s=float(reached_s[-1]), end_s=end_s))
    return _closed(starts)


def _closed(starts: list[Span]) -> tuple[Span, ...]:
    """Each span ends where the next begins; neighbours of one gait and lead become one."""
    kept: list[Span] = []
    for span in starts:
        if not kept or (span.gait, span.lead) != (kept[-1].gait, kept[-1].lead):
            kept.append(span)
    ends = [span.start_s for span in kept[1:]] + [kept[-1].end_s]
    return tuple(replace(span, end_s=end_s) for span, end_s in zip(kept, ends, strict=True))
