"""Quarters of a circle by turned heading: when they begin, and how many strides each holds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from gait.bouts import Stride
from track.path import Estimate, Floats, Path

BEGUN_RAD: Final = np.deg2rad(4.0)
"""Heading turned at which a circle has surely begun."""
EDGE_SD_S: Final = 0.03
"""Doubt of when an eighth of the circle is reached, beside that of the heading [measured on
made-up rides]."""
RATE_RAD: Final = np.deg2rad(30.0)
DRAWS: Final = 100
ORDINALS: Final = ("first", "second", "third", "last")


@dataclass(frozen=True, slots=True, kw_only=True)
class QuarterSpread:
    """Most less fewest strides per quarter.

    Attributes
    ----------
    spread : Estimate, strides
    counts : array, shape (4,), strides
        Of the partition with the larger spread.
    shifted : bool
        True when that partition begins 45° after the letter.
    """

    spread: Estimate
    counts: Floats
    shifted: bool

    @property
    def longest(self) -> str:
        """Name the quarters that hold the most strides."""
        long = [i for i in range(4) if self.counts[i] > self.counts.max() - 0.3]
        names = " and ".join(ORDINALS[i] for i in long)
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


def stride_phase(strides: Sequence[Stride], t_s: Floats) -> Floats:
    """Strides ridden at each time, with fractions; held outside the strides."""
    instants = np.array([s.t_s for s in strides] + [strides[-1].t_s + strides[-1].duration_s])
    return np.interp(t_s, instants, np.arange(instants.size, dtype=np.float64))


def quarter_spread(
    path: Path, strides: Sequence[Stride], start_s: float, end_s: float, instant_sd_s: float
) -> QuarterSpread | None:
    """Most less fewest strides per quarter of turned heading, the larger of two partitions.

    Parameters
    ----------
    path : Path
        Only its heading is used.
    strides : sequence of Stride
        At least from ``start_s`` to ``end_s``, without a gap.
    instant_sd_s : float, s

    Returns
    -------
    QuarterSpread or None
        None where the strides do not cover the circle.
    """
    if len(strides) < 8 or not _covers(strides, start_s, end_s):
        return None
    own = quarter_edges_s(path, start_s, end_s)
    later = quarter_edges_s(path, start_s, end_s, begin=1.0)
    later = np.concatenate([own[:1], later[:4], own[-1:]])
    edge_sd = _edge_sd_s(path, start_s, end_s, instant_sd_s)
    best = max((_of(strides, own), False), (_of(strides, later), True), key=lambda p: np.ptp(p[0]))
    edges = later if best[1] else own
    sd = _shaken_sd(strides, edges, edge_sd)
    return QuarterSpread(
        spread=Estimate(value=float(np.ptp(best[0])), sd=sd), counts=best[0], shifted=best[1]
    )


def _covers(strides: Sequence[Stride], start_s: float, end_s: float) -> bool:
    longest = max(stride.duration_s for stride in strides)
    begins = strides[0].t_s <= start_s + longest
    ends = strides[-1].t_s + strides[-1].duration_s >= end_s - longest
    gaps = [b.t_s - a.t_s - a.duration_s for a, b in pairwise(strides)]
    return begins and ends and max(gaps, default=0.0) < longest / 2


def _of(strides: Sequence[Stride], edges_s: Floats) -> Floats:
    counts: Floats = np.diff(stride_phase(strides, edges_s))
    if counts.size == 4:
        return counts
    return np.array([*counts[1:4], counts[0] + counts[4]])  # the last wraps over the letter


def _edge_sd_s(path: Path, start_s: float, end_s: float, instant_sd_s: float) -> float:
    inside = path.between(start_s, end_s)
    heading_sd = float(np.median(path.heading_sd_rad[inside]))
    rate = abs(float(np.median(path.turn_rads[inside])))
    doubt = np.array([heading_sd / max(rate, 0.02), instant_sd_s, EDGE_SD_S])
    return float(np.hypot.reduce(doubt))


def _shaken_sd(strides: Sequence[Stride], edges_s: Floats, edge_sd_s: float) -> float:
    rng = np.random.default_rng(1)
    shaken = edges_s + rng.normal(0.0, edge_sd_s, (DRAWS, edges_s.size))
    return float(np.std([np.ptp(_of(strides, row)) for row in np.sort(shaken, axis=1)]))
