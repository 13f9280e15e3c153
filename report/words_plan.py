"""Wording of the floor plan page and of what ``tanbark sheet`` prints."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from report.words_said import clock
from track.floorplan import CallSheet, Command, Speeds
from track.layout import Layout

OVER_TITLE: Final = "Floor plan and call sheet"
WHOLE: Final = "The whole test"
WHOLE_TITLE: Final = "The whole test on one plan"
WHOLE_DESC: Final = "Every movement's number stands where it starts."
PLAN_TITLE: Final = "Movement {}"
CALL_SHEET: Final = "Call sheet"
CALL_INTRO: Final = (
    "Seconds since A, and to the next command. Call a command early enough to be heard out before "
    "its place."
)
BUSY: Final = "Busy spots"
BUSY_INTRO: Final = "Here two commands come within 6 seconds: think of both before the first."
BUSY_NONE: Final = "Nowhere do two commands come within 6 seconds."
BUSY_MARK: Final = "busy"
MOVEMENTS: Final = "Movement by movement"
MOVEMENTS_INTRO: Final = (
    "The line of the rider's body, 0.8 m inside the boards. The dot is where the movement starts."
)
SETTING_OUT: Final = "Setting out"
SETTING_OUT_INTRO: Final = (
    "Where figures go, board to board, in metres from the nearest letter: put a cone there and "
    "ride just inside it."
)
TAPE: Final = "Is the school square? Check with a tape"
COLUMN_TIME: Final = "time"
COLUMN_NUMBER: Final = "no."
COLUMN_COMMAND: Final = "command"
COLUMN_NEXT: Final = "to next"
COLUMN_FIGURE: Final = "figure"
COLUMN_TOUCHES: Final = "touches or crosses at"
COLUMN_LENGTH: Final = "metres"
LEGEND_WINDOW: Final = "the change may come here"
LEGEND_TICK: Final = "the change comes here"
LEGEND_START: Final = "start of the movement"
GOES_ON: Final = "goes on"
SHOW: Final = "show {}"
COEFFICIENT: Final = "counts × {}"
RULES: Final = (
    "Check the rules of your competition before anyone calls the test, and before you wear a phone."
)


def about(layout: Layout, calls: CallSheet) -> str:
    """One line about the sheet."""
    sheet = layout.sheet
    return (
        f"{sheet.arena.replace('x', ' × ')} m · {sheet.level} · {len(sheet.movements)} marks · "
        f"{layout.length_m:.0f} m · about {clock(calls.total_s)} min from A"
    )


def speeds_line(speeds: Speeds, source: str) -> str:
    """At which speeds the times hold."""
    where = source or "usual ones; your horse has its own"
    return (
        f"Times at walk {speeds.walk_ms:.2f}, trot {speeds.trot_ms:.2f}, "
        f"canter {speeds.canter_ms:.2f} m/s ({where})."
    )


def busy_line(first: Command, then: Command) -> str:
    """Two commands that come close together."""
    gap = "" if first.to_next_s is None else f"{first.to_next_s:.0f} s "
    numbers = f"{first.movement}"
    if then.movement != first.movement:
        numbers += f" and {then.movement}"
    return f"Movement {numbers}: {then.text}, {gap}after {first.text}."


def of_line(numbers: Sequence[int]) -> str:
    """A mark for other movements' transitions."""
    return f"transitions of {' and '.join(str(number) for number in numbers)}"
