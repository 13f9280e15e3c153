"""The figures, drawn: one function per kind of term.

Sizes are board to board in the sheet and the rider's own here: a figure that touches the
boards on both sides is two track offsets smaller, one that touches on one side by one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Final

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS
from track.layout import Stretch, StretchKind
from track.lines import Pose, arc, bearing_rad, straight, turn_to_tangent, wrapped
from track.pen import JOINT_RADIUS_M, TURN_RADIUS_M, Pen, RideError
from track.sheet import Rein
from track.terms import Ride

_CLOSE_M: Final = 1e-6
_SIGN: Final[Mapping[Rein, float]] = {"left": 1.0, "right": -1.0}


def draw(pen: Pen, ride: Ride) -> Stretch:
    """Ride one term from where the pen is (already at the term's first letter).

    Raises
    ------
    RideError
    """
    return _DRAWN[ride.kind](pen, ride)


def _line(pen: Pen, ride: Ride) -> Stretch:
    first, last = ride.letters[0], ride.letters[-1]
    _in_line(pen, ride)
    way = bearing_rad(LETTERS[pen.size][first], LETTERS[pen.size][last])
    if abs(wrapped(way - pen.here.heading_rad)) > 1e-6:
        raise RideError(
            f"the heading does not join at {first}: ride 'turn left at {first}' or "
            f"'turn right at {first}' first"
        )
    start = pen.length_m
    pen.go_straight(pen.place(last))
    return _stretch(pen, ride, start, straight_m=(start, pen.length_m))


def _in_line(pen: Pen, ride: Ride) -> None:
    """Refuse letters that do not lie one behind the other on one straight line."""
    points = [LETTERS[pen.size][letter] for letter in ride.letters]
    way = bearing_rad(points[0], points[-1])
    start = Pose(x_m=points[0][0], y_m=points[0][1], heading_rad=way)
    seen = [start.seen(point) for point in points]
    straight_on = all(b[0] - a[0] > _CLOSE_M for a, b in pairwise(seen))
    if not straight_on or any(abs(left) > _CLOSE_M for _, left in seen):
        raise RideError(f"{' '.join(ride.letters)} do not lie on one straight line")


def _track(pen: Pen, ride: Ride) -> Stretch:
    rein = pen.rein()
    first = ride.letters[0]
    if rein is None:
        raise RideError(
            f"the heading does not join the track at {first}: ride 'turn left at {first}' or "
            f"'turn right at {first}' first"
        )
    for a, b in pairwise(ride.letters):
        wanted = shorter_way(pen, a, b) or rein
        if wanted != rein:
            raise RideError(f"{a} to {b} is on the {wanted} rein, and the rider is on the {rein}")
    start = pen.length_m
    for letter in ride.letters[1:]:
        pen.go_along(letter)
    return _stretch(pen, ride, start, rein=rein)


def shorter_way(pen: Pen, a: str, b: str) -> Rein | None:
    """The rein on which one letter of the edge is nearer to another; None when it is equal."""
    lap = pen.lap
    for letter in (a, b):
        if letter not in lap:
            raise RideError(f"{letter} is not on the track; allowed: {' '.join(lap)}")
    half = HALF_LENGTH_M[pen.size]
    around = {letter: _along_edge_m(LETTERS[pen.size][letter], half) for letter in lap}
    lap_m = 4 * (HALF_WIDTH_M + half)
    clockwise = (around[b] - around[a]) % lap_m
    if math.isclose(clockwise, lap_m / 2):
        return None
    return "right" if clockwise < lap_m / 2 else "left"


def _along_edge_m(point: tuple[float, float], half: float) -> float:
    """Distance along the edge from A, clockwise."""
    x, y = point
    if y == -half:
        return -x
    if y == half:
        return HALF_WIDTH_M * 2 + 2 * half + x
    return HALF_WIDTH_M + (half + y if x < 0 else 2 * half + 2 * HALF_WIDTH_M + half - y)


def _turn(pen: Pen, ride: Ride) -> Stretch:
    side = _sided(ride)
    letter = ride.letters[0]
    angle = _SIGN[side] * math.pi / 2
    after = pen.here.turned(angle)
    rein_before = pen.rein()
    if not pen.rein(after) and _room_m(pen, after) < TURN_RADIUS_M - _CLOSE_M:
        other = "right" if side == "left" else "left"
        on = f"on the {rein_before} rein " if rein_before else ""
        raise RideError(f"{on}a turn {side} at {letter} leaves the arena; allowed: turn {other}")
    room = pen.room_to_corner_m(after) if pen.rein(after) else _room_m(pen, after)
    joint = pen.turn(angle, TURN_RADIUS_M, room)
    return _stretch(
        pen,
        ride,
        joint.start_m,
        end_m=joint.middle_m,
        rein=side,
        arc_m=(joint.start_m, joint.end_m),
    )


def _room_m(pen: Pen, pose: Pose) -> float:
    """How far one can go straight on before the boards."""
    c, s = math.cos(pose.heading_rad), math.sin(pose.heading_rad)
    if abs(c) > abs(s):
        return pen.half_width_m - pose.x_m * math.copysign(1.0, c)
    return pen.half_length_m - pose.y_m * math.copysign(1.0, s)


def _circle(pen: Pen, ride: Ride) -> Stretch:
    side, nominal = _sided(ride), _sized(ride)
    radius = (nominal - pen.offset_m * _touching(pen, nominal, side)) / 2.0
    here = pen.here
    if not pen.is_exact():
        raise RideError("there is no room: the turn before is not finished there")
    centre = here.turned(_SIGN[side] * math.pi / 2).ahead(radius).point
    _inside(pen, ride, centre, radius)
    start = pen.length_m
    pen.add(arc(here, radius, _SIGN[side] * 2 * math.pi))
    pen.vertex = here
    return _stretch(
        pen, ride, start, rein=side, centre_m=centre, radius_m=radius, width_m=2 * radius
    )


def _touching(pen: Pen, nominal: float, side: Rein) -> int:
    """How many offsets smaller the rider's circle is than the sheet's."""
    if nominal >= 2 * HALF_WIDTH_M:
        return 2
    if pen.rein() is not None:
        return 1
    across = pen.here.turned(_SIGN[side] * math.pi / 2)
    return 1 if nominal >= _room_m(pen, across) + pen.offset_m - _CLOSE_M else 0


def _inside(pen: Pen, ride: Ride, centre: tuple[float, float], radius: float) -> None:
    wide = abs(centre[0]) + radius > pen.half_width_m + 1e-3
    if wide or abs(centre[1]) + radius > pen.half_length_m + 1e-3:
        rein = pen.rein()
        because = f"on the {rein} rein " if rein and rein != ride.side else ""
        raise RideError(
            f"{because}a {ride.kind} {ride.side} of {ride.size_m:g} m at {ride.letters[0]} "
            "leaves the arena"
        )


def _half_circle(pen: Pen, ride: Ride) -> Stretch:
    side, nominal = _sided(ride), _sized(ride)
    first, last = ride.letters
    _half_fits(pen, ride)
    here, sign = pen.here, _SIGN[side]
    ahead, left = here.seen(pen.place(last))
    if abs(ahead) > _CLOSE_M or left * sign <= 0:
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
    return _stretch(
        pen, ride, start, rein=side, centre_m=bottom.point, radius_m=radius, width_m=span
    )


def _half_fits(pen: Pen, ride: Ride) -> None:
    points = [LETTERS[pen.size][letter] for letter in ride.letters]
    apart = math.dist(*points)
    if abs(apart - _sized(ride)) > 0.01:
        raise RideError(
            f"{ride.letters[0]} to {ride.letters[1]} is {apart:.3g} m, "
            f"not {ride.size_m:g} m: the figure does not fit its letters"
        )


def _u_turn(pen: Pen, radius: float, span: float, sign: float) -> None:
    """Half a circle, with a straight in its middle where the way back lies further off."""
    pen.add(arc(pen.here, radius, sign * math.pi / 2))
    pen.add(straight(pen.here, max(span - 2 * radius, 0.0)))
    pen.add(arc(pen.here, radius, sign * math.pi / 2))


def _return(pen: Pen, ride: Ride) -> Stretch:
    letter = ride.letters[0]
    goal = pen.place(letter)
    last = pen.pieces[-1] if pen.pieces else None
    if last is None or last.curvature_1m == 0 or not pen.is_exact():
        raise RideError("a return follows a half circle")
    if pen.rein() is not None:
        raise RideError("the half circle already ends on the track: no return is needed")
    if letter not in pen.lap:
        raise RideError(f"{letter} is not on the track; allowed: {' '.join(pen.lap)}")
    try:
        angle, _ = turn_to_tangent(pen.here, 1.0 / abs(last.curvature_1m), goal)
    except ValueError:
        raise RideError(f"{letter} is too near to return to") from None
    if abs(angle) > math.radians(80):
        raise RideError(f"{letter} lies behind: a return leads on to a letter ahead")
    start = pen.length_m
    pen.add(arc(pen.here, 1.0 / abs(last.curvature_1m), angle))
    run_from = pen.length_m
    pen.go_straight(goal)
    joint = _join_track(pen, letter)
    return _stretch(
        pen, ride, start, end_m=joint[1], rein=pen.rein(), straight_m=(run_from, joint[0])
    )


def _join_track(pen: Pen, letter: str) -> tuple[float, float]:
    """From an oblique line onto the track at a letter; where the arc starts, and its middle."""
    here = pen.here
    ways = [k * math.pi / 2 - here.heading_rad for k in range(4)]
    along = [wrapped(a) for a in ways if pen.rein(here.turned(wrapped(a))) is not None]
    angle = min(along, key=abs)
    if abs(angle) > math.radians(75):
        raise RideError(f"the line meets the track at {letter} too steeply")
    joint = pen.turn(angle, JOINT_RADIUS_M, pen.room_to_corner_m(here.turned(angle)))
    return joint.start_m, joint.middle_m


def _diagonal(pen: Pen, ride: Ride) -> Stretch:
    first, last = ride.letters[0], ride.letters[-1]
    _in_line(pen, ride)
    rein = pen.rein()
    (x0, _), (x1, _) = LETTERS[pen.size][first], LETTERS[pen.size][last]
    if x0 != -x1 or x0 == 0:
        raise RideError(f"{first} and {last} are not on opposite long sides")
    ahead, left = pen.here.seen(pen.place(last))
    if rein is None:
        raise RideError(f"the heading does not join at {first}: a diagonal leaves the track")
    if ahead <= 0 or left * _SIGN[rein] <= 0:
        raise RideError(f"on the {rein} rein a diagonal from {first} cannot lead back to {last}")
    leave = pen.turn_towards(pen.place(last), JOINT_RADIUS_M)
    arrive = _join_track(pen, last)
    return _stretch(pen, ride, leave.middle_m, end_m=arrive[1], straight_m=(leave.end_m, arrive[0]))


def _serpentine(pen: Pen, ride: Ride) -> Stretch:
    side, first = _sided(ride), ride.letters[0]
    rein = pen.rein()
    if rein is None:
        raise RideError(f"the heading does not join at {first}: a serpentine starts on the track")
    if rein != side:
        raise RideError(f"on the {rein} rein the first turn at {first} goes to the {rein}")
    span = 2 * pen.half_length_m / ride.loops
    radius = min(span / 2.0, pen.half_width_m)
    across = pen.half_width_m - radius
    start, sign = pen.length_m, _SIGN[side]
    for number in range(ride.loops):
        pen.add(straight(pen.here, across if number == 0 else 2 * across))
        _u_turn(pen, radius, span, sign)
        sign = -sign
    pen.add(straight(pen.here, across))
    _settle(pen, ride.letters[1])
    return _stretch(pen, ride, start, rein=side, radius_m=radius, width_m=span, loops=ride.loops)


def _loop(pen: Pen, ride: Ride) -> Stretch:
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
    depth = _sized(ride) - pen.offset_m
    bend = 2 * math.atan(depth / (ahead / 2))
    radius = ahead / 4 / math.sin(bend)
    if bend > math.radians(75):
        raise RideError(f"a loop of {ride.size_m:g} m is too deep between {first} and {last}")
    start, sign = pen.length_m, _SIGN[rein]
    for turn in (bend, -2 * bend, bend):
        pen.add(arc(pen.here, radius, sign * turn))
    _settle(pen, last)
    return _stretch(pen, ride, start, rein=rein, radius_m=radius)


def _settle(pen: Pen, letter: str) -> None:
    """Put the vertex exactly on its letter (rounding of long chains)."""
    heading = round(pen.here.heading_rad / (math.pi / 2)) * math.pi / 2
    x, y = pen.place(letter)
    pen.vertex = Pose(x_m=x, y_m=y, heading_rad=heading)


def _sided(ride: Ride) -> Rein:
    if ride.side is None:
        raise RideError("left or right is missing")
    return ride.side


def _sized(ride: Ride) -> float:
    if ride.size_m is None:
        raise RideError("the size is missing")
    return ride.size_m


def _stretch(
    pen: Pen,
    ride: Ride,
    start_m: float,
    *,
    end_m: float | None = None,
    rein: Rein | None = None,
    centre_m: tuple[float, float] | None = None,
    radius_m: float | None = None,
    width_m: float | None = None,
    loops: int = 0,
    arc_m: tuple[float, float] | None = None,
    straight_m: tuple[float, float] | None = None,
) -> Stretch:
    return Stretch(
        kind=ride.kind,
        text=ride.text,
        start_m=start_m,
        end_m=pen.length_m if end_m is None else end_m,
        rein=rein,
        nominal_m=ride.size_m,
        centre_m=centre_m,
        radius_m=radius_m,
        width_m=width_m,
        loops=loops,
        arc_m=arc_m,
        straight_m=straight_m,
    )


_DRAWN: Final[Mapping[StretchKind, Callable[[Pen, Ride], Stretch]]] = {
    "line": _line,
    "track": _track,
    "turn": _turn,
    "circle": _circle,
    "half circle": _half_circle,
    "return": _return,
    "diagonal": _diagonal,
    "serpentine": _serpentine,
    "loop": _loop,
}
