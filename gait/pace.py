"""The pace of a periodic shape: a line of straight pieces whose corners are fitted.

Gauss-Newton on banded normal equations, with all three axes and all harmonics weighing in.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.linalg import solveh_banded

from gait.harmonics import basis_of, fit_shape, noise_ms2_of, steepness, without_odd
from track.path import Floats, Ints

CORNERS: Final = 2
"""Corners of the pace per stride."""
STEP_SD_CYCLES: Final = 0.15
"""Weak prior: sd of the change of a stride's length from one to the next, in strides."""
LARGEST_STEP_CYCLES: Final = 0.08
"""Corners move no further in one round."""
SLOW_STRIDES: Final = 8.0
"""Steady odd harmonics of walk and trot, the rider's rising among them, change over so many."""
LEAST_FOR_ODD: Final = 6
"""Strides below which odd harmonics stay in the template."""
REACH: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Bent:
    """A template bent onto a signal.

    Attributes
    ----------
    first : float, strides
        Phase of the first corner.
    corner_t_s : array, shape (c,), s
        From a corner at which a stride begins.
    phase : array, shape (n,), strides
    noise_ms2 : array, shape (3,), m/s²
        What the template leaves.
    basis : array, shape (2 * HARMONICS + 1, n)
        Of the phase, as :func:`basis_of` makes it.
    bands : array, shape (3, c)
        Normal equations of the last round.
    """

    first: float
    corner_t_s: Floats
    phase: Floats
    noise_ms2: Floats
    basis: Floats
    bands: Floats


def bend(
    t: Floats,
    x: Floats,
    phase: Floats,
    *,
    odd_strides: float | None,
    rounds: int,
    read: Floats,
) -> Bent:
    """Fit the corners of the pace, two to a stride, and the template in turn.

    Parameters
    ----------
    t : array, shape (n,), s
    x : array, shape (3, n), m/s²
    phase : array, shape (n,), strides
        A first pace; strides begin at its whole numbers.
    odd_strides : float or None, strides
        Take odd harmonics that change over so many strides out first: the rider's rise and sit.
    rounds : int
    read : array, shape (n,)
        Nought where the log could not be read, else one.
    """
    first, last = (np.floor(edge + 0.5) for edge in (phase.min(), phase.max()))
    corner = np.arange(CORNERS * first, CORNERS * last + 1.0)
    pace = CORNERS * np.maximum.accumulate(phase + 1e-9 * np.arange(phase.size))
    corner_t = _crossings(t, pace, corner)
    slow = (odd_strides or 0.0) * phase.size / max(phase[-1] - phase[0], 1.0)
    y, most = x, LARGEST_STEP_CYCLES * CORNERS
    whole = bool(read.all())
    for number in range(rounds):
        pace = _phase_of(t, corner, corner_t)
        basis = basis_of(pace / CORNERS)
        if odd_strides and last - first > LEAST_FOR_ODD and number % 2 == 0:
            y = without_odd(x, basis, slow)
        shape = fit_shape(y, basis, None if whole else read)
        rest = y - shape @ basis
        blocks = int(last - first) if number == rounds - 1 else 0
        noise = noise_ms2_of(rest, read, shape, basis, blocks)[:, None]
        slope = steepness(shape) @ basis * (read / CORNERS)
        move, bands = _step((pace, corner, corner_t), slope / noise, rest / noise)
        length = np.gradient(corner_t) if corner_t.size > 1 else np.ones(1)
        corner_t = corner_t - np.clip(move, -most, most) * length
        corner_t = np.maximum.accumulate(corner_t + 1e-6 * np.arange(corner_t.size))
    phase = _phase_of(t, corner, corner_t) / CORNERS
    return Bent(
        first=float(first), corner_t_s=corner_t, phase=phase,
        noise_ms2=noise[:, 0], basis=basis_of(phase), bands=bands,
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
    paced: tuple[Floats, Floats, Floats], slope: Floats, rest: Floats
) -> tuple[Floats, Floats]:
    """One Gauss-Newton step of the corners' phases, in strides, and its normal equations.

    ``paced``: phase of the samples, corners, and their instants; ``slope`` and ``rest`` are in
    units of the noise.
    """
    phase, corner, corner_t = paced
    count = corner.size
    left = np.clip(np.floor(phase - corner[0]).astype(np.int64), 0, max(count - 2, 0))
    share = np.clip(phase - corner[0] - left, 0.0, 1.0)
    bands = np.zeros((3, count))  # lower form: diagonal, first, second
    bands[:2], goal = pieces_of(
        left, share, (slope**2).sum(axis=0), (slope * rest).sum(axis=0), count
    )
    bands[0] += 1e-3
    _add_prior(bands, goal, corner_t)
    return np.asarray(solveh_banded(bands, goal, lower=True)), bands


def pieces_of(
    left: Ints, share: Floats, weight: Floats, pull: Floats, count: int
) -> tuple[Floats, Floats]:
    """Normal equations of the corners of straight pieces, by points that lie between two of them.

    Parameters
    ----------
    left : array of int, shape (n,)
        The corner before each point.
    share : array, shape (n,)
        How far on to the next corner it lies, 0 to 1.
    weight : array, shape (n,)
    pull : array, shape (n,)
        Weight times the value there.
    count : int
        Of corners.

    Returns
    -------
    array, shape (2, count)
        Diagonal and first subdiagonal, as :func:`scipy.linalg.solveh_banded` takes them.
    array, shape (count,)
        Right-hand side.
    """
    right = np.minimum(left + 1, count - 1)
    ahead = 1 - share
    diagonal = _sum(left, weight * ahead**2, count) + _sum(right, weight * share**2, count)
    beside = _sum(left, weight * ahead * share, count)
    goal = _sum(left, pull * ahead, count) + _sum(right, pull * share, count)
    return np.stack([diagonal, beside]), goal


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


def sds_of(bent: Bent) -> tuple[Floats, Floats, Floats]:
    """Sd of every corner, of the difference to the corner a stride on, and of how halves differ.

    All in corners; the last is that of a corner, less twice the next, plus the one after it.

    From the banded precision: its inverse falls off within a few corners, so that the inverses
    of blocks of neighbours suffice.
    """
    bands = bent.bands
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
        return np.sqrt(own), np.zeros(max(count - CORNERS, 0)), np.zeros(max(count - 2, 0))
    joint = inverse[:-CORNERS, reach, reach + CORNERS]
    between = own[:-CORNERS] + own[CORNERS:] - 2.0 * joint
    halves = inverse[1:-1, reach - 1 : reach + 2, reach - 1 : reach + 2]
    bow = np.array([1.0, -2.0, 1.0])
    differ = np.einsum("i,nij,j->n", bow, halves, bow)
    return np.sqrt(own), np.sqrt(np.maximum(between, 0.0)), np.sqrt(np.maximum(differ, 0.0))
