"""Every stride, to a fraction of a sample: a template of one stride bent onto the signal.

A bout's signal is taken as one periodic shape run through at an uneven pace. The pace is a line of
straight pieces whose corners are the strides' instants, so a stride's duration is not smoothed
by its neighbours: the corners are what is fitted (Gauss-Newton on banded normal equations), with
all three axes and all harmonics weighing in. A missed or doubled beat would have to bend the pace
against a weak prior on change from stride to stride, which is how the model mends it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import median_filter
from scipy.special import expit

from gait.features import Signals
from gait.harmonics import HARMONICS, basis_of, fit_shape, in_phase, smoothed
from gait.pace import CORNERS, SLOW_STRIDES, Bent, bend, sds_of
from track.path import Floats

END_STRIDES: Final = 3.0
"""A bout is continued beyond its ends at the mean pace of this many strides."""
EARLY_BEATS: Final = 0.25
"""A stride begins so long before the vertical's peak: feet land before they bear most."""
FADE_S: Final = 0.2
"""Time constant of one gait fading into the next [judgement]: 0.9 s from a tenth to nine tenths."""
FADED: Final = 5.0
QUICK_STRIDES: Final = 2.0
"""Unsteady ones change from stride to stride: no rise is as high as the one before."""
STEADY_SHARE: Final = 0.02
"""Odd harmonics are steady whose sd from stride to stride is less than this of the beat's size: it
shifts a stride of trot by 1 ms. Taking quick ones out takes a tenth of the strides' own unevenness
along, so steady ones are taken out slowly."""
RISEN_SHARE: Final = 0.1
"""Odd harmonics of the vertical against its beat, below which nobody rises: force peaks of 2.54 and
1.95 body weights in rising trot make 0.24 (published, see the notes of the gait model)."""
FEWEST_FOR_STEADY: Final = 8
NORMAL_MEDIAN: Final = 0.6745
"""Median size of a normal deviate of unit sd."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tracked:
    """The pace of one bout.

    Attributes
    ----------
    t_s : array, shape (n,), s
        Samples of the bout.
    phase : array, shape (n,), strides
        Ascending; whole numbers at the strides' instants.
    corner_t_s, corner_sd_s : array, shape (c,), s
        Instants at which the phase is whole, and their standard uncertainty.
    half_t_s : array, shape (c - 1,), s
        Instants half a stride after each corner.
    duration_sd_s : array, shape (c - 1,), s
        Standard uncertainty of the time from each instant to the next.
    halves_sd_s : array, shape (c - 1,), s
        Standard uncertainty of the second half of each stride less the first.
    shape : array, shape (3, 2 * HARMONICS + 1)
        Template: constant, cosines, sines of each axis.
    noise_ms2 : array, shape (3,), m/s²
        What the template leaves.
    log_size : array, shape (c - 1,)
        Log of how large each stride's motion is against the template.
    read : array, shape (n,)
        Nought where the log could not be read, else one.
    axes_ms2 : array, shape (3, n), m/s²
        What was tracked: what is left of neighbouring gaits is taken out.
    """

    t_s: Floats
    phase: Floats
    corner_t_s: Floats
    corner_sd_s: Floats
    half_t_s: Floats
    duration_sd_s: Floats
    halves_sd_s: Floats
    shape: Floats
    noise_ms2: Floats
    log_size: Floats
    read: Floats
    axes_ms2: Floats


def track_bout(
    signals: Signals,
    limits_s: tuple[float, float],
    rate_t_s: Floats,
    stride_hz: Floats,
    *,
    beats: int,
    rounds: int = 3,
    beside: Sequence[tuple[Tracked, float]] = (),
    doubted: bool = True,
) -> Tracked | None:
    """Follow the strides of one bout; None where it is too short to hold one.

    Parameters
    ----------
    signals : Signals
    limits_s : (float, float), s
        Start and end of the bout.
    rate_t_s, stride_hz : array, shape (m,)
        A rough course of the stride rate, from the windows.
    beats : int
        Vertical beats per stride.
    rounds : int
        How often the template and the corners are fitted in turn.
    beside : sequence of (Tracked, float)
        Bouts before and after, and when they gave way: what is still there of them is taken out.
    doubted : bool
        Whether to work the standard uncertainties and sizes out, which takes time.
    """
    start_s, end_s = limits_s
    first = max(0, int(np.ceil((start_s - signals.start_s) * signals.rate_hz)))
    last = int(np.ceil((end_s - signals.start_s) * signals.rate_hz))
    x = signals.axes_ms2[:, first:last]
    t = signals.start_s + np.arange(first, first + x.shape[1]) / signals.rate_hz
    for other, edge_s in beside:
        x = x - remains_of(other, edge_s, t)
    rough = _rough_rate(t, rate_t_s, stride_hz)
    if t.size < 8 or rough is None or (end_s - start_s) * np.median(rough) < 1.0:
        return None
    read = _read(signals, t)
    phase = _first_phase(x[0], rough, beats, signals.rate_hz, read)
    phase = _foot_first(x, phase, beats, rough, signals.rate_hz)
    return tracked_of(t, x, phase, read, beats=beats, rounds=rounds, doubted=doubted)


def halves_differ_s(tracked: Tracked) -> Floats:
    """Second half of each stride less the first, shape (c - 1,), s."""
    start = tracked.corner_t_s
    return np.asarray(start[1:] + start[:-1] - 2.0 * tracked.half_t_s)


def in_turn(starts: Floats, middles: Floats) -> Floats:
    """Numbers of starts and of the middles between them, one after the other.

    Examples
    --------
    >>> in_turn(np.array([0.0, 2.0, 4.0]), np.array([1.0, 3.0])).tolist()
    [0.0, 1.0, 2.0, 3.0, 4.0]
    """
    out = np.empty(starts.size + middles.size)
    out[::2], out[1::2] = starts, middles
    return out


def is_steady(tracked: Tracked) -> bool:
    """Whether what repeats only every stride of a trot keeps its size from stride to stride.

    What it grows and shrinks by is held against the beat, whose slope times the strides. Where
    there is hardly any, nobody rises.
    """
    count = tracked.corner_t_s.size - 1
    if count < FEWEST_FOR_STEADY:
        return True
    up, basis = tracked.shape[:1], basis_of(tracked.phase)
    odd_ms2, beat_ms2 = (float(np.hypot(up[0, k], up[0, k + HARMONICS])) for k in (1, 2))
    if odd_ms2 < RISEN_SHARE * beat_ms2:
        return True
    rest = tracked.axes_ms2[:1] - up @ basis
    change = np.abs(np.diff(in_phase(rest, up, basis, count)[:, 0, 0]))
    # By the median, as a bout's ends hold what is left of the gaits beside it.
    one = float(np.median(change) / (np.sqrt(2.0) * NORMAL_MEDIAN))  # a step is of two strides
    return bool(one < STEADY_SHARE * beat_ms2)


def remains_of(other: Tracked, edge_s: float, t_s: Floats) -> Floats:
    """What is still there of a gait beyond its end, or there already before its start, (3, n).

    Gaits fade into one another over about a stride.
    """
    side = 1.0 if other.t_s[-1] + other.t_s[0] < 2.0 * edge_s else -1.0
    out = np.zeros((3, t_s.size))
    near = np.abs(t_s - edge_s) < FADED * FADE_S
    there = expit(side * (edge_s - t_s[near]) / FADE_S)
    out[:, near] = there * template(other.shape, phase_at(other, t_s[near]))
    return out


def template(shape: Floats, phase: Floats) -> Floats:
    """Value of a template at some phases, shape (3, n)."""
    return np.asarray(shape @ basis_of(phase))


def phase_at(tracked: Tracked, t_s: Floats) -> Floats:
    """Phase at any times, in strides; beyond the bout at the pace of its nearest strides."""
    t, phase = tracked.t_s, tracked.phase
    near = min(t.size - 1, max(1, int(END_STRIDES * t.size / max(phase[-1] - phase[0], 1e-6))))
    inside = np.interp(t_s, t, phase)
    first = (phase[near] - phase[0]) / (t[near] - t[0])
    last = (phase[-1] - phase[-1 - near]) / (t[-1] - t[-1 - near])
    inside = np.where(t_s < t[0], phase[0] + (t_s - t[0]) * first, inside)
    return np.asarray(np.where(t_s > t[-1], phase[-1] + (t_s - t[-1]) * last, inside))


def _rough_rate(t_s: Floats, rate_t_s: Floats, stride_hz: Floats) -> Floats | None:
    if t_s.size == 0:
        return None
    first, last = np.searchsorted(rate_t_s, t_s[0]), np.searchsorted(rate_t_s, t_s[-1], "right")
    rate_t_s, stride_hz = rate_t_s[first:last], stride_hz[first:last]
    known = np.isfinite(stride_hz)
    if not known.any():
        return None
    rate = median_filter(stride_hz[known], size=15, mode="nearest")
    return np.interp(t_s, rate_t_s[known], rate)


def _read(signals: Signals, t: Floats) -> Floats:
    read = np.ones(t.size)
    for start_s, end_s in signals.unread_s:
        read[(t >= start_s) & (t < end_s)] = 0.0
    return read if read.any() else np.ones(t.size)


def _first_phase(up: Floats, rate_hz: Floats, beats: int, sample_hz: float, read: Floats) -> Floats:
    """Phase of the vertical beat by complex demodulation at the rough rate.

    Across a gap in the log the beat runs on at that rate.
    """
    rough = np.concatenate([[0.0], np.cumsum(0.5 * (rate_hz[1:] + rate_hz[:-1]))]) / sample_hz
    length = 2.0 / float(np.median(rate_hz))
    carrier = np.exp(-2j * np.pi * beats * rough)
    beat = smoothed(up * carrier, length * sample_hz)
    known = np.flatnonzero(read)
    turned = np.unwrap(np.angle(beat[known])) / (2.0 * np.pi * beats)
    return np.asarray(rough + np.interp(np.arange(up.size), known, turned))


def _foot_first(x: Floats, phase: Floats, beats: int, rate_hz: Floats, sample_hz: float) -> Floats:
    """Put whole numbers on the peak of the vertical beat, and on the same one of a pair."""
    phase = phase + EARLY_BEATS / beats
    if beats == 1:
        return phase
    length = SLOW_STRIDES / float(np.median(rate_hz))
    odd = smoothed(x * np.exp(-2j * np.pi * phase), length * sample_hz)
    lead = odd[int(np.mean(np.abs(odd) ** 2, axis=1).argmax())]
    return phase + 0.5 if float(np.real(lead).sum()) < 0.0 else phase


def tracked_of(
    t: Floats,
    x: Floats,
    phase: Floats,
    read: Floats,
    *,
    beats: int,
    rounds: int,
    odd_strides: float = SLOW_STRIDES,
    doubted: bool = True,
) -> Tracked:
    """Bend a template onto a bout; strides begin at whole numbers of ``phase``.

    In a gait of two beats odd harmonics are none of its own: the rider's, or of a phone on one
    side, they may change over ``odd_strides``. Where it is not ``doubted`` the standard
    uncertainties and sizes are NaN: they take time.
    """
    bent = bend(
        t,
        x,
        phase,
        odd_strides=None if beats == 1 else odd_strides,
        rounds=rounds,
        read=read,
    )
    corner_t, shape = bent.corner_t_s, fit_shape(x, bent.basis, read)
    length = np.gradient(corner_t) if corner_t.size > 1 else np.ones(1)
    nothing = np.full(corner_t.size, np.nan)
    whole = corner_t[::CORNERS]
    sd, duration_sd, halves_sd = nothing, nothing[CORNERS:], nothing[2:]
    log_size = np.full(whole.size - 1, np.nan)
    if doubted:
        sd, duration_sd, halves_sd = sds_of(bent)
        log_size = _log_size(x, bent, shape, beats=beats, count=log_size.size)
    return Tracked(
        t_s=t, phase=bent.phase, corner_t_s=whole, corner_sd_s=(sd * length)[::CORNERS],
        duration_sd_s=(duration_sd * length[: duration_sd.size])[::CORNERS],
        half_t_s=corner_t[1::CORNERS],
        halves_sd_s=(halves_sd * length[1 : 1 + halves_sd.size])[::CORNERS],
        shape=shape, noise_ms2=bent.noise_ms2, read=read, axes_ms2=x,
        log_size=log_size,
    )  # fmt: skip


def _log_size(x: Floats, bent: Bent, shape: Floats, *, beats: int, count: int) -> Floats:
    """Size of each stride by the harmonics of its beat, the rider's rise and sit left out."""
    order = np.concatenate([[1], *2 * [np.arange(1, HARMONICS + 1)]])
    model = np.where(order % beats == 0, shape, 0.0) @ bent.basis / bent.noise_ms2[:, None]
    index = np.floor(bent.phase - round(bent.first)).astype(np.int64)
    inside = (index >= 0) & (index < count)
    product, square = (
        np.bincount(index[inside], weights=(model * y).sum(axis=0)[inside], minlength=count)
        for y in (x / bent.noise_ms2[:, None], model)
    )
    return np.asarray(np.log(np.maximum(product, 0.05 * square + 1e-9) / (square + 1e-9)))
