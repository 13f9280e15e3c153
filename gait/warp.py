"""How far accelerations overstate the unevenness of strides.

A trunk may keep the shape of its path when a stride is hurried, or the shape of the forces on it.
Where it is the path, acceleration is its second derivative, and differentiating twice weighs the
quicker half of a modulation more: a change of pace is overstated by the square of modulation rate
over beat rate. The size of the motion tells the two apart: with the path's shape kept, acceleration
grows with the square of the rate; with the forces' shape kept it does not.
"""

from __future__ import annotations

from collections.abc import Sequence
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
LARGEST_STEP: Final = 0.5
"""A size that leaps by more than this, as a log, is no stride's own."""


def warp_of(strides: Sequence[Stride]) -> Estimate:
    """Share by which the variation of some strides of one gait is overstated."""
    whole = OVERSTATED[strides[0].gait]
    mean, sd = PRIOR
    seen = _share_of_path(strides)
    if seen is not None:
        weight = (1.0 / sd**2, 1.0 / np.hypot(seen.sd, LEAST_SD) ** 2)
        mean = float(np.clip((weight[0] * mean + weight[1] * seen.value) / sum(weight), 0.0, 1.0))
        sd = float(max(1.0 / np.sqrt(sum(weight)), LEAST_SD))
    return Estimate(value=whole * mean, sd=whole * sd)


def _share_of_path(strides: Sequence[Stride]) -> Estimate | None:
    """Slope of size on rate, from stride to stride, as a share of what a path would show."""
    rate, size, noise = _steps(strides)
    if rate.size < 10:
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
