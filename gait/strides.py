"""Every stride, to a fraction of a sample: a template of one stride bent onto the signal.

A bout's signal is taken as one periodic shape run through at an uneven pace. The pace is a line of
straight pieces whose corners are the strides' instants, so a stride's duration is not smoothed
by its neighbours: the corners are what is fitted (Gauss-Newton on banded normal equations), with
all three axes and all harmonics weighing in. A missed or doubled beat would have to bend the pace
against a weak prior on change from stride to stride, which is how the model mends it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded
from scipy.ndimage import median_filter

from gait.features import Signals
from track.path import Floats, Ints

HARMONICS: Final = 5
STEP_SD_CYCLES: Final = 0.15
"""Weak prior: sd of the change of a stride's length from one to the next, in strides."""
EARLY_BEATS: Final = 0.25
"""A stride begins so long before the vertical's peak: feet land before they bear most."""
CORNERS: Final = 2
"""Corners of the pace per stride."""
LEAST_FOR_ODD: Final = 6
"""Strides below which odd harmonics stay in the template."""
LEAST_NOISE_MS2: Final = 0.05
REACH: Final = 5
LARGEST_STEP_CYCLES: Final = 0.08
"""Corners move no further in one round."""
END_STRIDES: Final = 3.0
"""A bout is continued beyond its ends at the mean pace of this many strides."""
SLOW_STRIDES: Final = 8.0
"""Odd harmonics of the trot, the rider's rising among them, may change over this many strides."""


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
    shape : array, shape (3, 2 * HARMONICS + 1)
        Template: constant, cosines, sines of each axis.
    noise_ms2 : array, shape (3,), m/s²
        What the template leaves.
    """

    t_s: Floats
    phase: Floats
    corner_t_s: Floats
    corner_sd_s: Floats
    half_t_s: Floats
    duration_sd_s: Floats
    shape: Floats
    noise_ms2: Floats


def track_bout(
    signals: Signals,
    limits_s: tuple[float, float],
    rate_t_s: Floats,
    stride_hz: Floats,
    *,
    beats: int,
    rounds: int = 3,
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
    """
    start_s, end_s = limits_s
    first = max(0, int(np.ceil((start_s - signals.start_s) * signals.rate_hz)))
    last = int(np.ceil((end_s - signals.start_s) * signals.rate_hz))
    x = signals.axes_ms2[:, first:last]
    t = signals.start_s + np.arange(first, first + x.shape[1]) / signals.rate_hz
    rough = _rough_rate(t, rate_t_s, stride_hz)
    if t.size < 8 or rough is None or (end_s - start_s) * np.median(rough) < 1.0:
        return None
    phase = _first_phase(x[0], rough, beats, signals.rate_hz)
    phase = _foot_first(x, phase, beats, rough, signals.rate_hz)
    return _bend(t, x, phase, beats=beats, sample_hz=signals.rate_hz, rounds=rounds)


def template(shape: Floats, phase: Floats) -> Floats:
    """Value of a template at some phases, shape (3, n)."""
    return np.asarray(shape @ _basis(phase))


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
    inside = (rate_t_s >= t_s[0]) & (rate_t_s <= t_s[-1]) if t_s.size else np.zeros(0, bool)
    known = inside & np.isfinite(stride_hz) if t_s.size else inside
    if not known.any():
        return None
    rate = median_filter(stride_hz[known], size=15, mode="nearest")
    return np.interp(t_s, rate_t_s[known], rate)


def _first_phase(up: Floats, rate_hz: Floats, beats: int, sample_hz: float) -> Floats:
    """Phase of the vertical beat by complex demodulation at the rough rate."""
    rough = np.concatenate([[0.0], np.cumsum(0.5 * (rate_hz[1:] + rate_hz[:-1]))]) / sample_hz
    length = 2.0 / float(np.median(rate_hz))
    carrier = np.exp(-2j * np.pi * beats * rough)
    beat = smoothed(up * carrier, length, sample_hz)
    return np.asarray(rough + np.unwrap(np.angle(beat)) / (2.0 * np.pi * beats))


def smoothed(values: NDArray[Any], length_s: float, rate_hz: float) -> NDArray[Any]:
    """Running mean with a triangle of weights (two boxes), cut at the ends; along the last axis.

    A box of one stride has nulls at all multiples of the stride rate, so that demodulating at one
    harmonic leaves nothing of the others.
    """
    half = max(1, round(0.25 * length_s * rate_hz))
    return _box(_box(values, half), half)


def _box(values: NDArray[Any], half: int) -> NDArray[Any]:
    count = values.shape[-1]
    sums = np.zeros((*values.shape[:-1], count + 1), dtype=values.dtype)
    np.cumsum(values, axis=-1, out=sums[..., 1:])
    at = np.arange(count)
    low, high = np.maximum(at - half, 0), np.minimum(at + half + 1, count)
    return np.asarray((sums[..., high] - sums[..., low]) / (high - low))


def _foot_first(x: Floats, phase: Floats, beats: int, rate_hz: Floats, sample_hz: float) -> Floats:
    """Put whole numbers on the peak of the vertical beat, and on the same one of a pair."""
    phase = phase + EARLY_BEATS / beats
    if beats == 1:
        return phase
    length = SLOW_STRIDES / float(np.median(rate_hz))
    odd = smoothed(x * np.exp(-2j * np.pi * phase), length, sample_hz)
    lead = odd[int(np.mean(np.abs(odd) ** 2, axis=1).argmax())]
    return phase + 0.5 if float(np.real(lead).sum()) < 0.0 else phase


def _basis(phase: Floats) -> Floats:
    """Constant, cosines and sines, shape (2 * HARMONICS + 1, n)."""
    out = np.empty((2 * HARMONICS + 1, phase.size))
    out[0] = 1.0
    turn = np.exp(2j * np.pi * phase)
    power = turn.copy()
    for k in range(1, HARMONICS + 1):
        out[k], out[HARMONICS + k] = power.real, power.imag
        power *= turn
    return out


def _steepness(shape: Floats) -> Floats:
    """The template whose value is the derivative of another by phase, per stride."""
    k = 2.0 * np.pi * np.arange(1, HARMONICS + 1)
    cosines, sines = shape[:, 1 : HARMONICS + 1], shape[:, HARMONICS + 1 :]
    return np.concatenate([np.zeros((3, 1)), k * sines, -k * cosines], axis=1)


def _fit_shape(x: Floats, basis: Floats) -> Floats:
    gram = basis @ basis.T
    gram[np.diag_indices_from(gram)] += 0.5
    return np.asarray(np.linalg.solve(gram, basis @ x.T).T)


def _without_odd(x: Floats, basis: Floats, length_s: float, sample_hz: float) -> Floats:
    """Take slowly changing odd harmonics out: the rider's rise and sit, and its changes of leg."""
    left = x.copy()
    for k in (1, 3):
        wave = basis[k] + 1j * basis[HARMONICS + k]
        left -= 2.0 * np.real(smoothed(x * np.conj(wave), length_s, sample_hz) * wave)
    return left


def _bend(
    t: Floats, x: Floats, phase: Floats, *, beats: int, sample_hz: float, rounds: int
) -> Tracked:
    """Fit the corners of the pace, ``CORNERS`` to a stride, and the template in turn.

    Inside, phases are counted in corners: one corner to the next is one.
    """
    first, last = (np.floor(edge + 0.5) for edge in (phase.min(), phase.max()))
    corner = np.arange(CORNERS * first, CORNERS * last + 1.0)
    pace = CORNERS * np.maximum.accumulate(phase + 1e-9 * np.arange(phase.size))
    corner_t = _crossings(t, pace, corner)
    slow_s = SLOW_STRIDES * phase.size / sample_hz / max(phase[-1] - phase[0], 1.0)
    y, most = x, LARGEST_STEP_CYCLES * CORNERS
    for number in range(rounds):
        pace = _phase_of(t, corner, corner_t)
        basis = _basis(pace / CORNERS)
        if beats == 2 and last - first > LEAST_FOR_ODD and number % 2 == 0:
            y = _without_odd(x, basis, slow_s, sample_hz)
        shape = _fit_shape(y, basis)
        rest = y - shape @ basis
        noise = np.sqrt(np.mean(rest**2, axis=1))[:, None] + LEAST_NOISE_MS2
        slope = _steepness(shape) @ basis / CORNERS
        move, bands = _step(pace, corner, corner_t, slope / noise, rest / noise)
        length = np.gradient(corner_t) if corner_t.size > 1 else np.ones(1)
        corner_t = corner_t - np.clip(move, -most, most) * length
        corner_t = np.maximum.accumulate(corner_t + 1e-6 * np.arange(corner_t.size))
    phase = _phase_of(t, corner, corner_t) / CORNERS
    sd, duration_sd = _sds(bands)
    return Tracked(
        t_s=t, phase=phase, corner_t_s=corner_t[::CORNERS], corner_sd_s=(sd * length)[::CORNERS],
        duration_sd_s=(duration_sd * length[: duration_sd.size])[::CORNERS],
        half_t_s=corner_t[1::CORNERS], shape=_fit_shape(x, _basis(phase)), noise_ms2=noise[:, 0],
    )  # fmt: skip


def _crossings(t: Floats, phase: Floats, corner: Floats) -> Floats:
    """Instants at which an ascending phase reaches each corner, on beyond both ends."""
    rate = max((phase[-1] - phase[0]) / (t[-1] - t[0]), 1e-3)
    inside = np.interp(corner, phase, t)
    before, after = corner < phase[0], corner > phase[-1]
    inside[before] = t[0] - (phase[0] - corner[before]) / rate
    inside[after] = t[-1] + (corner[after] - phase[-1]) / rate
    return np.asarray(inside)


def _phase_of(t: Floats, corner: Floats, corner_t: Floats) -> Floats:
    if corner.size == 1:
        return np.asarray(corner[0] + 0.0 * t)
    phase = np.interp(t, corner_t, corner)
    first = 1.0 / (corner_t[1] - corner_t[0])
    last = 1.0 / (corner_t[-1] - corner_t[-2])
    phase = np.where(t < corner_t[0], corner[0] + (t - corner_t[0]) * first, phase)
    return np.asarray(np.where(t > corner_t[-1], corner[-1] + (t - corner_t[-1]) * last, phase))


def _step(
    phase: Floats, corner: Floats, corner_t: Floats, slope: Floats, rest: Floats
) -> tuple[Floats, Floats]:
    """One Gauss-Newton step of the corners' phases, in strides, and its normal equations.

    ``slope`` and ``rest`` are in units of the noise.
    """
    count = corner.size
    left = np.clip(np.floor(phase - corner[0]).astype(np.int64), 0, max(count - 2, 0))
    share = np.clip(phase - corner[0] - left, 0.0, 1.0)
    right = np.minimum(left + 1, count - 1)
    weight = (slope**2).sum(axis=0)
    pull = (slope * rest).sum(axis=0)
    bands = np.zeros((3, count))  # lower form: diagonal, first, second
    bands[0] = _sum(left, weight * (1 - share) ** 2, count) + _sum(right, weight * share**2, count)
    bands[1] = _sum(left, weight * (1 - share) * share, count)
    goal = _sum(left, pull * (1 - share), count) + _sum(right, pull * share, count)
    bands[0] += 1e-3
    _add_prior(bands, goal, corner_t)
    return np.asarray(solveh_banded(bands, goal, lower=True)), bands


def _sum(index: Ints, values: Floats, count: int) -> Floats:
    return np.bincount(index, weights=values, minlength=count).astype(np.float64)


def _add_prior(bands: Floats, goal: Floats, corner_t: Floats) -> None:
    """Add the prior on the change of length from stride to stride (second differences)."""
    if corner_t.size < 3:
        return
    weight = 1.0 / (STEP_SD_CYCLES * CORNERS) ** 2
    length = float(np.median(np.diff(corner_t)))
    bend = np.diff(corner_t, 2) / length  # a corner's phase moves against its instant
    for offset, factor in enumerate((1.0, -2.0, 1.0)):
        part = slice(offset, offset + bend.size)
        bands[0, part] += weight * factor**2
        goal[part] += weight * factor * bend
    bands[1, : bend.size] += weight * -2.0
    bands[1, 1 : bend.size + 1] += weight * -2.0
    bands[2, : bend.size] += weight * 1.0


def _sds(bands: Floats) -> tuple[Floats, Floats]:
    """Sd of every corner, and of the difference to the corner a stride on, in corners.

    From the banded precision: its inverse falls off within a few corners, so that the inverses
    of blocks of neighbours suffice.
    """
    count = bands.shape[1]
    reach = min(REACH, count - 1)
    size = 2 * reach + 1
    block = np.zeros((count, size, size))
    centre = np.arange(count)
    for i in range(size):
        row = centre + i - reach
        block[:, i, i] = np.where((row >= 0) & (row < count), bands[0, row % count], 1.0)
        for lag in (1, 2):
            if i + lag < size:
                known = (row >= 0) & (row + lag < count)
                value = np.where(known, bands[lag, row % count], 0.0)
                block[:, i, i + lag] = value
                block[:, i + lag, i] = value
    inverse = np.linalg.inv(block)
    own = inverse[:, reach, reach]
    if reach < CORNERS:
        return np.sqrt(own), np.zeros(0)
    joint = inverse[:-CORNERS, reach, reach + CORNERS]
    between = own[:-CORNERS] + own[CORNERS:] - 2.0 * joint
    return np.sqrt(own), np.sqrt(np.maximum(between, 0.0))
