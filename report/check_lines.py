"""The three lines of ``tanbark check``, from a recording alone."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from ingest.columns import ACCURACY_M, COURSE_DEG, GYRO_RADS, SPEED_MS, T_S
from ingest.recording import Note, Recording

MOST_ADVICE: Final = 3
"""More than this at once nobody does."""

ADVICE: Final[tuple[tuple[tuple[str, ...], str], ...]] = (
    (("recording-short",), "record the whole ride, from the first walk to the last"),
    (("motion-missing",), "log the accelerometer and gyroscope too, at 50 Hz or more"),
    (("positions-missing",), "record positions in the same ride, with speed and course"),
    (
        ("log-died", "log-short", "file-cut-off"),
        "charge the phone and exempt the logger from battery saving, so that it runs to the end",
    ),
    (
        ("fix-gaps", "motion-gaps"),
        "try the logger at home with the screen locked, so that it runs without gaps",
    ),
    (("fix-rate-low",), "set one fix a second"),
    (("gyroscope-missing", "gyroscope-short", "gyroscope-gaps"), "log the gyroscope as well"),
    (("gravity-out",), "log acceleration with gravity in"),
    (("motion-rate-low", "motion-rate-fair"), "set the motion log to 50 Hz or more"),
    (("accelerometer-clipped",), "set a larger range for the accelerometer"),
    (
        ("fixes-wild", "fixes-jumpy", "fixes-held", "accuracy-poor"),
        "stand in the open for a minute after starting the log, so that the positions settle",
    ),
    (
        ("clocks-apart", "clocks-disagree"),
        "use one logger for positions and motion, so that they share a clock",
    ),
    (("speed-missing", "speed-contradicts"), "save speed and course with the positions"),
    (
        ("rows-unreadable", "motion-absurd"),
        "export the recording again, or from another menu of the logger",
    ),
)
"""What to do about notes, the dearest fault first."""

GOOD_HABIT: Final = (
    "walk one lap on each rein along the boards first, phone in the same zipped pocket on you"
)


def check_lines(recording: Recording) -> tuple[str, str, str]:
    """What was recorded; how good it is; what to do better next time.

    Parameters
    ----------
    recording : Recording

    Returns
    -------
    tuple of three str
        One line each, in plain English.
    """
    return _recorded(recording), _quality(recording), _advice(recording)


def clock_text(seconds: float) -> str:
    """Minutes and seconds.

    Examples
    --------
    >>> clock_text(185.4), clock_text(59.0)
    ('3 min 05 s', '59 s')
    """
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def _span_s(table: pd.DataFrame) -> float:
    t_s = table[T_S].to_numpy()
    return float(t_s[-1] - t_s[0])


def _step_s(table: pd.DataFrame) -> float:
    t_s = table[T_S].to_numpy()
    return float(np.median(np.diff(t_s))) if len(t_s) > 1 else float("nan")


def _recorded(recording: Recording) -> str:
    parts = []
    fixes, motion = recording.fixes, recording.motion
    if fixes is not None:
        text = f"{clock_text(_span_s(fixes))} of positions, {len(fixes)} fixes"
        if len(fixes) > 1:
            text += f", one every {_step_s(fixes):.2g} s"
        with_ = [
            name
            for name, column in (("speed", SPEED_MS), ("course", COURSE_DEG))
            if fixes[column].notna().mean() > 0.3
        ]
        parts.append(text + (f", with {' and '.join(with_)}" if with_ else ""))
    if motion is not None:
        gyro = bool(motion[GYRO_RADS[0]].notna().any())
        what = "acceleration and turn rate" if gyro else "acceleration"
        parts.append(f"{clock_text(_span_s(motion))} of {what} at {_rate_hz(motion):.0f} Hz")
    if fixes is None:
        parts.append("no positions")
    if motion is None:
        parts.append("no motion")
    return f"Recorded: {'; '.join(parts)} ({', '.join(recording.sources)})."


def _rate_hz(motion: pd.DataFrame) -> float:
    step_s = _step_s(motion)
    return 1.0 / step_s if step_s > 0 else float("nan")


def _quality(recording: Recording) -> str:
    """The warnings in one line, or that there are none."""
    faults = [note.text.rstrip(".") for note in recording.notes if note.severity == "warning"]
    fixes = recording.fixes
    accuracy = float("nan")
    poor = any(note.code == "accuracy-poor" for note in recording.notes)
    if fixes is not None and fixes[ACCURACY_M].notna().any() and not poor:
        accuracy = float(fixes[ACCURACY_M].median())
    told = [f"the receiver reports {accuracy:.0f} m"] if np.isfinite(accuracy) else []
    faults = [fault[0].lower() + fault[1:] for fault in faults]
    return f"Quality: {'; '.join([*(faults or ['nothing is missing or broken']), *told])}."


def _codes(recording: Recording) -> set[str]:
    codes = {note.code for note in recording.notes if _matters(note)}
    if recording.motion is None:
        codes.add("motion-missing")
    if recording.fixes is None:
        codes.add("positions-missing")
    return codes


def _matters(note: Note) -> bool:
    return note.severity == "warning" or note.code in ("motion-rate-fair", "speed-missing")


def _advice(recording: Recording) -> str:
    codes = _codes(recording)
    due = [text for causes, text in ADVICE if codes.intersection(causes)]
    if not due:
        return f"Next time: the same again; {GOOD_HABIT}."
    return f"Next time: {'; '.join(due[:MOST_ADVICE])}."
