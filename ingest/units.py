"""Units of the motion sensors from what gravity does to them; never from size alone.

A phone that is not falling feels gravity: the slow part of the accelerometer has its magnitude,
which gives the unit and says whether gravity is in at all. When the phone tilts, gravity turns in
its axes by ``dg/dt = -w x g``, which gives the unit of the turn rate ``w``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ingest.errors import RecordingError
from ingest.formats import factor, unit_named
from ingest.recording import Note
from ingest.streams import Floats, Stream
from ingest.times import spacing

GRAVITY_MS2: Final = 9.80665
SLOW_S: Final = 2.0
"""Means over this long are the slow part: several strides of any gait."""
NEAR: Final = 0.15
"""Relative tolerance for the magnitude of gravity; scales of phones' sensors are off by less."""
GRAVITY_OUT_MS2: Final = 2.5
"""A slow part below this has no gravity in it."""
MOST_G: Final = 12.0
"""One sample in a hundred above this is no rider in g, so it is m/s²; and likewise for m/s²."""
TILT_SIGMAS: Final = 6.0
LEAST_CORRELATION: Final = 0.35
TILT_STEP_S: Final = 0.25
STRIDE_BLOCKS: Final = 4
"""Steps that make about a stride, over which motion of the gait averages out."""
UNSTEADY_MS2: Final = 2.0
"""Where the slow part is off gravity's magnitude by more, the horse is speeding up or stumbling."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """What the user said about units with ``--motion-unit``.

    Attributes
    ----------
    acceleration : {"", "ms2", "g", "mg"}
    turn_rate : {"", "rads", "degs"}
    up : {0, 1, -1}
        Sign of the accelerometer along 'up' at rest.
    """

    acceleration: str = ""
    turn_rate: str = ""
    up: int = 0


def said_units(text: str | None) -> Said:
    """Read the option ``--motion-unit``.

    Parameters
    ----------
    text : str or None
        Words with commas between: ``ms2``, ``g`` or ``mg``; ``rads`` or ``degs``; ``up`` (a phone
        at rest reads plus along 'up') or ``down``.

    Raises
    ------
    RecordingError
        For any other word.

    Examples
    --------
    >>> said_units("g,degs").turn_rate
    'degs'
    """
    found: dict[str, str] = {}
    up = 0
    for word in (text or "").replace(",", " ").split():
        if word.casefold() in ("up", "down"):
            up = 1 if word.casefold() == "up" else -1
            continue
        for dimension in ("acceleration", "turn_rate"):
            unit = unit_named(dimension, word)
            if unit:
                found[dimension] = unit
                break
        else:
            raise RecordingError(
                f"--motion-unit {word!r}: not a unit; say ms2, g or mg, rads or degs, up or down"
            )
    return Said(
        acceleration=found.get("acceleration", ""), turn_rate=found.get("turn_rate", ""), up=up
    )


def block_means(values: Floats, size: int) -> Floats:
    """Means of consecutive blocks of rows; what is left over at the end is dropped."""
    blocks = len(values) // size
    if blocks == 0:
        return np.asarray(values.mean(axis=0, keepdims=True), dtype=np.float64)
    kept = values[: blocks * size]
    mean: Floats = np.asarray(kept.reshape(blocks, size, *values.shape[1:]).mean(axis=1))
    return mean


def _slow_magnitude(stream: Stream) -> tuple[float, float]:
    """Median magnitude of the slow part, and its relative spread."""
    size = max(1, round(SLOW_S / max(spacing(stream.t_s), 1e-3)))
    magnitude = np.linalg.norm(block_means(stream.xyz, size), axis=1)
    middle = float(np.median(magnitude))
    spread = float(np.median(np.abs(magnitude - middle))) / max(middle, 1e-12)
    return middle, spread


def gravity_unit(stream: Stream) -> str:
    """Unit in which the slow part of an accelerometer has gravity's magnitude; empty if in none."""
    middle, spread = _slow_magnitude(stream)
    for unit in ("ms2", "g", "mg"):
        ratio = middle * factor("acceleration", unit) / GRAVITY_MS2
        if abs(ratio - 1.0) < NEAR and spread < NEAR:
            return unit
    return ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceleration:
    """An accelerometer in m/s², and whether gravity is in it."""

    stream: Stream
    gravity_included: bool
    notes: tuple[Note, ...]


_WORD: Final = {"ms2": "m/s²", "g": "g", "mg": "mg", "rads": "rad/s", "degs": "deg/s"}


def settled_acceleration(stream: Stream, said: Said) -> Acceleration:
    """Put an accelerometer into m/s².

    Raises
    ------
    RecordingError
        When neither gravity, header nor option tells the unit.
    """
    resting = gravity_unit(stream)
    if resting and said.acceleration in ("", resting):
        ground = f"at rest {stream.name} reads gravity in {_WORD[resting]}"
        if stream.unit not in ("", resting):
            ground += f", though its header says {_WORD[stream.unit]}"
        return _scaled(stream, resting, gravity=True, ground=ground)
    if said.acceleration:
        return _by_word(stream, said.acceleration, "you said so")
    if stream.unit:
        return _by_word(stream, stream.unit, "its header says so")
    bound = _unit_by_bound(stream)
    if bound:
        return _by_word(stream, bound, "in any other unit no rider could stay on")
    raise RecordingError(
        f"{stream.name}: acceleration without gravity, in m/s² or g cannot be told; "
        "say --motion-unit ms2 or --motion-unit g"
    )


def _by_word(stream: Stream, unit: str, ground: str) -> Acceleration:
    slow = _slow_magnitude(stream)[0] * factor("acceleration", unit)
    if abs(slow / GRAVITY_MS2 - 1.0) < 2 * NEAR:
        return _scaled(stream, unit, gravity=True, ground=ground)
    if slow > GRAVITY_OUT_MS2:
        raise RecordingError(
            f"{stream.name}: in {_WORD[unit]} its slow part is {slow:.3g} m/s², not gravity and "
            "not nothing; say the unit with --motion-unit ms2, g or mg"
        )
    return _scaled(stream, unit, gravity=False, ground=ground)


def _unit_by_bound(stream: Stream) -> str:
    high = float(np.percentile(np.linalg.norm(stream.xyz, axis=1), 99))
    if high > MOST_G * GRAVITY_MS2 * 2:
        return "mg"
    return "ms2" if high > MOST_G else ""


def _scaled(stream: Stream, unit: str, *, gravity: bool, ground: str) -> Acceleration:
    scale = factor("acceleration", unit)
    xyz = stream.xyz if scale == 1.0 else stream.xyz * scale
    inside = "in" if gravity else "out"
    text = f"Acceleration is in {_WORD[unit]}, gravity {inside}: {ground}."
    notes = [Note(code=f"acceleration-{unit}", text=text)]
    if not gravity:
        notes.append(
            Note(
                code="gravity-out",
                text="The phone took gravity out of its acceleration; the vertical is less sure.",
                severity="warning",
            )
        )
    return Acceleration(stream=_with(stream, xyz), gravity_included=gravity, notes=tuple(notes))


def _with(stream: Stream, xyz: Floats) -> Stream:
    return replace(stream, xyz=xyz, unit="")


@dataclass(frozen=True, slots=True, kw_only=True)
class Slope:
    """How strongly one signal follows another, through the origin.

    Attributes
    ----------
    value, sd : float
        Slope and its standard error; the sd is infinite where there was nothing to follow.
    correlation : float
        Uncentred correlation of the two: a slope in the wrong unit can be significant by chance
        of an unsuited signal, but it explains next to nothing.
    """

    value: float
    sd: float
    correlation: float = 0.0


def tilt_slope(t_s: Floats, accel_ms2: Floats, turn: Floats) -> Slope:
    """Regress how gravity moves in the phone's axes on what its turn rate predicts.

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
        About 1 for rad/s and 0.01745 for deg/s; the sd is infinite when the phone did not tilt.
    """
    size = max(1, round(TILT_STEP_S / max(spacing(t_s), 1e-4)))
    if len(t_s) < 8 * STRIDE_BLOCKS * size:
        return Slope(value=0.0, sd=float("inf"))
    unbiased = turn - np.median(turn, axis=0)
    columns = np.column_stack([t_s, accel_ms2, unbiased])
    smooth = _running(block_means(columns, size), STRIDE_BLOCKS)
    times, gravity, rate = smooth[:, 0], smooth[:, 1:4], smooth[:, 4:]
    predicted = _running(-np.cross(rate, gravity), 2 * STRIDE_BLOCKS)[::STRIDE_BLOCKS]
    before, after = gravity[: -2 * STRIDE_BLOCKS], gravity[2 * STRIDE_BLOCKS :]
    span_s = (times[2 * STRIDE_BLOCKS :] - times[: -2 * STRIDE_BLOCKS])[::STRIDE_BLOCKS]
    count = min(len(predicted), len(span_s))
    level = np.abs(np.linalg.norm(before[::STRIDE_BLOCKS], axis=1) - GRAVITY_MS2) < UNSTEADY_MS2
    use = ((span_s > 0) & (span_s < 3 * STRIDE_BLOCKS * TILT_STEP_S) & level)[:count]
    seen = (after - before)[::STRIDE_BLOCKS][:count][use] / span_s[:count][use, None]
    return _slope(predicted[:count][use], seen)


def _running(values: Floats, size: int) -> Floats:
    total = np.cumsum(np.vstack([np.zeros((1, values.shape[1])), values]), axis=0)
    running: Floats = (total[size:] - total[:-size]) / size
    return running


def _slope(predicted: Floats, seen: Floats) -> Slope:
    power = float((predicted**2).sum())
    if len(seen) < 10 or power <= 0:
        return Slope(value=0.0, sd=float("inf"))
    value = float((predicted * seen).sum()) / power
    rest = seen - value * predicted
    return Slope(
        value=value,
        sd=float(np.sqrt((rest**2).mean() * 2.0 / power)),
        correlation=value * float(np.sqrt(power / max((seen**2).sum(), 1e-30))),
    )


def unit_of_slope(slope: Slope) -> str:
    """``"rads"`` or ``"degs"`` when the slope excludes the other by far, else empty."""
    degree = factor("turn_rate", "degs")
    for unit, expected, other in (("rads", 1.0, degree), ("degs", degree, 1.0)):
        near = 0.3 < slope.value / expected < 2.5
        away = min(abs(slope.value), abs(slope.value - other))
        if near and away > TILT_SIGMAS * slope.sd and slope.correlation > LEAST_CORRELATION:
            return unit
    return ""
