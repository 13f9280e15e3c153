"""Every change of gait that is wanted, at its place on the ridden line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from sample_rides.course import Course, Slice
from sample_rides.ridden import RiddenLine
from track.arena import LETTERS
from track.layout import Change, Layout
from track.sheet import GaitName, Rein

NEAR_LETTER_M: Final = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A change of gait wanted at a place, before it is ridden."""

    wanted_m: float
    to_gait: GaitName
    lead: Rein | None = None
    movement: int | None = None
    number: int | None = None
    run: int = 1
    change: Change | None = None
    window_m: tuple[float, float] | None = None


def changes_asked(course: Course, line: RiddenLine, layout: Layout) -> list[Asked]:
    """Every change wanted, in riding order."""
    wanted = [Asked(wanted_m=line.along(course_m), to_gait=gait) for course_m, gait in course.gaits]
    for piece in course.slices:
        for movement in layout.movements:
            for number, change in enumerate(movement.changes, start=1):
                if not piece.holds(change.start_m):
                    continue
                window_m = _window(change, piece, line, layout)
                asked = Asked(
                    wanted_m=window_m[0],
                    to_gait=change.to_gait,
                    lead=change.lead,
                    movement=movement.number,
                    number=number,
                    run=piece.run,
                    change=change,
                    window_m=window_m,
                )
                wanted.append(asked)
                if change.where == "from":
                    back_m = line.along(piece.course_m(change.end_m))
                    wanted.append(Asked(wanted_m=back_m, to_gait=change.from_gait, run=piece.run))
    return sorted(wanted, key=lambda asked: asked.wanted_m)


def _window(change: Change, piece: Slice, line: RiddenLine, layout: Layout) -> tuple[float, float]:
    """Ridden distances of a change's letter(s), each at the line's nearest approach."""
    places = [word for word in change.place.split() if word in LETTERS[layout.sheet.arena]]
    ends_m = (change.start_m, change.end_m)
    about = [line.along(piece.course_m(end_m)) for end_m in ends_m]
    if change.where in {"at", "from"}:
        about[1] = about[0]
        places = places[:1] * 2
    if len(places) == 2:
        near = [
            line.nearest(LETTERS[layout.sheet.arena][letter], at_m, NEAR_LETTER_M)
            for letter, at_m in zip(places, about, strict=True)
        ]
        return near[0], near[1]
    return about[0], about[1]
