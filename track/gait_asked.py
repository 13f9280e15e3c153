"""Which gait is asked at each point of the line."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from track.layout import Change, MovementLine
from track.path import Floats
from track.sheet import GaitName

_WALK_STEP_M: Final = 0.9


def gaits_asked(enter: GaitName, changes: Sequence[Change], s: Floats) -> tuple[GaitName, ...]:
    """Gait asked at each distance; a change between two places comes in the window's middle."""
    gait = np.full(s.shape, enter, dtype=object)
    tiny = 1e-6  # rounding must not move a change to the next point
    for change in changes:
        if change.where == "from":
            gait[(s >= change.start_m - tiny) & (s < change.end_m)] = change.to_gait
            gait[s >= change.end_m - tiny] = change.from_gait
        elif change.via_steps:
            steps = _WALK_STEP_M * sum(change.via_steps) / 2
            gait[(s >= change.start_m - tiny) & (s < change.start_m + steps)] = change.via
        else:
            gait[s >= (change.start_m + change.end_m) / 2 - tiny] = change.to_gait
    for change in changes:
        if change.to_gait == "halt":
            gait[np.argmin(np.abs(s - change.start_m))] = "halt"
    return tuple(gait.tolist())


def never_moved_off(lines: Sequence[MovementLine], length_m: float) -> list[str]:
    """Faults for halts after which the sheet rides on without saying in which gait."""
    numbered = [(line.number, change) for line in lines for change in line.changes]
    faults = []
    for place, (number, change) in enumerate(numbered):
        after = numbered[place + 1][1] if place + 1 < len(numbered) else None
        moves_off = after is not None and after.start_m - change.end_m < 1.0
        if change.to_gait == "halt" and not moves_off and change.end_m < length_m - 1.0:
            faults.append(
                f"movement {number}: '{change.text}': no gait is asked after the halt; "
                f"allowed: for example 'trot at {change.place}'"
            )
    return faults
