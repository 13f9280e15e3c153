"""Quarters of a circle by turned heading: when they begin, and how many strides each holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Stride
from report.words import listed
from track.path import Estimate, Floats, Path

BEGUN_RAD: Final = np.deg2rad(4.0)
"""Heading turned at which a circle has surely begun."""
EDGE_SD_S: Final = 0.03
"""Doubt of when an eighth of the circle is reached, beside that of the heading [measured on
made-up rides]."""
RATE_RAD: Final = np.deg2rad(30.0)
DRAWS: Final = 100
FEWEST: Final = 6
"""Strides in one gait that quarters are counted from."""
ORDINALS: Final = ("first", "second", "third", "last")


@dataclass(frozen=True, slots=True, kw_only=True)
class QuarterSpread:
    """Most less fewest strides per quarter.

    Attributes
    ----------
    spread : Estimate, strides
    counts : array, shape (4,), strides
        Of the partition with the larger spread; NaN for a quarter that is not whole.
    shifted : bool
        True when that partition begins 45° after the letter.
    """

    spread: Estimate
    counts: Floats
    shifted: bool

    @property
    def longest(self) -> str:
        """Name the quarters that hold the most strides."""
        long = np.flatnonzero(self.counts > np.nanmax(self.counts) - 0.3)
        names = listed([ORDINALS[i] for i in long])
        many = "s" if len(long) > 1 else ""
        begun = "quarter{}, counted from an eighth on," if self.shifted else "quarter{}"
        return f"the {names} {begun.format(many)}"


def turned_rad(path: Path, start_s: float, end_s: float) -> tuple[Floats, Floats]:
    """Times, and heading turned since ``start_s`` in the direction of the turn, rad."""
    inside = path.between(start_s, end_s)
    inner = path.t_s[inside]
    t_s = np.unique(np.concatenate([[start_s], inner, [end_s]]))
    heading = np.interp(t_s, path.t_s, path.heading_rad)
    turned = heading - heading[0]
    return t_s, turned * (1.0 if turned[-1] >= 0 else -1.0)


def quarter_edges_s(path: Path, start_s: float, end_s: float, begin: float = 0.0) -> Floats:
    """Times at which the eighths ``begin``, ``begin + 2`` ... of a full circle are reached.

    Parameters
    ----------
    begin : float
        In eighths of the turned heading: 0 for quarters from the letter, 1 for 45° later.

    Returns
    -------
    array, shape (5,) or (4,), s
        Five edges from the letter; four inner edges when begun later.
    """
    t_s, turned = turned_rad(path, start_s, end_s)
    rising = np.maximum.accumulate(turned)
    total = turned[-1]
    wanted = (np.arange(0.0, 9.0, 2.0) + begin) * total / 8
    edges: Floats = np.interp(
        wanted[wanted <= total + 1e-9], rising + 1e-9 * np.arange(t_s.size), t_s
    )
    if begin == 0.0:
        edges[0] = _begun_s(t_s, rising)
        edges[-1] = -_begun_s(-t_s[::-1], total - rising[::-1])
    return edges


def _begun_s(t_s: Floats, rising: Floats) -> float:
    """Extrapolate to where the turning began: a straight before the circle is not part of it."""
    first, later = np.interp([BEGUN_RAD, RATE_RAD], rising + 1e-9 * np.arange(t_s.size), t_s)
    rate = (RATE_RAD - BEGUN_RAD) / max(later - first, 1e-6)
    return float(max(t_s[0], first - BEGUN_RAD / rate))


def instants_of(strides: Sequence[Stride]) -> Floats:
    """When each stride begins and the last one ends, and one more stride either way, s."""
    first, last = strides[0], strides[-1]
    end_s = last.t_s + last.duration_s
    inner = [stride.t_s for stride in strides]
    return np.array([first.t_s - first.duration_s, *inner, end_s, end_s + last.duration_s])


def quarter_spread(
    path: Path, strides: Sequence[Stride], start_s: float, end_s: float, instant_sd_s: float
) -> QuarterSpread | None:
    """Most less fewest strides per quarter of turned heading, the larger of two partitions.

    Parameters
    ----------
    path : Path
        Only its heading is used.
    strides : sequence of Stride
        Of one gait, without a gap. Where they do not cover the circle, the whole quarters that
        they do cover are held against one another.
    instant_sd_s : float, s

    Returns
    -------
    QuarterSpread or None
        None with fewer than two whole quarters in either partition, or where strides are missing.
    """
    if len(strides) < FEWEST or not _gapless(strides):
        return None
    instants = instants_of(strides)
    own = quarter_edges_s(path, start_s, end_s)
    later = quarter_edges_s(path, start_s, end_s, begin=1.0)
    later = np.concatenate([own[:1], later[:4], own[-1:]])
    counted = [(_of(instants, edges), edges) for edges in (own, later)]
    whole = [(counts, edges) for counts, edges in counted if np.isfinite(counts).sum() > 1]
    if not whole:
        return None
    counts, edges = max(whole, key=lambda each: _spread(each[0]))
    edge_sd = _edge_sd_s(path, start_s, end_s, instant_sd_s)
    return QuarterSpread(
        spread=Estimate(value=_spread(counts), sd=_shaken_sd(instants, edges, edge_sd)),
        counts=counts,
        shifted=edges.size == later.size,
    )


def _spread(counts: Floats) -> float:
    return float(np.nanmax(counts) - np.nanmin(counts))


def _gapless(strides: Sequence[Stride]) -> bool:
    longest = max(stride.duration_s for stride in strides)
    gaps = [b.t_s - a.t_s - a.duration_s for a, b in pairwise(strides)]
    return max(gaps, default=0.0) < longest / 2


def _of(instants: Floats, edges_s: Floats) -> Floats:
    """Strides in each quarter, with fractions; NaN for one they do not cover."""
    edges = np.where((edges_s >= instants[0]) & (edges_s <= instants[-1]), edges_s, np.nan)
    counts: Floats = np.diff(np.interp(edges, instants, np.arange(float(instants.size))))
    if counts.size == 4:
        return counts
    return np.array([*counts[1:4], counts[0] + counts[4]])  # the last wraps over the letter


def _edge_sd_s(path: Path, start_s: float, end_s: float, instant_sd_s: float) -> float:
    inside = path.between(start_s, end_s)
    heading_sd = float(np.median(path.heading_sd_rad[inside]))
    rate = abs(float(np.median(path.turn_rads[inside])))
    doubt = np.array([heading_sd / max(rate, 0.02), instant_sd_s, EDGE_SD_S])
    return float(np.hypot.reduce(doubt))


def _shaken_sd(instants: Floats, edges_s: Floats, edge_sd_s: float) -> float:
    """Doubt of the spread from that of the edges; those of whole quarters stay within strides."""
    rng = np.random.default_rng(1)
    inside = (edges_s >= instants[0]) & (edges_s <= instants[-1])
    shaken = edges_s + rng.normal(0.0, edge_sd_s, (DRAWS, edges_s.size))
    shaken = np.where(inside, np.clip(shaken, instants[0], instants[-1]), edges_s)
    return float(np.std([_spread(_of(instants, row)) for row in np.sort(shaken, axis=1)]))
