"""Measures of a stretch of path with their doubt, by drawing from the path's joint posterior.

A measure that is any function of the points takes its doubt from the same joint covariance as
every other, so that neighbouring points are never counted as independent.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Path

DRAWS: Final = 64
MOST_EPOCHS: Final = 120
Points = Callable[[Floats, Floats], float]
Lines = Callable[[Floats, Floats], Floats]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A stretch of path with draws from its posterior.

    Attributes
    ----------
    t_s : array, shape (k,), s
    x_m, y_m : array, shape (k,), m
        The path itself.
    x_draws_m, y_draws_m : array, shape (DRAWS, k), m
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    x_draws_m: Floats
    y_draws_m: Floats


def drawn(path: Path, start_s: float, end_s: float) -> Drawn:
    """Draw from the posterior of the epochs in ``[start_s, end_s)``.

    Raises
    ------
    ValueError
        Fewer than three epochs lie in the interval.
    """
    epochs = path.between(start_s, end_s)
    if epochs.size < 3:
        raise ValueError("too short a stretch to measure")
    if epochs.size > MOST_EPOCHS:
        chosen = np.linspace(0, epochs.size - 1, MOST_EPOCHS).round().astype(np.int64)
        epochs = epochs[chosen]
    x_m, y_m = path.x_m[epochs], path.y_m[epochs]
    shaken = _draws(path.posterior.covariance(epochs))
    return Drawn(
        t_s=path.t_s[epochs],
        x_m=x_m,
        y_m=y_m,
        x_draws_m=x_m + shaken[:, 0::2],
        y_draws_m=y_m + shaken[:, 1::2],
    )


def _draws(covariance: Floats) -> Floats:
    rng = np.random.default_rng(1)  # the same ride always gives the same page
    half = rng.standard_normal((DRAWS // 2, covariance.shape[0]))
    shaken: Floats = np.concatenate([half, -half]) @ _root((covariance + covariance.T) / 2).T
    return shaken


def _root(covariance: Floats) -> Floats:
    """Square root of a covariance, also of one that rounding has left not quite positive."""
    size = covariance.shape[0]
    # Points of a standing horse are one and the same: a little is added to the diagonal.
    tiny = 1e-9 * max(float(np.trace(covariance)) / size, 1e-6)
    try:
        return np.asarray(np.linalg.cholesky(covariance + tiny * np.eye(size)))
    except np.linalg.LinAlgError:
        values, vectors = np.linalg.eigh(covariance)
        return np.asarray(vectors * np.sqrt(np.maximum(values, 0.0)))


def measured_on(stretch: Drawn, measure: Points) -> Estimate:
    """Value of a measure on the path, and its standard deviation over the draws."""
    pairs = zip(stretch.x_draws_m, stretch.y_draws_m, strict=True)
    shaken = [measure(x_m, y_m) for x_m, y_m in pairs]
    return Estimate(value=measure(stretch.x_m, stretch.y_m), sd=float(np.std(shaken)))


def measured_together(stretch: Drawn, measure: Lines) -> Estimate:
    """The same with a measure that takes many lines at once, shape ``(n, k)``."""
    x_m = np.vstack([stretch.x_m, stretch.x_draws_m])
    y_m = np.vstack([stretch.y_m, stretch.y_draws_m])
    values = measure(x_m, y_m)
    return Estimate(value=float(values[0]), sd=float(np.std(values[1:])))
