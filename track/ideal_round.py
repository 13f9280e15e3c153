"""Round figures, drawn: circles, half circles, serpentines and single loops.

Sizes are board to board in the sheet and the rider's own here: a figure that touches the
boards on both sides is two track offsets smaller, one that touches on one side by one.
"""

from __future__ import annotations

import math

from track.arena import HALF_WIDTH_M, LETTERS
from track.ideal_parts import CLOSE_M, SIGN, room_m, sided, sized, stretch_of
from track.layout import Stretch
from track.lines import Pose, arc, straight
from track.pen import Pen
from track.pen_strokes import RideError
from track.sheet import Rein
from track.terms import Ride


def circle(pen: Pen, ride: Ride) -> Stretch:
    """A full circle from the letter back to it."""
    side, nominal = sided(ride), sized(ride)
    radius = (nominal - pen.offset_m * _touching(pen, nominal, side)) / 2.0
    here = pen.here
    if not pen.is_exact():
        raise RideError("there is no room: the turn before is not finished there")
    centre = here.turned(SIGN[side] * math.pi / 2).ahead(radius).point
    _inside(pen, ride, centre, radius)
    start = pen.length_m
    pen.add(arc(here, radius, SIGN[side] * 2 * math.pi))
    pen.vertex = here
    return stretch_of(
        pen, ride, start, rein=side, centre_m=centre, radius_m=radius, width_m=2 * radius
    )


def _touching(pen: Pen, nominal: float, side: Rein) -> int:
    """How many offsets smaller the rider's circle is than the sheet's."""
    if nominal >= 2 * HALF_WIDTH_M:
        return 2
    if pen.rein() is not None:
        return 1
    across = pen.here.turned(SIGN[side] * math.pi / 2)
    return 1 if nominal >= room_m(pen, across) + pen.offset_m - CLOSE_M else 0


def _inside(pen: Pen, ride: Ride, centre: tuple[float, float], radius: float) -> None:
    wide = abs(centre[0]) + radius > pen.half_width_m + 1e-3
    if wide or abs(centre[1]) + radius > pen.half_length_m + 1e-3:
        rein = pen.rein()
        because = f"on the {rein} rein " if rein and rein != ride.side else ""
        raise RideError(
            f"{because}a {ride.kind} {ride.side} of {ride.size_m:g} m at {ride.letters[0]} "
            "leaves the arena"
        )


def half_circle(pen: Pen, ride: Ride) -> Stretch:
    """Half a circle from letter to letter, with a straight where it touches on one side only.

    Its width is the line's own. From E to B a 20 m half circle touches the boards on both sides
    and is two offsets narrower; from A to X it touches them on one side and ends in the middle of
    the school, so that it is one offset narrower: who rides it rightly is 19.2 m wide there, not
    18.4 m, when she goes 0.8 m inside the boards. The radius is the 20 m circle's in both.
    """
    side, nominal = sided(ride), sized(ride)
    first, last = ride.letters
    _half_fits(pen, ride)
    here, sign = pen.here, SIGN[side]
    ahead, left = here.seen(pen.place(last))
    if abs(ahead) > CLOSE_M or left * sign <= 0:
        raise RideError(
            f"a half circle {side} from {first} does not lead to {last} on this heading"
        )
    if not pen.is_exact():
        raise RideError("there is no room: the turn before is not finished there")
    span = abs(left)
    radius = (nominal - pen.offset_m * (2 if nominal >= 2 * HALF_WIDTH_M else 1)) / 2.0
    radius = min(radius, span / 2.0)
    bottom = here.turned(sign * math.pi / 2).ahead(span / 2)
    _inside(pen, ride, bottom.point, 0.0)
    furthest = bottom.turned(-sign * math.pi / 2).ahead(radius)
    _inside(pen, ride, furthest.point, 0.0)
    start = pen.length_m
    _u_turn(pen, radius, span, sign)
    return stretch_of(
        pen, ride, start, rein=side, centre_m=bottom.point, radius_m=radius, width_m=span
    )


def _half_fits(pen: Pen, ride: Ride) -> None:
    points = [LETTERS[pen.size][letter] for letter in ride.letters]
    apart = math.dist(*points)
    if abs(apart - sized(ride)) > 0.01:
        raise RideError(
            f"{ride.letters[0]} to {ride.letters[1]} is {apart:.3g} m, "
            f"not {ride.size_m:g} m: the figure does not fit its letters"
        )


def _u_turn(pen: Pen, radius: float, span: float, sign: float) -> None:
    """Half a circle, with a straight in its middle where the way back lies further off."""
    pen.add(arc(pen.here, radius, sign * math.pi / 2))
    pen.add(straight(pen.here, max(span - 2 * radius, 0.0)))
    pen.add(arc(pen.here, radius, sign * math.pi / 2))


def serpentine(pen: Pen, ride: Ride) -> Stretch:
    """Equal loops: half circles joined by straights across the school."""
    side, first = sided(ride), ride.letters[0]
    rein = pen.rein()
    if rein is None:
        raise RideError(f"the heading does not join at {first}: a serpentine starts on the track")
    if rein != side:
        raise RideError(f"on the {rein} rein the first turn at {first} goes to the {rein}")
    span = 2 * pen.half_length_m / ride.loops
    radius = min(span / 2.0, pen.half_width_m)
    across = pen.half_width_m - radius
    start, sign = pen.length_m, SIGN[side]
    for number in range(ride.loops):
        pen.add(straight(pen.here, across if number == 0 else 2 * across))
        _u_turn(pen, radius, span, sign)
        sign = -sign
    pen.add(straight(pen.here, across))
    _settle(pen, ride.letters[1])
    return stretch_of(pen, ride, start, rein=side, radius_m=radius, width_m=span, loops=ride.loops)


def loop(pen: Pen, ride: Ride) -> Stretch:
    """A single loop off the track: three arcs of one radius, tan(a/2) = depth / half length."""
    first, last = ride.letters
    rein = pen.rein()
    x0, x1 = (LETTERS[pen.size][letter][0] for letter in ride.letters)
    if rein is None:
        raise RideError(f"the heading does not join at {first}: a loop leaves the track")
    if x0 != x1 or x0 == 0:
        raise RideError(f"{first} and {last} are not on one long side")
    ahead, _ = pen.here.seen(pen.place(last))
    if ahead <= 0:
        raise RideError(f"on the {rein} rein {last} lies behind {first}")
    depth = sized(ride) - pen.offset_m
    bend = 2 * math.atan(depth / (ahead / 2))
    radius = ahead / 4 / math.sin(bend)
    if bend > math.radians(75):
        raise RideError(f"a loop of {ride.size_m:g} m is too deep between {first} and {last}")
    start, sign = pen.length_m, SIGN[rein]
    for turn in (bend, -2 * bend, bend):
        pen.add(arc(pen.here, radius, sign * turn))
    _settle(pen, last)
    return stretch_of(pen, ride, start, rein=rein, radius_m=radius)


def _settle(pen: Pen, letter: str) -> None:
    """Put the vertex exactly on its letter (rounding of long chains)."""
    heading = round(pen.here.heading_rad / (math.pi / 2)) * math.pi / 2
    x, y = pen.place(letter)
    pen.vertex = Pose(x_m=x, y_m=y, heading_rad=heading)
