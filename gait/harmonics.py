"""A periodic shape as a sum of harmonics: its basis, its fit, and what the fit leaves."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from track.path import Floats

HARMONICS: Final = 5
LEAST_NOISE_MS2: Final = 0.05
FEWEST_BLOCKS: Final = 4
"""Strides; what is left is looked at stride by stride."""


def smoothed(values: NDArray[Any], length: float) -> NDArray[Any]:
    """Running mean with a triangle of weights (two boxes), cut at the ends; along the last axis.

    ``length`` counts samples.

    A box of one stride has nulls at all multiples of the stride rate, so that demodulating at one
    harmonic leaves nothing of the others.
    """
    half = max(1, round(0.25 * length))
    return _box(_box(values, half), half)


def _box(values: NDArray[Any], half: int) -> NDArray[Any]:
    count, width = values.shape[-1], 2 * half + 1
    sums = np.zeros((*values.shape[:-1], count + width), dtype=values.dtype)
    np.cumsum(values, axis=-1, out=sums[..., half + 1 : half + 1 + count])
    sums[..., half + 1 + count :] = sums[..., half + count, None]
    at = np.arange(count)
    held = np.minimum(at + half + 1, count) - np.maximum(at - half, 0)
    return np.asarray((sums[..., width:] - sums[..., :count]) / held)


def basis_of(phase: Floats) -> Floats:
    """Constant, cosines and sines, shape (2 * HARMONICS + 1, n)."""
    out = np.empty((2 * HARMONICS + 1, phase.size))
    out[0] = 1.0
    turn = np.exp(2j * np.pi * phase)
    power = turn.copy()
    for k in range(1, HARMONICS + 1):
        out[k], out[HARMONICS + k] = power.real, power.imag
        power *= turn
    return out


def steepness(shape: Floats) -> Floats:
    """The template whose value is the derivative of another by phase, per stride."""
    k = 2.0 * np.pi * np.arange(1, HARMONICS + 1)
    cosines, sines = shape[:, 1 : HARMONICS + 1], shape[:, HARMONICS + 1 :]
    return np.concatenate([np.zeros((3, 1)), k * sines, -k * cosines], axis=1)


def fit_shape(x: Floats, basis: Floats, weight: Floats | None = None) -> Floats:
    """Constant, cosines and sines of each axis that fit best, shape (3, 2 * HARMONICS + 1)."""
    weighted = basis if weight is None else basis * weight
    gram = weighted @ basis.T
    gram[np.diag_indices_from(gram)] += 0.5
    return np.asarray(np.linalg.solve(gram, weighted @ x.T).T)


def without_odd(x: Floats, basis: Floats, length: float) -> Floats:
    """Take slowly changing odd harmonics out: the rider's rise and sit, and its changes of leg."""
    left = x.copy()
    for k in (1, 3):
        wave = basis[k] + 1j * basis[HARMONICS + k]
        left -= 2.0 * np.real(smoothed(x * np.conj(wave), length) * wave)
    return left


def in_phase(rest: Floats, shape: Floats, basis: Floats, blocks: int) -> Floats:
    """How far what is left grows and shrinks the template, block by block and harmonic.

    Parameters
    ----------
    rest : array, shape (k, n), m/s²
        What a template leaves on some axes.
    shape : array, shape (k, 2 * HARMONICS + 1)
        The template on these axes.
    basis : array, shape (2 * HARMONICS + 1, n)
    blocks : int
        Each under a raised cosine, which keeps slow motion out.

    Returns
    -------
    array, shape (blocks, k, HARMONICS), m/s²
    """
    length = rest.shape[1] // blocks
    taper = np.sin(np.pi * (np.arange(length) + 0.5) / length) ** 2
    rests, bases = (
        part[:, : blocks * length].reshape(-1, blocks, length) for part in (rest, basis[1:])
    )
    waves = np.matmul((rests * taper).swapaxes(0, 1), bases.transpose(1, 2, 0))
    template = shape[:, 1:].reshape(-1, 2, HARMONICS)
    unit = template / np.sqrt((template**2).sum(axis=1, keepdims=True) + 1e-12)
    # The taper's mean is a half, and so is that of a squared wave.
    return np.asarray((waves.reshape(blocks, -1, 2, HARMONICS) * unit).sum(axis=2) * (4.0 / length))


def noise_ms2_of(rest: Floats, told: Floats, shape: Floats, basis: Floats, blocks: int) -> Floats:
    """What the template leaves where it tells of time, as white noise of that level, shape (3,).

    What is left is not white: a swinging pocket leaves much at rates at which the template has no
    slope. So it is looked at block by block, about a stride each, at each harmonic, and the
    harmonics weighed by the template's squared slope there. Only the part in phase with the
    template counts: of that in quadrature the corners have taken their share. A horse's motion
    grows and shrinks in phase too, so the plain mean square stays the upper limit, and with few
    blocks it serves alone.
    """
    level = np.average(rest**2, axis=1, weights=told)
    if blocks >= FEWEST_BLOCKS:
        along = in_phase(rest * told, shape, basis, blocks)
        # A third: under this taper noise of unit variance makes squares of 3 over the length. The
        # template took its own share of each harmonic out: one block's worth.
        share = (rest.shape[1] // blocks) / (3.0 * (blocks - 1))
        power = (along**2).sum(axis=0) * share
        square = (shape[:, 1:].reshape(3, 2, HARMONICS) ** 2).sum(axis=1) + 1e-12
        weight = square * np.arange(1, HARMONICS + 1) ** 2
        level = np.minimum(level, (weight * power).sum(axis=1) / weight.sum(axis=1))
    return np.asarray(np.hypot(np.sqrt(level), LEAST_NOISE_MS2))
