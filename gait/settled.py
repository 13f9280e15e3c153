"""When the tempo had settled: the instant after which it stays within its own later spread.

The tempo of the working gait, in blocks of strides, is taken as a plateau that is reached either
by a step, along a slope or in a dying approach, or that was there from the first block on. Every
instant at which it may have been reached is weighed by how well what came before and after it fits
(least squares, the levels and the spread integrated out), so that the doubt of the instant
comes out with it. Tempo wanders over minutes for many harmless reasons: neighbouring blocks count
for less, by as much as they resemble one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from gait.bouts import Gait, Stride
from track.path import Estimate, Floats

WORKING: Final[tuple[Gait, ...]] = ("trot", "canter")
BLOCK: Final = 20
"""Strides in one block: about fifteen seconds of trot."""
FEWEST_BLOCKS: Final = 12
LEAST_LATER: Final = 4
"""Blocks that must follow, or nobody could say that the tempo stayed."""
LATEST: Final = 0.75
"""A tempo that settles in the last quarter of the work has not been seen to stay."""
WIDEST: Final = 0.2
"""A doubt wider than this share of the work is no answer."""
MOST_ALIKE: Final = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """When the tempo of the working gait had settled.

    Attributes
    ----------
    gait : str or None
    at_s : Estimate or None, s
        On the ride's clock; the first stride of that gait where it was settled from the start.
    after_s : Estimate or None, s
        The same from the first stride of the working gait.
    because : str
        The ground; where there is no answer, what would settle it.
    """

    gait: Gait | None
    at_s: Estimate | None
    after_s: Estimate | None
    because: str


def settled_of(strides: Sequence[Stride]) -> Settled:
    """Time until the tempo of the working gait had settled.

    Parameters
    ----------
    strides : sequence of Stride
        Of a whole ride, in order.
    """
    own = {gait: [s for s in strides if s.gait == gait] for gait in WORKING}
    gait = max(WORKING, key=lambda name: len(own[name]))
    t_s, tempo = blocks_of(own[gait])
    if t_s.size < FEWEST_BLOCKS:
        least = FEWEST_BLOCKS * BLOCK
        return _none(
            gait if own[gait] else None,
            f"{len(own[gait])} strides of {gait} are too few to see a tempo settle: "
            f"{least} or more, a few minutes of it, would tell",
        )
    found, start_s = settling_time(t_s, tempo), own[gait][0].t_s
    span_s = float(t_s[-1] - start_s)
    if found.value - start_s > LATEST * span_s:
        return _none(
            gait, f"the tempo in {gait} was still changing late in the ride: more work in {gait} "
            "after that would tell where it settles",
        )  # fmt: skip
    if found.sd > WIDEST * span_s:
        return _none(
            gait, f"the tempo in {gait} wanders too much for one instant to stand out: "
            "a longer spell of it would tell",
        )  # fmt: skip
    at_s = max(found.value, start_s)
    return Settled(
        gait=gait,
        at_s=Estimate(value=at_s, sd=found.sd),
        after_s=Estimate(value=at_s - start_s, sd=found.sd),
        because=f"from then on the tempo in {gait} stays within its own later spread",
    )


def _none(gait: Gait | None, because: str) -> Settled:
    return Settled(gait=gait, at_s=None, after_s=None, because=because)


def blocks_of(strides: Sequence[Stride], size: int = BLOCK) -> tuple[Floats, Floats]:
    """Start of each block of strides, s, and its tempo, strides/min (the median stride's)."""
    count = len(strides) // size
    durations = np.array([s.duration_s for s in strides[: count * size]]).reshape(count, size)
    starts = np.array([s.t_s for s in strides[: count * size : size]])
    return starts, 60.0 / np.median(durations, axis=1) if count else np.zeros(0)


def settling_time(t_s: Floats, tempo_spm: Floats) -> Estimate:
    """Instant from which a series stays within its later spread, with its standard uncertainty.

    Parameters
    ----------
    t_s : array, shape (n,), s
        Ascending starts of the blocks; blocks need not follow one another without a gap.
    tempo_spm : array, shape (n,)

    Returns
    -------
    Estimate
        The middle of all instants by their weight, and the root mean square distance from it.
        ``t_s[0]`` stands for settled from the start.

    Examples
    --------
    >>> t = np.arange(0.0, 600.0, 15.0)
    >>> quick = np.where(t < 150.0, 84.0, 79.0) + 0.3 * np.cos(t)
    >>> found = settling_time(t, quick)
    >>> 135.0 < found.value < 155.0
    True
    """
    fits = _fits(t_s, tempo_spm)
    best = min(fits, key=lambda fit: fit.misfit)
    weight = _weights(fits, tempo_spm.size * _own_share(tempo_spm, best.edge))
    at = np.array([_instant(t_s, fit) for fit in fits])
    order = np.argsort(at, kind="stable")
    middle = order[np.searchsorted(np.cumsum(weight[order]), 0.5)]
    value = float(at[middle])
    # Within a block nobody knows where: a block's length over the root of twelve.
    within = float(np.median(np.diff(t_s))) / np.sqrt(12.0)
    return Estimate(value=value, sd=float(np.sqrt(weight @ (at - value) ** 2 + within**2)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fit:
    """One way in which the plateau may have been reached; ``away_spm`` is what is not plateau."""

    edge: int
    terms: int
    misfit: float
    away_spm: Floats


def _fits(t_s: Floats, tempo_spm: Floats) -> list[_Fit]:
    """The plateau from the start, then every shape that ends at every block."""
    still = np.zeros(tempo_spm.size)
    out = [_Fit(edge=0, terms=1, misfit=_about(tempo_spm), away_spm=still)]
    for edge in range(1, tempo_spm.size - LEAST_LATER + 1):
        for shape in _shapes(t_s, edge):
            middle = shape - shape.mean()
            size = float(middle @ tempo_spm) / float(middle @ middle)
            misfit = _about(tempo_spm - size * shape)
            out.append(_Fit(edge=edge, terms=2, misfit=misfit, away_spm=size * shape))
    return out


def _about(values: Floats) -> float:
    return float(np.sum((values - values.mean()) ** 2))


def _weights(fits: Sequence[_Fit], independent: float) -> Floats:
    """Weight of every fit; half is the plateau's from the start before anything is seen.

    Likelihoods with the spread integrated out, one term more paid for as in Schwarz (Ann Stat
    1978;6:461).
    """
    misfit = np.array([max(fit.misfit, 1e-12) for fit in fits])
    terms = np.array([fit.terms for fit in fits])
    prior = np.where(terms == 1, 0.5, 0.5 / max(len(fits) - 1, 1))
    log = -0.5 * independent * np.log(misfit) - 0.5 * terms * np.log(independent) + np.log(prior)
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum())


def _instant(t_s: Floats, fit: _Fit) -> float:
    """The middle of the last block that a fit puts further from the plateau than its spread."""
    spread = np.sqrt(fit.misfit / t_s.size)
    away = np.flatnonzero(np.abs(fit.away_spm) > spread)
    return float(t_s[away[-1]] + 0.5 * np.median(np.diff(t_s))) if away.size else float(t_s[0])


def _shapes(t_s: Floats, edge: int) -> tuple[Floats, ...]:
    """Three ways to an edge: one step, a slope that ends there, or an approach that dies away."""
    before = np.arange(t_s.size) < edge
    step = before.astype(np.float64)
    if edge < 2:
        return (step,)
    share = (t_s - t_s[0]) / (t_s[edge] - t_s[0])
    return step, np.where(before, 1.0 - share, 0.0), np.exp(-3.0 * share)


def _own_share(values: Floats, edge: int) -> float:
    """Share of the blocks that count as independent, from the likeness of neighbours after."""
    later = values[edge:] - values[edge:].mean()
    power = float(later @ later)
    alike = float(later[1:] @ later[:-1]) / power if power > 0.0 else 0.0
    alike = float(np.clip(alike + 1.0 / later.size, 0.0, MOST_ALIKE))
    return (1.0 - alike) / (1.0 + alike)
