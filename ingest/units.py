"""Units of the motion sensors from what gravity does to them; never from size alone.

A phone that is not falling feels gravity: the slow part of the accelerometer has its magnitude,
which gives the unit and says whether gravity is in at all.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from ingest.blocks import block_means
from ingest.errors import RecordingError
from ingest.formats import factor, unit_named
from ingest.recording import Note
from ingest.streams import Floats, Stream
from ingest.tilt import GRAVITY_MS2
from ingest.times import spacing

SLOW_S: Final = 2.0
"""Means over this long are the slow part: several strides of any gait."""
NEAR: Final = 0.15
"""Relative tolerance for the magnitude of gravity; scales of phones' sensors are off by less."""
GRAVITY_OUT_MS2: Final = 2.5
"""A slow part below this has no gravity in it."""
MOST_G: Final = 12.0
"""One sample in a hundred above this is no rider in g, so it is m/s²; and likewise for m/s²."""


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
