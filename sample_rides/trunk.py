"""How the rider's trunk moves within a stride: harmonics locked to the stride's phase.

Phase 0 is the lowest point of the first of the stride's two vertical beats (walk, trot) or of its
one (canter). The sizes: displacement of the second harmonic over the first about 2.9 in walk, of
first over second about 11 in canter [measured on side views of horses]; peak-to-peak range about
4-5 cm in walk, 8-10 cm in trot, 12-16 cm in canter [recalled]; peak force on the horse's back
2.9 body weights sitting, 2.54 and 1.95 on alternate beats rising (10.1016/j.jbiomech.2009.10.036).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.random import Generator
from scipy.interpolate import PchipInterpolator
from scipy.ndimage import gaussian_filter1d
from scipy.signal import butter, sosfilt

from sample_rides.ridden import RiddenLine, smooth_noise
from sample_rides.scenario import Scenario
from sample_rides.schedule import RATE_HZ, Timeline
from sample_rides.strides import StridedSpan
from track.path import Floats
from track.sheet import GaitName

AXES: Final = ("forward", "left", "up", "roll", "pitch", "yaw")
"""Displacements in metres and turns in radians about forward, left and up."""
BLEND_S: Final = 0.35

Harmonic = tuple[str, int, float, float]
"""Axis, cycles per stride, amplitude (m, or degrees for turns), phase in radians."""

_ANY: Final = np.nan
"""A phase that differs from horse to horse and is drawn."""

PATTERNS: Final[dict[str, tuple[Harmonic, ...]]] = {
    "walk": (
        ("up", 2, -0.0190, 0.0), ("up", 1, 0.0065, _ANY), ("up", 4, -0.0006, 0.3),
        ("up", 3, 0.0010, _ANY),
        ("forward", 2, 0.016, 1.2), ("forward", 1, 0.005, _ANY),
        ("left", 1, 0.022, _ANY), ("left", 2, 0.004, _ANY),
        ("pitch", 2, 1.8, 0.8), ("pitch", 1, 0.6, _ANY),
        ("roll", 1, 3.2, _ANY), ("yaw", 1, 2.5, _ANY),
    ),
    "trot": (
        ("up", 2, -0.0430, 0.0), ("up", 4, -0.0045, 0.0), ("up", 6, -0.0008, 0.3),
        ("up", 1, 0.0080, _ANY), ("up", 3, 0.0015, _ANY),
        ("forward", 2, 0.012, 0.9), ("forward", 4, 0.002, _ANY), ("forward", 1, 0.004, _ANY),
        ("left", 1, 0.012, _ANY), ("left", 3, 0.002, _ANY),
        ("pitch", 2, 1.6, 0.7), ("pitch", 1, 0.6, _ANY),
        ("roll", 1, 2.2, _ANY), ("yaw", 1, 1.5, _ANY),
    ),
    "canter": (
        ("up", 1, -0.0650, 0.0), ("up", 2, -0.0055, 0.6), ("up", 3, -0.0018, 0.2),
        ("up", 4, 0.0006, _ANY),
        ("forward", 1, 0.050, 1.0), ("forward", 2, 0.006, _ANY),
        ("left", 1, 0.016, 0.5), ("left", 2, 0.003, _ANY),
        ("pitch", 1, 5.0, 0.9), ("pitch", 2, 0.8, _ANY),
        ("roll", 1, 2.4, 0.4), ("yaw", 1, 2.4, 1.1),
    ),
    "rising": (
        ("up", 2, 0.0120, 0.0), ("up", 1, -0.0420, 0.0),
        ("forward", 1, 0.035, 1.3), ("pitch", 1, 3.5, 0.6),
    ),
}  # fmt: skip
"""``rising`` is added to ``trot`` while the rider rises: less of the horse's beat, and her own
rise once a stride, lowest on the diagonal she sits on."""


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
    rattle_rads : array, shape (3, n), rad/s
    """

    moved: Floats
    rising_s: tuple[tuple[float, float], ...]
    rattle_ms2: Floats
    rattle_rads: Floats


def move_trunk(
    line: RiddenLine,
    timeline: Timeline,
    strides: Sequence[StridedSpan],
    scenario: Scenario,
    rng: Generator,
) -> TrunkMotion:
    """Trunk motion over the whole ride."""
    patterns = {name: _own(pattern, rng) for name, pattern in PATTERNS.items()}
    moved = np.zeros((len(AXES), len(timeline.t_s)))
    diagonal = _diagonal(line, timeline)
    rising: list[tuple[float, float]] = []
    for strided in strides:
        where, weight = _weight(timeline.t_s, strided.span.start_s, strided.span.end_s)
        phase = _phase(strided, timeline.t_s[where])
        size = _size(strided, phase) * weight
        size *= _pace_size(timeline, where, strided)
        mirror = strided.span.lead == "right"
        moved[:, where] += size * _sum(patterns[strided.span.gait], phase, mirror=mirror)
        if strided.span.gait == "trot" and scenario.seat == "rising":
            span_s = _rising_span(strided, rng)
            if span_s is not None:
                rising.append(span_s)
                rise = _plateau(timeline.t_s[where], *span_s)
                moved[:, where] += (
                    size * rise * _sum(patterns["rising"], phase, odd=diagonal[where])
                )
    moved[3:] += _posture(timeline, rng)
    rattle_ms2, rattle_rads = _rattle(timeline, rng)
    return TrunkMotion(
        moved=moved, rising_s=tuple(rising), rattle_ms2=rattle_ms2, rattle_rads=rattle_rads
    )


def _own(pattern: Sequence[Harmonic], rng: Generator) -> tuple[Harmonic, ...]:
    """One horse's and rider's own version of a pattern."""
    return tuple(
        (
            axis,
            cycles,
            amplitude * float(np.exp(0.15 * rng.standard_normal())),
            float(rng.uniform(0, 2 * np.pi))
            if np.isnan(phase)
            else phase + 0.12 * float(rng.standard_normal()),
        )
        for axis, cycles, amplitude, phase in pattern
    )


def _sum(
    pattern: Sequence[Harmonic],
    phase: Floats,
    *,
    mirror: bool = False,
    odd: Floats | float = 1.0,
) -> Floats:
    """Sum of harmonics; ``odd`` scales those of odd order, ``mirror`` swaps left and right."""
    moved = np.zeros((len(AXES), len(phase)))
    for axis, cycles, amplitude, offset in pattern:
        row = AXES.index(axis)
        scale = amplitude if row < 3 else np.radians(amplitude)
        if mirror and axis in {"left", "roll", "yaw"}:
            scale = -scale
        wave = scale * np.cos(2.0 * np.pi * cycles * phase + offset)
        moved[row] += wave * odd if cycles % 2 else wave
    return moved


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


def _smooth_step(x: Floats) -> Floats:
    """0 to 1 over 0 to 1 with continuous second derivative."""
    x = np.clip(x, 0.0, 1.0)
    return np.asarray(x**3 * (10.0 - 15.0 * x + 6.0 * x**2))


def _plateau(t_s: Floats, start_s: float, end_s: float, ramp_s: float = BLEND_S) -> Floats:
    rise = _smooth_step((t_s - start_s) / ramp_s + 0.5)
    fall = _smooth_step((end_s - t_s) / ramp_s + 0.5)
    return np.asarray(np.minimum(rise, fall))


def _weight(t_s: Floats, start_s: float, end_s: float) -> tuple[slice, Floats]:
    """Where a bout's motion acts, and how much of it: neighbours blend over ``BLEND_S``."""
    first, last = np.searchsorted(t_s, [start_s - BLEND_S, end_s + BLEND_S])
    where = slice(int(first), int(last))
    return where, _plateau(t_s[where], start_s, end_s)


def _pace_size(timeline: Timeline, where: slice, strided: StridedSpan) -> Floats:
    """Slower strides are flatter."""
    speed = timeline.speed_ms[where]
    usual = max(float(np.median(speed)), 0.3)
    return np.asarray(np.sqrt(np.clip(speed / usual, 0.35, 1.3)))


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
            bow = _plateau(timeline.t_s, middle_s - 0.7, middle_s + 0.7, ramp_s=1.0)
            posture[1] += np.radians(rng.uniform(4.0, 12.0)) * bow
    return np.asarray(posture)


RATTLE_MS2: Final[dict[GaitName, float]] = {"halt": 0.06, "walk": 0.35, "trot": 0.9, "canter": 1.0}
RATTLE_RADS: Final[dict[GaitName, float]] = {
    "halt": 0.012, "walk": 0.06, "trot": 0.14, "canter": 0.14,
}  # fmt: skip
"""Broadband motion of a phone in cloth, per axis [judgement]."""


def _rattle(timeline: Timeline, rng: Generator) -> tuple[Floats, Floats]:
    """Broadband motion up to 12 Hz; at halts the horse shifts its weight now and then."""
    count = len(timeline.t_s)
    level = np.zeros((2, count))
    for span in timeline.spans:
        where, weight = _weight(timeline.t_s, span.start_s, span.end_s)
        level[0, where] += RATTLE_MS2[span.gait] * weight
        level[1, where] += RATTLE_RADS[span.gait] * weight
        if span.gait == "halt":
            for at_s in rng.uniform(
                span.start_s, span.end_s, rng.poisson(0.15 * (span.end_s - span.start_s))
            ):
                bump = np.exp(-(((timeline.t_s - at_s) / 0.25) ** 2))
                level += np.array([[0.7], [0.1]]) * bump
    band = butter(2, 12.0, fs=RATE_HZ, output="sos")
    noise = sosfilt(band, rng.standard_normal((6, count)), axis=1)
    noise /= noise.std(axis=1, keepdims=True)
    return noise[:3] * level[0], noise[3:] * level[1]
