"""Findings of tempo, evenness and stride length on one stretch of a movement."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from gait.bouts import Gait, Stride
from gait.variation import FEWEST_FOR_CV, cv_of
from report.measured import About
from report.quarters import quarter_edges_s
from report.result import Finding
from report.ridden import Ridden, Term
from report.tempo import tempo_change_spm, tempo_range_spm, tempo_spm
from track.path import Estimate, Floats

BEFORE: Final = 14
"""Strides before a stretch that its tempo is held against; at least :data:`FEWEST_BEFORE`."""
FEWEST_BEFORE: Final = 10
EDGE_S: Final = 1.3
"""A stride and a little: so near its ends a change of gait is not inside a stretch."""
CHANGING: Final = ("circle", "half circle", "serpentine", "loop", "diagonal")
RANGING: Final = ("circle", "line", "diagonal")
MOVING: Final[tuple[Gait, ...]] = ("walk", "trot", "canter")


def rhythm_findings(ridden: Ridden, term: Term, about: About) -> list[Finding]:
    """``tempo``, ``tempo_change`` and ``tempo_range`` of one term."""
    return figure_rhythm(ridden, about, term.stretch.kind)


def figure_rhythm(ridden: Ridden, about: About, kind: str) -> list[Finding]:
    """Measure the rhythm of any stretch between the times of ``about``.

    Parameters
    ----------
    kind : str
        Kind of the stretch: a change of tempo is told of figures, its range of circles and lines.
    """
    gait, start_s, end_s = about.gait, about.start_s or 0.0, about.end_s or 0.0
    if gait not in MOVING:
        return []
    strides = ridden.strides_in(gait, start_s, end_s)
    tempo = tempo_spm(strides, ridden.stride_sd_s)
    if tempo is None:
        return []
    rows = [ridden.judged("tempo", about, tempo, ridden.bands.band("tempo", None))]
    if kind in CHANGING:
        rows += _change(ridden, about, strides)
    if kind in RANGING:
        rows += _range(ridden, about, kind)
    if kind == "circle":
        rows.append(_evenness(ridden, about, strides))
    return rows


def _evenness(ridden: Ridden, about: About, strides: Sequence[Stride]) -> Finding:
    cv = cv_of(strides)
    if cv is None:
        because = f"only {len(strides)} whole strides; {FEWEST_FOR_CV} are needed"
        return ridden.missing("stride_time_cv", about, because)
    return ridden.judged("stride_time_cv", about, cv, ridden.bands.band("stride_time_cv", None))


def strides_before(ridden: Ridden, gait: Gait, start_s: float) -> tuple[Stride, ...]:
    """Return the last strides of a gait before a time, at most :data:`BEFORE` and within 90 s."""
    return ridden.strides_in(gait, start_s - 90.0, start_s)[-BEFORE:]


def _change(ridden: Ridden, about: About, strides: tuple[Stride, ...]) -> list[Finding]:
    before = strides_before(ridden, strides[0].gait, about.start_s or 0.0)
    if len(before) < FEWEST_BEFORE:
        return []
    change = tempo_change_spm(before, strides, ridden.stride_sd_s)
    if change is None:
        return []
    band = ridden.bands.band("tempo_change", 0.0)
    return [ridden.judged("tempo_change", about, change, band)]


def _range(ridden: Ridden, about: About, kind: str) -> list[Finding]:
    start_s, end_s = about.start_s or 0.0, about.end_s or 0.0
    changes = [t for t in ridden.gaits.transitions if start_s + EDGE_S < t.t_s < end_s - EDGE_S]
    if changes:
        # The first strides of a gait are slow to settle: that is the transition's, not the line's.
        because = "the gait changes inside it, so that its quarters are not of one gait"
        return [ridden.missing("tempo_range", about, because)]
    strides = ridden.strides_in(about.gait or "unknown", start_s - EDGE_S, end_s + EDGE_S)
    edges = _edges(ridden, start_s, end_s, kind)
    spread = tempo_range_spm(strides, edges, ridden.stride_sd_s)
    if spread is None:
        return []
    return [ridden.judged("tempo_range", about, spread, ridden.bands.band("tempo_range", 0.0))]


def _edges(ridden: Ridden, start_s: float, end_s: float, kind: str) -> Floats:
    if kind == "circle" and ridden.local is not None:
        return quarter_edges_s(ridden.local, start_s, end_s)
    return np.linspace(start_s, end_s, 5)


def stride_length_m(ridden: Ridden, gait: Gait, start_s: float, end_s: float) -> Estimate | None:
    """Mean stride length inside an interval, metres; None with fewer than 4 strides."""
    strides = ridden.strides_in(gait, start_s, end_s)
    if ridden.path is None or len(strides) < 4:
        return None
    first, last = strides[0].t_s, strides[-1].t_s + strides[-1].duration_s
    inside = ridden.path.between(first, last)
    if inside.size < 2:
        return None
    speed = float(ridden.path.speed_ms[inside].mean())
    # Neighbouring speeds lean on the same fixes: no gain from their number is claimed.
    speed_sd = float(ridden.path.speed_sd_ms[inside].mean()) / np.sqrt(max(1.0, inside.size / 8))
    duration = (last - first) / len(strides)
    return Estimate(value=speed * duration, sd=float(speed_sd * duration))


def ratio_of(longer: Estimate, shorter: Estimate) -> Estimate:
    """Ratio of two lengths with its doubt.

    Examples
    --------
    >>> ratio_of(Estimate(value=2.0, sd=0.0), Estimate(value=1.6, sd=0.0)).value
    1.25
    """
    value = longer.value / shorter.value
    relative = np.hypot(longer.sd / longer.value, shorter.sd / shorter.value)
    return Estimate(value=value, sd=float(value * relative))
