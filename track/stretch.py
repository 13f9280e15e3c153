"""A stretch of path as closely spaced points, with what they may truly have been.

Neighbouring points of a path share their errors, so nothing measured on them divides by a number
of points: the joint covariance of the path's epochs is carried through. Between epochs the line
is taken as smooth (cubic, Catmull and Rom 1974), which is linear in the epochs, so that their
covariance carries over to any point.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from track.path import Estimate, Floats, Ints, Path

DRAWS: Final = 128
SPACING_S: Final = 0.25
MOST_KNOTS: Final = 120
EDGES: Final = np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
LEAST_POINTS: Final = 7
EDGE_SD_S: Final = 0.2
"""Doubt of when a figure begins or ends, beside that of the points [measured on made-up rides]."""
Lines = Callable[[Floats, Floats], Floats]
"""A measure of many lines at once: from x and y of shape (n, k) to n numbers."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Points of a path between two times, both included.

    Attributes
    ----------
    t_s : array, shape (k,), s
        Evenly spaced.
    x_m, y_m : array, shape (k,), m
    root : array, shape (2 k, r), m
        Its rows are the points' displacements x0, y0, x1, y1 ... by independent standard normal
        numbers: ``root @ root.T`` is the points' joint covariance.
    x_edges_m, y_edges_m : array, shape (4, k), m
        The points when the stretch begins earlier or later, ends earlier or later, by the doubt
        of when it does.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    root: Floats
    x_edges_m: Floats
    y_edges_m: Floats

    def variance(self, row: Floats) -> float:
        """Variance of a number that is linear in the points' displacements.

        Parameters
        ----------
        row : array, shape (2 k,)
            Its derivatives by x0, y0, x1, y1 ...
        """
        return float(((row @ self.root) ** 2).sum())

    def covariance(self, rows: Floats) -> Floats:
        """Covariance of several such numbers, ``rows`` of shape (m, 2 k)."""
        spread = rows @ self.root
        return np.asarray(spread @ spread.T)

    def edge_variance(self, measure: Lines) -> float:
        """Variance of a measure from the doubt of when the stretch begins and ends."""
        early, late = measure(self.x_edges_m, self.y_edges_m).reshape(2, 2).T
        return float((((late - early) / 2) ** 2).sum())

    def drawn(self) -> tuple[Floats, Floats]:
        """Draw lines that this stretch may truly have been, x and y of shape (DRAWS, k).

        Pairs of opposite draws, and the same ones every time: a ride always gives the same page.
        """
        half = np.random.default_rng(1).standard_normal((DRAWS // 2, self.root.shape[1]))
        shaken = np.concatenate([half, -half]) @ self.root.T
        return self.x_m + shaken[:, 0::2], self.y_m + shaken[:, 1::2]


def stretch_of(
    path: Path, start_s: float, end_s: float, *, edge_sd_s: float = EDGE_SD_S
) -> Stretch:
    """Take the points of a path from ``start_s`` to ``end_s``.

    Parameters
    ----------
    path : Path
    start_s, end_s : float, s
    edge_sd_s : float, s
        Doubt of either.

    Raises
    ------
    ValueError
        The path has fewer than three epochs there.
    """
    inside = path.between(start_s, end_s)
    if inside.size < 3:
        raise ValueError(f"only {inside.size} epochs between {start_s:.1f} s and {end_s:.1f} s")
    every = max(1, round(inside.size / MOST_KNOTS))
    knots = np.arange(
        max(int(inside[0]) - 2 * every, 0), min(int(inside[-1]) + 3 * every, path.t_s.size), every
    )
    ends = np.clip([start_s, end_s], path.t_s[0], path.t_s[-1])
    count = max(LEAST_POINTS, round((end_s - start_s) / SPACING_S) + 1)
    t_s = _times(ends, count)
    share = _shares(path.t_s[knots], t_s)
    moved = [_shares(path.t_s[knots], _times(ends + step, count)) for step in EDGES * edge_sd_s]
    covariance = path.posterior.covariance(knots)
    return Stretch(
        t_s=t_s,
        x_m=share @ path.x_m[knots],
        y_m=share @ path.y_m[knots],
        root=np.kron(share, np.eye(2)) @ _root((covariance + covariance.T) / 2),
        x_edges_m=np.array([each @ path.x_m[knots] for each in moved]),
        y_edges_m=np.array([each @ path.y_m[knots] for each in moved]),
    )


def _times(ends_s: Floats, count: int) -> Floats:
    return np.linspace(float(ends_s[0]), float(ends_s[1]), count)


def _shares(knots_s: Floats, t_s: Floats) -> Floats:
    """Weights of the knots in each point, shape (points, knots)."""
    place = np.interp(t_s, knots_s, np.arange(knots_s.size, dtype=np.float64))
    left = np.clip(place.astype(np.int64), 0, knots_s.size - 2)
    u = place - left
    cubic = (
        (-1, -u / 2 + u**2 - u**3 / 2),
        (0, 1 - 2.5 * u**2 + 1.5 * u**3),
        (1, u / 2 + 2 * u**2 - 1.5 * u**3),
        (2, -(u**2) / 2 + u**3 / 2),
    )
    share: Floats = np.zeros((t_s.size, knots_s.size))
    for step, weight in cubic:
        _put(share, left + step, weight)
    return share


def _put(share: Floats, at: Ints, weight: Floats) -> None:
    """Add weights of knots; one beyond an end lies as far on as the last two lie apart."""
    rows, last = np.arange(at.size), share.shape[1] - 1
    inner = np.clip(at, 0, last)
    beyond = at - inner
    np.add.at(share, (rows, inner), weight * (1 + np.abs(beyond)))
    np.add.at(share, (rows, np.clip(inner - beyond, 0, last)), -weight * np.abs(beyond))


def _root(covariance: Floats) -> Floats:
    """Square root of a covariance, also of one that rounding has left not quite positive."""
    values, vectors = np.linalg.eigh(covariance)
    kept = values > 1e-9 * max(float(values[-1]), 1e-12)
    return np.asarray(vectors[:, kept] * np.sqrt(values[kept]))


def measured(stretch: Stretch, measure: Lines) -> Estimate:
    """Value of any measure on a stretch, and its doubt over what the stretch may have been."""
    value = float(measure(stretch.x_m[None, :], stretch.y_m[None, :])[0])
    if stretch.root.shape[1] == 0:
        return Estimate(value=value, sd=0.0)
    drawn = float(np.std(measure(*stretch.drawn())))
    return Estimate(value=value, sd=float(np.hypot(drawn, np.sqrt(stretch.edge_variance(measure)))))


def one_by_one(measure: Callable[[Floats, Floats], float]) -> Lines:
    """Take a measure of one line to many."""

    def lines(x_m: Floats, y_m: Floats) -> Floats:
        return np.array([measure(x, y) for x, y in zip(x_m, y_m, strict=True)])

    return lines


def estimate_of(value: float, variance: float) -> Estimate:
    """An estimate from a value and its variance, which rounding may have brought below nought."""
    return Estimate(value=float(value), sd=float(np.sqrt(max(variance, 0.0))))
