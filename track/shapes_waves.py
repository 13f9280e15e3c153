"""Undulations of a shape about its circle, and measures over the shapes it may truly have been."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from track.path import Estimate, Floats
from track.shapes_fit import CircleFit
from track.stretch import Stretch

DRAWS: Final = 400
ROUND: Final = np.linspace(0.0, 2 * np.pi, 180, endpoint=False)
Measure = Callable[[Floats, float], Floats]


def radial_of(angle: Floats) -> Floats:
    """Radial part of each point's displacement, shape (n, 2 n)."""
    n = len(angle)
    out = np.zeros((n, 2 * n))
    out[np.arange(n), 2 * np.arange(n)] = np.cos(angle)
    out[np.arange(n), 2 * np.arange(n) + 1] = np.sin(angle)
    return out


def _wave_design(angle: Floats, waves: int) -> Floats:
    return np.stack([f(k * angle) for k in range(1, waves + 1) for f in (np.cos, np.sin)], axis=1)


def waves_of(stretch: Stretch, fit: CircleFit, carry: Floats, count: int) -> tuple[Floats, Floats]:
    """Coefficients of the radial waves about the fitted circle, and their covariance."""
    angle = np.arctan2(stretch.y_m - fit.y_m, stretch.x_m - fit.x_m)
    solve = np.linalg.pinv(_wave_design(angle, count))
    slopes = np.stack([np.cos(angle), np.sin(angle), np.ones_like(angle)], axis=1)
    lever = solve @ (radial_of(angle) - slopes @ carry)
    return solve @ fit.deviation_m, stretch.covariance(lever)


def peak_to_valley_m(waves: Floats, radius_m: float) -> Floats:
    """RONt of each row of wave coefficients."""
    peaks: Floats = np.ptp(waves @ _wave_design(ROUND, waves.shape[1] // 2).T, axis=1)
    return peaks


def length_minus_width_m(waves: Floats, radius_m: float) -> Floats:
    """Extent along y less that along x, of each row of wave coefficients."""
    radius = radius_m + waves @ _wave_design(ROUND, waves.shape[1] // 2).T
    extents: Floats = np.ptp(radius * np.sin(ROUND), axis=1) - np.ptp(
        radius * np.cos(ROUND), axis=1
    )
    return extents


def over_shapes(
    measure: Measure, waves: Floats, spread: Floats, *, radius_m: float = 0.0
) -> Estimate:
    """A measure of a shape, over shapes that it may truly have been."""
    draws = drawn(waves, spread)
    value = float(measure(waves[None, :], radius_m)[0])
    return Estimate(value=value, sd=float(np.std(measure(draws, radius_m))))


def drawn(mean: Floats, spread: Floats) -> Floats:
    """Some hundreds of vectors from a normal law, the same ones every time."""
    return np.asarray(mean + _draws(mean.size) @ _root(spread).T)


def _draws(count: int) -> Floats:
    half = np.random.default_rng(12181).normal(size=(DRAWS // 2, count))
    return np.concatenate([half, -half])


def _root(spread: Floats) -> Floats:
    values, vectors = np.linalg.eigh((spread + spread.T) / 2)
    root: Floats = vectors * np.sqrt(np.maximum(values, 0.0))
    return root
