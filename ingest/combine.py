"""Motion and positions laid together: one clock where the stamps allow it, units and sign settled.

Every decision is a note with its ground; what cannot be decided is asked for with an option.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Final

from ingest.blocks import block_means
from ingest.errors import RecordingError
from ingest.formats import factor
from ingest.motion_quality import plausible_motion
from ingest.places import Chosen
from ingest.recording import Note, Severity
from ingest.sensors import Sensors
from ingest.streams import Floats, Positions
from ingest.tilt import tilt_slope, unit_of_slope
from ingest.times import spacing
from ingest.turns import TurnMatch, turn_match
from ingest.units import Said

_SHOWN: Final = {"rads": "rad/s", "degs": "deg/s"}
COARSE_S: Final = 0.05
"""Turns and tilts are slow: blocks this long lose nothing of them."""
_TOLD_APART: Final = 3.0
"""A slope within this factor of one unit is far from the other, 57 times away."""


def on_one_clock(
    sensors: Sensors, chosen: Chosen, motion_start: str | None
) -> tuple[Sensors, bool, tuple[Note, ...]]:
    """Put the motion stamps onto the positions' clock where both tell the same; else from zero.

    Parameters
    ----------
    sensors : Sensors
    chosen : Chosen
    motion_start : str or None
        What the user says about the start of the motion log.

    Returns
    -------
    sensors : Sensors
        On the positions' clock, or from zero at its first sample.
    shared : bool
        Whether the two clocks differ by seconds only.
    notes : tuple of Note
    """
    fixes = chosen.positions
    from_zero = replace(sensors, t_s=sensors.t_s - sensors.t_s[0])
    if motion_start is not None:
        moved = replace(from_zero, t_s=from_zero.t_s + _start_s(motion_start, chosen))
        text = "The motion log begins when you said."
        return moved, fixes is not None, (Note(code="motion-start-said", text=text),)
    if fixes is None:
        return from_zero, False, ()
    if fixes.clock != sensors.clock:
        why, code = "have no clock in common", "clocks-apart"
    elif min(fixes.t_s[-1], sensors.t_s[-1]) < max(fixes.t_s[0], sensors.t_s[0]):
        why, code = "by their clocks were not recorded at the same time", "clocks-disagree"
    else:
        return sensors, True, ()
    text = f"Motion and positions {why}; they are laid together by the turns and halts they show."
    return from_zero, False, (Note(code=code, text=text, severity="warning"),)


def _start_s(text: str, chosen: Chosen) -> float:
    """Start of the motion log on the positions' clock."""
    try:
        return chosen.first_s + float(text)
    except ValueError:
        pass
    try:
        start = datetime.fromisoformat(text.strip())
    except ValueError:
        start = None
    if start is None or start.tzinfo is None:
        raise RecordingError(
            f"--motion-start {text!r}: say when the motion log began, as 2026-05-01T10:00:00Z "
            "or in seconds after the first fix"
        )
    if chosen.positions is not None and chosen.positions.clock.kind != "epoch":
        raise RecordingError(
            f"--motion-start {text!r}: the positions have no date; "
            "say it in seconds after the first fix"
        )
    return start.timestamp()


def settled_sensors(
    sensors: Sensors, positions: Positions | None, said: Said, *, shared: bool
) -> tuple[Sensors, tuple[Note, ...]]:
    """Turn rate in rad/s, and the accelerometer's sign so that 'up' reads plus at rest.

    Raises
    ------
    RecordingError
        When the unit of the turn rate shows neither in the data nor in the header.
    """
    match = None
    slow = _coarse(sensors)
    if slow is not None and positions is not None:
        match = turn_match(positions, *slow, shared=shared)
    notes: list[Note] = []
    if sensors.gyro is not None:
        tilt = unit_of_slope(tilt_slope(*slow)) if slow is not None else ""
        unit, note = _turn_unit(sensors, tilt, match, said)
        notes.append(note)
        if unit != "rads":
            sensors = replace(sensors, gyro=sensors.gyro * factor("turn_rate", unit))
    up, sign_notes = _up(sensors, match, said)
    if up < 0:
        sensors = replace(sensors, accel_ms2=-sensors.accel_ms2)
    sensors, absurd = plausible_motion(sensors)
    return sensors, (*notes, *sign_notes, *absurd)


def _coarse(sensors: Sensors) -> tuple[Floats, Floats, Floats] | None:
    """Times, accelerometer and gyroscope at about 20 Hz; None where gravity or gyroscope lack."""
    if sensors.gyro is None or not sensors.gravity_included:
        return None
    size = max(1, round(COARSE_S / max(spacing(sensors.t_s), 1e-4)))
    series = (sensors.t_s, sensors.accel_ms2, sensors.gyro)
    t_s, accel, gyro = (block_means(one, size) for one in series)
    return t_s, accel, gyro


def _turn_unit(
    sensors: Sensors, tilt: str, match: TurnMatch | None, said: Said
) -> tuple[str, Note]:
    """Unit of the turn rate, and the note that gives its ground."""
    if said.turn_rate:
        return said.turn_rate, _turn_note(said.turn_rate, "you said so")
    grounds = _grounds(tilt, match)
    header = sensors.gyro_unit
    if header:
        if grounds and header not in grounds:
            ground = "its header says so, though the data look like the other unit"
            return header, _turn_note(header, ground, "warning")
        agree = ", and " + grounds[header] if header in grounds else ""
        return header, _turn_note(header, "its header says so" + agree)
    if len(grounds) == 1:
        unit, ground = next(iter(grounds.items()))
        return unit, _turn_note(unit, ground)
    raise RecordingError(
        f"{sensors.gyro_name}: turn rate in rad/s or deg/s cannot be told from the data; "
        "say --motion-unit rads or --motion-unit degs"
    )


def _grounds(tilt: str, match: TurnMatch | None) -> dict[str, str]:
    """What in the data speaks for which unit."""
    found = {tilt: "gravity turns against it at that rate"} if tilt else {}
    if match is not None and match.settled:
        for unit in ("rads", "degs"):
            ratio = abs(match.slope.value) * factor("turn_rate", unit)
            if 1 / _TOLD_APART < ratio < _TOLD_APART:
                found[unit] = "the path turns at that rate"
    return found


def _turn_note(unit: str, ground: str, severity: Severity = "info") -> Note:
    text = f"Turn rate is in {_SHOWN[unit]}: {ground}."
    return Note(code=f"turn-rate-{unit}", text=text, severity=severity)


def _up(sensors: Sensors, match: TurnMatch | None, said: Said) -> tuple[int, tuple[Note, ...]]:
    """Sign that makes a phone at rest read plus along 'up', and its ground."""
    if said.up:
        text = "Which way gravity counts is as you said."
        return said.up, (Note(code="gravity-sign-said", text=text),)
    if not sensors.gravity_included:
        return 1, ()
    if match is not None and match.settled:
        up = 1 if match.slope.value > 0 else -1
        which = "as it should" if up > 0 else "the other way, and was turned round"
        text = f"Gravity counts {which}: so the phone and the path turn the same way."
        return up, (Note(code="gravity-sign", text=text),)
    text = (
        "Nothing shows which way gravity counts; plus along 'up' is taken. Were it the other way, "
        "left and right would change places: then say --motion-unit down."
    )
    return 1, (Note(code="gravity-sign-taken", text=text),)
