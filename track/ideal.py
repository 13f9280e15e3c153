"""The terms, drawn: lines, the track, turns, returns and diagonals; round figures elsewhere."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Final

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS
from track.ideal_parts import CLOSE_M, SIGN, room_m, sided, stretch_of
from track.ideal_round import circle, half_circle, loop, serpentine
from track.layout import Stretch, StretchKind
from track.lines import Pose, arc, bearing_rad, turn_to_tangent, wrapped
from track.pen import Pen
from track.pen_strokes import JOINT_RADIUS_M, TURN_RADIUS_M, RideError
from track.sheet import Rein
from track.terms import Ride


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
    return stretch_of(pen, ride, start, straight_m=(start, pen.length_m))


def _in_line(pen: Pen, ride: Ride) -> None:
    """Refuse letters that do not lie one behind the other on one straight line."""
    points = [LETTERS[pen.size][letter] for letter in ride.letters]
    way = bearing_rad(points[0], points[-1])
    start = Pose(x_m=points[0][0], y_m=points[0][1], heading_rad=way)
    seen = [start.seen(point) for point in points]
    straight_on = all(b[0] - a[0] > CLOSE_M for a, b in pairwise(seen))
    if not straight_on or any(abs(left) > CLOSE_M for _, left in seen):
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
    return stretch_of(pen, ride, start, rein=rein)


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
    side = sided(ride)
    letter = ride.letters[0]
    angle = SIGN[side] * math.pi / 2
    after = pen.here.turned(angle)
    rein_before = pen.rein()
    if not pen.rein(after) and room_m(pen, after) < TURN_RADIUS_M - CLOSE_M:
        other = "right" if side == "left" else "left"
        on = f"on the {rein_before} rein " if rein_before else ""
        raise RideError(f"{on}a turn {side} at {letter} leaves the arena; allowed: turn {other}")
    room = pen.room_to_corner_m(after) if pen.rein(after) else room_m(pen, after)
    joint = pen.turn_off(angle) if pen.is_on_arc() else pen.turn(angle, TURN_RADIUS_M, room)
    return stretch_of(
        pen,
        ride,
        joint.start_m,
        end_m=joint.middle_m,
        rein=side,
        arc_m=(joint.start_m, joint.end_m),
    )


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
    return stretch_of(
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
    if LETTERS[pen.size][first][1] == LETTERS[pen.size][last][1]:
        raise RideError(
            f"{first} to {last} is straight across, no diagonal: allowed: turn left|right at "
            f"{first}, turn left|right at {last}"
        )
    ahead, left = pen.here.seen(pen.place(last))
    if rein is None:
        raise RideError(f"the heading does not join at {first}: a diagonal leaves the track")
    if ahead <= 0 or left * SIGN[rein] <= 0:
        raise RideError(f"on the {rein} rein a diagonal from {first} cannot lead back to {last}")
    leave = pen.turn_towards(pen.place(last), JOINT_RADIUS_M)
    arrive = _join_track(pen, last)
    return stretch_of(
        pen, ride, leave.middle_m, end_m=arrive[1], straight_m=(leave.end_m, arrive[0])
    )


_DRAWN: Final[Mapping[StretchKind, Callable[[Pen, Ride], Stretch]]] = {
    "line": _line,
    "track": _track,
    "turn": _turn,
    "circle": circle,
    "half circle": half_circle,
    "return": _return,
    "diagonal": _diagonal,
    "serpentine": serpentine,
    "loop": loop,
}
