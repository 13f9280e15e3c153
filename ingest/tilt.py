"""The unit of a turn rate from how gravity moves: ``dg/dt = -w x g`` in the phone's axes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from ingest.blocks import block_means, running_means
from ingest.formats import factor
from ingest.streams import Floats
from ingest.times import spacing

GRAVITY_MS2: Final = 9.80665
SIGMAS: Final = 6.0
LEAST_CORRELATION: Final = 0.35
STEP_S: Final = 0.25
STRIDE_BLOCKS: Final = 4
"""Steps that make about a stride, over which motion of the gait averages out."""
UNSTEADY_MS2: Final = 2.0
"""Where the slow part is off gravity's magnitude by more, the horse is speeding up or stumbling."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """How strongly one signal follows another.

    Attributes
    ----------
    value, sd : float
        Slope and its standard error; the sd is infinite where there was nothing to follow.
    correlation : float
        A slope in the wrong unit can be significant by chance of an unsuited signal, but it
        explains next to nothing.
    """

    value: float
    sd: float
    correlation: float = 0.0


NOTHING: Final = Slope(value=0.0, sd=float("inf"))


def tilt_slope(t_s: Floats, accel_ms2: Floats, turn: Floats) -> Slope:
    """Regress how gravity moves in the phone's axes on what its turn rate predicts.

    Everything is averaged over about a stride first, and the gyroscope's constant bias is an
    unknown of the same regression.

    Parameters
    ----------
    t_s : array, shape (n,), s
    accel_ms2 : array, shape (n, 3), m/s²
        With gravity; its sign does not matter.
    turn : array, shape (n, 3)
        Turn rate in the unknown unit.

    Returns
    -------
    Slope
        About 1 for rad/s and 0.01745 for deg/s.
    """
    size = max(1, round(STEP_S / max(spacing(t_s), 1e-4)))
    if len(t_s) < 8 * STRIDE_BLOCKS * size:
        return NOTHING
    blocks = [
        block_means(t_s, size)[:, None],
        block_means(accel_ms2, size),
        block_means(turn, size),
    ]
    smooth = running_means(np.column_stack(blocks), STRIDE_BLOCKS)
    times, gravity, rate = smooth[:, 0], smooth[:, 1:4], smooth[:, 4:]
    span = 2 * STRIDE_BLOCKS
    effects = [-np.cross(one, gravity) for one in (rate, *np.eye(3))]
    spread = running_means(np.hstack(effects), span)[:-1:STRIDE_BLOCKS]
    before, after = gravity[:-span:STRIDE_BLOCKS], gravity[span::STRIDE_BLOCKS]
    span_s = (times[span:] - times[:-span])[::STRIDE_BLOCKS]
    steady = np.abs(np.linalg.norm(before, axis=1) - GRAVITY_MS2) < UNSTEADY_MS2
    use = (span_s > 0) & (span_s < 1.5 * span * STEP_S) & steady
    seen = (after - before)[use] / span_s[use, None]
    predicted, *biases = np.split(spread[use], 4, axis=1)
    return _slope(predicted.ravel(), seen.ravel(), np.column_stack([b.ravel() for b in biases]))


def _slope(predicted: Floats, seen: Floats, biases: Floats) -> Slope:
    """Slope of what was seen on what was predicted, what biases explain taken off both."""
    if len(seen) < 30:
        return NOTHING
    both = np.column_stack([predicted, seen])
    explained = biases @ np.linalg.lstsq(biases, both, rcond=None)[0]
    predicted, seen = (both - explained).T
    power = float(predicted @ predicted)
    if power <= 1e-20:
        return NOTHING
    value = float(predicted @ seen) / power
    rest = seen - value * predicted
    return Slope(
        value=value,
        sd=float(np.sqrt(2.0 * (rest @ rest) / len(rest) / power)),  # 2: neighbours overlap by half
        correlation=value * float(np.sqrt(power / max(float(seen @ seen), 1e-30))),
    )


def unit_of_slope(slope: Slope) -> str:
    """``"rads"`` or ``"degs"`` when the slope excludes the other by far, else empty.

    Examples
    --------
    >>> unit_of_slope(Slope(value=0.93, sd=0.05, correlation=0.7))
    'rads'
    >>> unit_of_slope(Slope(value=0.2, sd=0.3, correlation=0.1))
    ''
    """
    degree = factor("turn_rate", "degs")
    for unit, expected, other in (("rads", 1.0, degree), ("degs", degree, 1.0)):
        near = 0.3 < slope.value / expected < 2.5
        away = min(abs(slope.value), abs(slope.value - other))
        if near and away > SIGMAS * slope.sd and slope.correlation > LEAST_CORRELATION:
            return unit
    return ""
