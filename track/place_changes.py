"""Where along the line each change of gait is asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from track.change_terms import CENTRE_LINE, CORNER, Asked
from track.layout import Change, Stretch
from track.pen_strokes import RideError
from track.sheet import GaitName, Rein

_SAME_M: Final = 0.5
_BEFORE_M: Final = 2.0
"""Of two places equally near, the one just before a movement's own terms is meant."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A movement on the line: its own terms, and the track filled in before and after, metres."""

    before_m: float
    start_m: float
    own_end_m: float
    end_m: float
    stretches: tuple[Stretch, ...]
    earlier: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Riding:
    """Gait at some point of the test.

    ``stretch`` is the gait of a stretch that ends just there ("that stretch only").
    """

    gait: GaitName
    lead: Rein | None
    at_m: float
    stretch: GaitName | None = None


Marks = Mapping[str, Sequence[float]]
"""Letter, ``corner`` or ``centre line`` to the distances at which it is passed."""


def place_change(asked: Asked, span: Span, now: Riding, marks: Marks) -> tuple[Change, Riding]:
    """Lay one change onto the line.

    Parameters
    ----------
    asked : Asked
    span : Span
        The movement it stands in.
    now : Riding
        Gait before, and the earliest place.
    marks : mapping

    Raises
    ------
    RideError
    """
    start, end = _window(asked, span, now.at_m, marks)
    follows_on = now.stretch is not None and start - now.at_m < _SAME_M
    change = Change(
        text=asked.text,
        from_gait=now.stretch if now.stretch and follows_on else now.gait,
        to_gait=now.gait if asked.steps else asked.gait,
        where=asked.where,
        place=" and ".join(asked.places),
        start_m=start,
        end_m=end,
        lead=now.lead if asked.steps else asked.lead,
        free=asked.free,
        via=_via(asked),
        via_steps=asked.steps,
        halt_s=asked.halt_s,
    )
    stays = asked.where == "from" or asked.steps is not None
    after = Riding(
        gait=now.gait if stays else asked.gait,
        lead=now.lead if stays else asked.lead,
        at_m=end,
        stretch=asked.gait if asked.where == "from" else None,
    )
    return change, after


def _via(asked: Asked) -> Literal["walk", "trot"] | None:
    if asked.steps:
        return "walk" if asked.gait == "walk" else "trot"
    return asked.via


def _window(asked: Asked, span: Span, from_m: float, marks: Marks) -> tuple[float, float]:
    if asked.part is not None:
        return _part_of_circle(asked.part, span, from_m)
    start = _first(asked.places[0], span, from_m, marks)
    if asked.where == "at":
        return start, start
    second = asked.places[1]
    later = [s for s in _marks(second, marks) if start + _SAME_M < s <= span.end_m + _SAME_M]
    if not later:
        raise RideError(f"{second} is not passed after {asked.places[0]} in this movement")
    again = [s for s in _marks(asked.places[0], marks) if start <= s < later[0] - _SAME_M]
    return again[-1], later[0]


def _part_of_circle(part: tuple[float, float], span: Span, from_m: float) -> tuple[float, float]:
    for stretches in (span.stretches, span.earlier[::-1]):
        for stretch in stretches:
            length = stretch.end_m - stretch.start_m
            start = stretch.start_m + part[0] * length
            if stretch.kind == "circle" and start >= from_m - _SAME_M:
                return start, stretch.start_m + part[1] * length
    raise RideError("no circle is ridden in this movement")


def _marks(place: str, marks: Marks) -> Sequence[float]:
    return marks.get(place, ())


def _first(place: str, span: Span, from_m: float, marks: Marks) -> float:
    """First passing within the movement's own terms, else the nearer of just before and after."""
    passed = [s for s in _marks(place, marks) if s >= from_m - _SAME_M]
    own = [s for s in passed if span.start_m - _SAME_M <= s <= span.own_end_m + _SAME_M]
    if own:
        return own[0]
    before = [s for s in passed if span.before_m - _SAME_M <= s < span.start_m]
    near = [(span.start_m - s - _BEFORE_M, s) for s in before]
    near += [(s - span.own_end_m, s) for s in passed if span.own_end_m < s <= span.end_m + _SAME_M]
    if not near:
        raise RideError(_not_passed(place, span, marks))
    return min(near)[1]


def _not_passed(place: str, span: Span, marks: Marks) -> str:
    if place in (CORNER, CENTRE_LINE):
        return f"no {place} is passed in this movement after the change before"
    there = sorted(
        (s, name)
        for name, where in marks.items()
        for s in where
        if span.start_m - _SAME_M <= s <= span.end_m + _SAME_M and len(name) == 1
    )
    names = list(dict.fromkeys(name for _, name in there))
    return (
        f"{place} is not passed in this movement after the change before; "
        f"passed: {' '.join(names) or 'no letter'}"
    )
