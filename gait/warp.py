"""How far accelerations overstate the unevenness of strides.

A trunk may keep the shape of its path when a stride is hurried, or the shape of the forces on it.
Where it is the path, acceleration is its second derivative, and differentiating twice weighs the
quicker half of a modulation more: a change of pace is overstated by the square of modulation rate
over beat rate. The size of the motion tells the two apart: with the path's shape kept, acceleration
grows with the square of the rate; with the forces' shape kept it does not. A springy body answers
quicker forces more or less, gait by gait, so that all gaits of a ride are asked together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from gait.bouts import Stride
from track.path import Estimate, Floats

OVERSTATED: Final[dict[str, float]] = {"walk": 0.08, "trot": 0.08, "canter": 0.16}
"""Share by which the variation is overstated where the path keeps its shape (reckoned by bending
made-up paths; the beat of walk and trot is twice the stride's rate)."""
PATH_SLOPE: Final = 2.0
"""Log of size against log of rate."""
PRIOR: Final = (0.5, 0.35)
"""Share of path in what is kept, before the sizes are looked at: either may be."""
LEAST_SD: Final = 0.15
"""What one gait shows may be its spring: taken on top of its own doubt [judgement]."""
FEWEST_STEPS: Final = 10
LARGEST_STEP: Final = 0.5
"""A size that leaps by more than this, as a log, is no stride's own."""


def with_overstated(strides: Sequence[Stride]) -> tuple[Stride, ...]:
    """The strides of a ride, each with the share by which variation like its own is overstated.

    Parameters
    ----------
    strides : sequence of Stride
        Of all gaits: what keeps its shape is a matter of seat and pocket, the same in all
        [judgement].
    """
    whole = {
        gait: [s for s in strides if s.gait == gait and not s.at_change] for gait in OVERSTATED
    }
    share = _pooled([_share_of_path(own) for own in whole.values() if own])
    overstated = {gait: _of(share, gait) for gait in OVERSTATED}
    return tuple(replace(s, overstated=overstated[s.gait]) for s in strides)


def overstated_of(strides: Sequence[Stride]) -> Estimate:
    """Share by which the variation of some strides of one gait is overstated."""
    told = strides[0].overstated
    return _of(_pooled([]), strides[0].gait) if told is None else told


def _of(share: Estimate, gait: str) -> Estimate:
    whole = OVERSTATED[gait]
    return Estimate(value=whole * share.value, sd=whole * share.sd)


def _pooled(seen: Sequence[Estimate | None]) -> Estimate:
    """Share of path in what is kept, from what gaits show and before."""
    told = [Estimate(value=PRIOR[0], sd=PRIOR[1])]
    told += [Estimate(value=e.value, sd=np.hypot(e.sd, LEAST_SD)) for e in seen if e is not None]
    weight = np.array([e.sd**-2 for e in told])
    mean = float(weight @ [e.value for e in told] / weight.sum())
    sd = float(max(1.0 / np.sqrt(weight.sum()), LEAST_SD))
    return Estimate(value=float(np.clip(mean, 0.0, 1.0)), sd=sd)


def _share_of_path(strides: Sequence[Stride]) -> Estimate | None:
    """Of one gait: slope of size on rate, stride by stride, as a share of what paths would show."""
    rate, size, noise = _steps(strides)
    if rate.size < FEWEST_STEPS:
        return None
    square = float(rate @ rate)
    # The instrument's own jitter flattens the slope (errors in variables).
    true = max(square - noise, 0.2 * square)
    slope = float(rate @ size) / true
    sd = float(np.std(size - slope * rate)) * np.sqrt(square) / true
    return Estimate(value=slope / PATH_SLOPE, sd=sd / PATH_SLOPE)


def _steps(strides: Sequence[Stride]) -> tuple[Floats, Floats, float]:
    """Steps of log rate and log size between neighbours, and the rate's own noise, summed."""
    t, d, sd, size = (
        np.array(row)
        for row in zip(*((s.t_s, s.duration_s, s.sd_s, s.log_size) for s in strides), strict=True)
    )
    rate_step, size_step = -np.diff(np.log(d)), np.diff(size)
    known = (np.diff(t) < 1.5 * d[:-1]) & np.isfinite(size_step) & np.isfinite(sd[1:])
    known &= np.abs(np.nan_to_num(size_step)) < LARGEST_STEP
    # Neighbours share an instant: its error counts four times, those beside it once each.
    noise = 3.0 * (sd[1:] / d[1:]) ** 2
    return rate_step[known], size_step[known], float(noise[known].sum())
