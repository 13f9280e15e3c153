"""The trunk's motion over a whole ride: bouts blended into one another, posture on top."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d

from sample_rides.blending import plateau, smooth_step, weight
from sample_rides.horse import STRIDE_HZ, own_rate_hz
from sample_rides.imperfections import smooth_noise
from sample_rides.patterns import AXES, PATTERNS, own_pattern, summed
from sample_rides.plan import Mishap
from sample_rides.rattle import rattle
from sample_rides.ridden import RiddenLine
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ, Timeline
from sample_rides.strides import StridedSpan
from track.path import Floats
from track.sheet import GaitName

MOUNT_M: Final = 1.1
MOUNT_S: Final = 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class TrunkMotion:
    """Oscillation of the trunk about the ridden line, in (forward, left, up).

    Attributes
    ----------
    moved : array, shape (6, n)
        Rows as in :data:`AXES`; metres and radians.
    rising_s : tuple of (float, float)
        Spans of rising trot.
    rattle_ms2 : array, shape (3, n), m/s²
        Restlessness and the phone's rattle on top, as acceleration in the phone's axes.
    rattle_rad : array, shape (3, n), rad
        Small turns to and fro on top, about the phone's axes.
    """

    moved: Floats
    rising_s: tuple[tuple[float, float], ...]
    rattle_ms2: Floats
    rattle_rad: Floats


def move_trunk(
    line: RiddenLine,
    timeline: Timeline,
    strides: Sequence[StridedSpan],
    scenario: Scenario,
    *,
    mishaps: Sequence[Mishap],
    rng: Generator,
) -> TrunkMotion:
    """Trunk motion over the whole ride."""
    patterns = {name: own_pattern(pattern, rng) for name, pattern in PATTERNS.items()}
    moved = np.zeros((len(AXES), len(timeline.t_s)))
    diagonal = _diagonal(line, timeline)
    rising: list[tuple[float, float]] = []
    for strided in strides:
        where, share = weight(timeline.t_s, strided.span.start_s, strided.span.end_s)
        phase = _phase(strided, timeline.t_s[where])
        size = _size(strided, phase) * share
        size *= _pace_size(timeline, where, strided) * _horse_size(scenario, strided.span.gait)
        mirror = strided.span.lead == "right"
        moved[:, where] += size * summed(patterns[strided.span.gait], phase, mirror=mirror)
        if strided.span.gait == "trot" and scenario.seat == "rising":
            span_s = _rising_span(strided, rng)
            if span_s is not None:
                rising.append(span_s)
                rise = plateau(timeline.t_s[where], *span_s)
                moved[:, where] += (
                    size * rise * summed(patterns["rising"], phase, odd=diagonal[where])
                )
    moved[3:] += _posture(timeline, rng)
    moved[2] += _getting_on_and_off(timeline)
    for mishap in mishaps:
        moved += _started(timeline, mishap)
    rattle_ms2, rattle_rad = rattle(timeline, strides, rng)
    return TrunkMotion(
        moved=moved, rising_s=tuple(rising), rattle_ms2=rattle_ms2, rattle_rad=rattle_rad
    )


def _size(strided: StridedSpan, phase: Floats) -> Floats:
    """Size of the motion, gliding from stride to stride."""
    marks = np.arange(len(strided.size))
    glide = PchipInterpolator(marks, strided.size)(np.clip(phase, 0.0, marks[-1]))
    return np.asarray(glide)


def _phase(strided: StridedSpan, t_s: Floats) -> Floats:
    """Strides since the start of the bout, carried on evenly beyond its two ends."""
    start_s, end_s = strided.span.start_s, strided.span.end_s
    phase_of = strided.phase_of
    inside = phase_of(np.clip(t_s, start_s, end_s))
    before = np.minimum(t_s - start_s, 0.0) * phase_of(start_s, 1)
    after = np.maximum(t_s - end_s, 0.0) * phase_of(end_s, 1)
    return np.asarray(inside + before + after)


def _pace_size(timeline: Timeline, where: slice, strided: StridedSpan) -> Floats:
    """Slower strides are flatter."""
    speed = timeline.speed_ms[where]
    usual = max(float(np.median(speed)), 0.3)
    return np.asarray(np.sqrt(np.clip(speed / usual, 0.35, 1.3)))


def _horse_size(scenario: Scenario, gait: GaitName) -> float:
    """A horse with quicker strides moves less, so that the forces stay the same (Froude)."""
    return (STRIDE_HZ[gait] / own_rate_hz(scenario, gait)) ** 2


def _rising_span(strided: StridedSpan, rng: Generator) -> tuple[float, float] | None:
    """She sits the first strides of a trot and the last ones before a transition."""
    boundary = strided.boundary_s
    first, last = int(rng.integers(1, 4)), int(rng.integers(1, 4))
    if len(boundary) < first + last + 4:
        return None
    return float(boundary[first]), float(boundary[-1 - last])


def _diagonal(line: RiddenLine, timeline: Timeline) -> Floats:
    """+1 on the left rein, -1 on the right: she sits one beat more where the rein changes."""
    bend = np.where(np.abs(line.curvature_1m) > 0.05, np.sign(line.curvature_1m), 0.0)
    turns = np.flatnonzero(bend)
    if len(turns) == 0:
        return np.ones(len(timeline.t_s))
    nearest = np.interp(np.arange(len(bend)), turns, bend[turns])
    rein = np.where(nearest >= 0.0, 1.0, -1.0)
    in_time = np.interp(timeline.s_m, line.s_m, rein)
    return np.asarray(gaussian_filter1d(np.sign(in_time + 1e-9), 0.15 * RATE_HZ))


def _posture(timeline: Timeline, rng: Generator) -> Floats:
    """Slow changes of the trunk's attitude (roll, pitch, yaw), a salute at halts among them."""
    count = len(timeline.t_s)
    slow = np.array([smooth_noise(count, 1 / RATE_HZ, 4.0, rng) for _ in range(3)])
    posture = np.radians([[1.2], [1.8], [1.5]]) * slow
    for span in timeline.spans[1:-1]:
        if span.gait == "halt" and span.end_s - span.start_s > 3.0 and rng.random() < 0.6:
            middle_s = (span.start_s + span.end_s) / 2.0
            bow = plateau(timeline.t_s, middle_s - 0.7, middle_s + 0.7, ramp_s=1.0)
            posture[1] += np.radians(rng.uniform(4.0, 12.0)) * bow
    return np.asarray(posture)


def _getting_on_and_off(timeline: Timeline) -> Floats:
    """Up into the saddle after the phone is put away, down before it is taken out."""
    height_m = np.zeros(len(timeline.t_s))
    if timeline.handled_s:
        (_, away_s), (out_s, _) = timeline.handled_s
        height_m -= MOUNT_M * (1.0 - smooth_step((timeline.t_s - away_s) / MOUNT_S + 1.0))
        height_m -= MOUNT_M * smooth_step((timeline.t_s - out_s) / MOUNT_S)
    return height_m


def _started(timeline: Timeline, mishap: Mishap) -> Floats:
    """A stumble drops and pitches the trunk for a moment, a spook throws it sideways."""
    at_s = timeline.reached(mishap.start_m)
    jolt = np.exp(-(((timeline.t_s - at_s - 0.2) / 0.15) ** 2))
    sway = plateau(timeline.t_s, at_s, at_s + 0.9, ramp_s=0.5)
    sizes = {
        "stumble": np.array([0.05, 0.0, -0.07, 0.0, np.radians(9.0), 0.0])[:, None] * jolt,
        "spook": np.array([0.0, 0.35, 0.03, 0.0, 0.0, np.radians(14.0)])[:, None] * sway,
    }
    return np.asarray(sizes.get(mishap.kind, 0.0 * jolt))
