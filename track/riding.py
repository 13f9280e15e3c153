"""Terms ridden one after another: what the sheet leaves out is filled in along the track."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from track.arena import HALF_LENGTH_M, LETTERS
from track.change_terms import CENTRE_LINE, CORNER, Asked
from track.ideal import draw, shorter_way
from track.layout import Stretch
from track.lines import Pose, bearing_rad
from track.pen import Pen
from track.pen_strokes import RideError
from track.sheet import Movement, Rein
from track.terms import Ride


@dataclass(slots=True, kw_only=True)
class Part:
    """A movement while it is being laid out.

    ``within`` is a letter on the movement before, where a movement of changes alone begins.
    """

    movement: Movement
    rides: list[Ride]
    asked: list[Asked]
    stretches: list[Stretch] = field(default_factory=list)
    own_start: int | None = None
    within: str = ""


def fault_line(movement: Movement, term: str, fault: Exception) -> str:
    """One line about a term that cannot be read or ridden."""
    return f"movement {movement.number}: '{term}': {fault}"


def ride_parts(pen: Pen, parts: Sequence[Part], faults: list[str]) -> None:
    """Ride all movements; what cannot be ridden is added to the faults."""
    before: Part | None = None
    for part in parts:
        if part.movement.of and not part.rides and not part.asked:
            continue
        for ride in part.rides:
            _ride_term(pen, part, before, ride, faults)
        if not part.rides and part.asked and not part.movement.ride:
            _go_on(pen, part, before, faults)
        if part.movement.ride and len(part.rides) < len(part.movement.ride):
            _lose(pen)
        before = part
    if before is not None and pen.vertex is not None:
        _finish(pen, before, faults)


def _finish(pen: Pen, part: Part, faults: list[str]) -> None:
    """Ride on to the last change of the test, where it lies beyond the last term."""
    ridden = {word for stretch in part.stretches for word in stretch.text.split()}
    for asked in part.asked:
        for place in asked.places:
            on_the_way = place in ridden or (place not in pen.lap and pen.rein() is not None)
            if len(place) == 1 and not on_the_way and not part.within:
                try:
                    _fill(pen, part, None, place)
                except RideError as fault:
                    faults.append(fault_line(part.movement, asked.text, fault))
                    return


def _ride_term(pen: Pen, part: Part, before: Part | None, ride: Ride, faults: list[str]) -> None:
    try:
        ride = _resolved(ride, part, before)
        if pen.vertex is None:
            pose = _implied(pen, ride, first=not pen.pieces and before is None)
            if pose is None:
                if not faults:
                    raise RideError("a test starts with a line, for example 'line A X'")
                return
            pen.vertex = pose
        elif ride.kind != "return":
            _fill(pen, part, before, ride.letters[0])
        if part.own_start is None:
            part.own_start = len(part.stretches)
        part.stretches.append(draw(pen, ride))
    except RideError as fault:
        faults.append(fault_line(part.movement, ride.text, fault))
        _lose(pen)


def _resolved(ride: Ride, part: Part, before: Part | None) -> Ride:
    """A turn without a letter happens where the term before leads to."""
    if ride.letters:
        return ride
    earlier = [r for p in (before, part) if p for r in p.rides]
    if ride in part.rides:
        earlier = earlier[: len(earlier) - len(part.rides) + part.rides.index(ride)]
    if not earlier or not earlier[-1].letters:
        raise RideError("at which letter? allowed: turn left|right at LETTER")
    return replace(ride, letters=earlier[-1].letters[-1:])


def _lose(pen: Pen) -> None:
    pen.vertex = None
    pen.pieces.clear()


def _fill(pen: Pen, part: Part, before: Part | None, letter: str) -> None:
    """Go on along the track, or straight on, to the letter where the next term starts."""
    if pen.is_at(letter):
        return
    owner = part if part.own_start is not None or before is None else before
    start = pen.length_m
    rein = pen.rein()
    if rein is not None:
        passed = pen.go_along(letter)
        text, kind = f"track {' '.join(passed)}", "track"
    else:
        came = next((name for name in LETTERS[pen.size] if pen.is_at(name)), "")
        ahead, left = pen.here.seen(pen.place(letter))
        if abs(left) > 1e-6 or ahead < 0:
            raise RideError(
                f"{letter} does not lie ahead on the straight from {came or 'the turn'}: "
                "the way to it is not given; allowed: turn left|right at LETTER, track, line"
            )
        pen.go_straight(pen.place(letter))
        text, kind = f"line {came} {letter}", "line"
    owner.stretches.append(
        Stretch(
            kind="track" if kind == "track" else "line",
            text=text,
            start_m=start,
            end_m=pen.length_m,
            filled=True,
            rein=rein,
            straight_m=None if rein else (start, pen.length_m),
        )
    )


def _go_on(pen: Pen, part: Part, before: Part | None, faults: list[str]) -> None:
    """A movement of changes alone: it starts at the first place, and leads on to the last."""
    letters = [place for asked in part.asked for place in asked.places if len(place) == 1]
    first = part.asked[0].places[0]
    if pen.vertex is None:
        if not faults:
            faults.append(f"movement {part.movement.number}: nothing is ridden yet")
        return
    if first in (CORNER, CENTRE_LINE):
        part.within = first
    elif before and any(first in ride.letters[:-1] for ride in before.rides[-1:]):
        part.within, letters = first, []
    try:
        if part.within == CORNER:
            _fill(pen, part, before, pen.beyond_corner())
        for number, letter in enumerate(letters):
            _fill(pen, part, before, letter)
            if number == 0:
                part.own_start = len(part.stretches)
    except RideError as fault:
        faults.append(fault_line(part.movement, part.asked[0].text, fault))
        _lose(pen)


def _implied(pen: Pen, ride: Ride, *, first: bool) -> Pose | None:
    """The pose a term starts from when nothing was ridden before; None when it does not say."""
    letter, last = ride.letters[0], ride.letters[-1]
    start, end = LETTERS[pen.size][letter], LETTERS[pen.size][last]
    if ride.kind == "line":
        x, y = (0.0, -HALF_LENGTH_M[pen.size]) if first and letter == "A" else pen.place(letter)
        return Pose(x_m=x, y_m=y, heading_rad=bearing_rad(start, end))
    if ride.kind in ("diagonal", "loop"):
        way = math.copysign(math.pi / 2, end[1] - start[1])
        x, y = pen.place(letter)
        return Pose(x_m=x, y_m=y, heading_rad=way)
    if ride.kind == "track":
        return _on_track(pen, letter, shorter_way(pen, letter, ride.letters[1]) or "left")
    if ride.side is not None and ride.kind != "turn" and letter in pen.lap:
        return _on_track(pen, letter, ride.side)
    if ride.kind == "half circle" and ride.side is not None:
        x, y = pen.place(letter)
        side = math.pi / 2 if ride.side == "left" else -math.pi / 2
        return Pose(x_m=x, y_m=y, heading_rad=bearing_rad(start, end) - side)
    return None


def _on_track(pen: Pen, letter: str, rein: Rein) -> Pose:
    x, y = pen.place(letter)
    ways = [Pose(x_m=x, y_m=y, heading_rad=k * math.pi / 2) for k in range(-1, 3)]
    return next(pose for pose in ways if pen.rein(pose) == rein)
