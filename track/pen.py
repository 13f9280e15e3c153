"""The pen that draws an ideal line: where the rider is, on which rein, and how she goes on."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, Size
from track.layout import Corner
from track.lines import (
    Piece,
    Point,
    Pose,
    arc,
    joint_length_m,
    straight,
    turn_to_tangent,
    wrapped,
)
from track.sheet import Rein

TURN_RADIUS_M: Final = 5.0
"""A right-angle turn is a quarter of a 10 m circle [common practice]."""
JOINT_RADIUS_M: Final = 5.0
"""Radius with which a diagonal leaves and joins the track [common practice]."""
LEAST_RADIUS_M: Final = 1.0
"""Where the room is short (a turn at K just after the corner) a turn may be this tight; below,
it is called impossible."""
LEAST_TURN_OFF_M: Final = 2.0
"""Radius of a turn straight after a circle, at the least."""
_CLOSE_M: Final = 1e-6
_OVERRUN_M: Final = 1.5
"""A turn may end so far beyond a letter of the next line: D, when the rider is far inside."""
_LAP: Final = "AKVESHCMRBPF"


class RideError(ValueError):
    """Something that cannot be ridden; the message says what can."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """An arc between two straights: distances along the line, metres."""

    start_m: float
    middle_m: float
    end_m: float


@dataclass(slots=True, kw_only=True)
class Pen:
    """A line being drawn.

    Attributes
    ----------
    size, offset_m, corner_radius_m
        The arena, the rider's distance from the boards, and how corners are ridden.
    pieces : list of Piece
    length_m : float, m
    vertex : Pose or None
        Where the rider would be had the last corner not been rounded; None before the first
        term, or when a fault has made the place unknown.
    corners : list of Corner
    """

    size: Size
    offset_m: float
    corner_radius_m: float
    pieces: list[Piece] = field(default_factory=list)
    length_m: float = 0.0
    vertex: Pose | None = None
    corners: list[Corner] = field(default_factory=list)

    @property
    def half_width_m(self) -> float:
        """Of the rectangle the rider's body goes round, metres."""
        return HALF_WIDTH_M - self.offset_m

    @property
    def half_length_m(self) -> float:
        """Of the rectangle the rider's body goes round, metres."""
        return HALF_LENGTH_M[self.size] - self.offset_m

    @property
    def lap(self) -> str:
        """Letters of the edge, clockwise from A."""
        return "".join(letter for letter in _LAP if letter in LETTERS[self.size])

    @property
    def here(self) -> Pose:
        """The pose; a fault when it is unknown."""
        if self.vertex is None:
            raise RideError("the place where this starts is not known")
        return self.vertex

    def place(self, letter: str) -> Point:
        """Where the rider's body passes a letter: edge letters are moved inside the boards."""
        x, y = LETTERS[self.size][letter]
        w, h = self.half_width_m, self.half_length_m
        return max(-w, min(w, x)), max(-h, min(h, y))

    def is_at(self, letter: str) -> bool:
        """Whether the last vertex is this letter."""
        return self.vertex is not None and math.dist(self.here.point, self.place(letter)) < _CLOSE_M

    def is_exact(self) -> bool:
        """Whether the line drawn so far ends at the vertex (no rounded corner in between)."""
        return not self.pieces or math.dist(self.pieces[-1].end.point, self.here.point) < _CLOSE_M

    def rein(self, pose: Pose | None = None) -> Rein | None:
        """The rein one is on while going along the track, else None."""
        at = pose or self.here
        c, s = round(math.cos(at.heading_rad), 6), round(math.sin(at.heading_rad), 6)
        if abs(abs(at.x_m) - self.half_width_m) < _CLOSE_M and c == 0:
            return "left" if at.x_m * s > 0 else "right"
        if abs(abs(at.y_m) - self.half_length_m) < _CLOSE_M and s == 0:
            return "left" if at.y_m * c < 0 else "right"
        return None

    def add(self, *pieces: Piece) -> None:
        """Draw pieces; the vertex moves to their end."""
        for piece in pieces:
            if piece.length_m > 0:
                self.pieces.append(piece)
                self.length_m += piece.length_m
            self.vertex = piece.end

    def go_straight(self, goal: Point) -> None:
        """Straight on to a point that lies ahead."""
        if abs(self.here.seen(goal)[1]) > 1e-3:
            raise RideError("the heading does not join")
        start = self.pieces[-1].end if self.pieces else self.here
        run = start.seen(goal)[0]
        if run < -_OVERRUN_M:
            raise RideError("there is no room: the turn before is not finished there")
        heading = self.here.heading_rad
        self.add(straight(start, max(run, 0.0)))
        self.vertex = Pose(x_m=goal[0], y_m=goal[1], heading_rad=heading)

    def turn(self, angle_rad: float, radius_m: float, room_m: float = math.inf) -> Joint:
        """Round the corner at the vertex, with a smaller radius where the room is short.

        Parameters
        ----------
        angle_rad : float, rad
            Left positive.
        radius_m : float, m
            Wanted.
        room_m : float, m
            What may be used of the straight that follows.
        """
        vertex = self.here
        if abs(angle_rad) < 1e-9:
            return Joint(start_m=self.length_m, middle_m=self.length_m, end_m=self.length_m)
        last = self.pieces[-1] if self.pieces else None
        before = last.length_m if last and last.curvature_1m == 0 else 0.0
        reach = min(joint_length_m(radius_m, angle_rad), before, room_m)
        radius = reach / math.tan(abs(angle_rad) / 2.0)
        if last is None or radius < min(LEAST_RADIUS_M, radius_m) - _CLOSE_M:
            raise RideError("there is no room for the turn")
        self.pieces[-1] = straight(last.start, before - reach)
        self.length_m -= reach
        start = self.length_m
        bend = arc(self.pieces[-1].end, radius, angle_rad)
        self.add(bend)
        self.vertex = vertex.turned(angle_rad)
        return Joint(
            start_m=start, middle_m=start + bend.length_m / 2.0, end_m=start + bend.length_m
        )

    def is_on_arc(self) -> bool:
        """Whether a circle or half circle ended just here."""
        return bool(self.pieces) and self.pieces[-1].curvature_1m != 0 and self.is_exact()

    def turn_off(self, angle_rad: float) -> Joint:
        """Turn a right angle at the vertex where a round figure ended.

        There is no straight to turn from: the figure gives up its last part. An arc of a third
        of its radius R, never under 2 m, leaves it and comes to touch the line that follows. The
        closed form of tangent circles is sin(a) = r / (R - r) for a turn to the figure's own
        side, which for r = R / 3 is 30° before its end, and sin(a) = r / (R + r) to the other.

        Parameters
        ----------
        angle_rad : float, rad
            A right angle, left positive.
        """
        vertex, last = self.here, self.pieces[-1]
        figure_m = 1.0 / abs(last.curvature_1m)
        radius = max(figure_m / 3.0, LEAST_TURN_OFF_M)
        side = math.copysign(1.0, last.curvature_1m)
        same = side == math.copysign(1.0, angle_rad)
        sine = radius / (figure_m - radius if same else figure_m + radius)
        given_up = math.asin(min(sine, 1.0))
        if sine >= 1.0 or last.length_m < 2 * given_up * figure_m:
            raise RideError("there is no room for the turn")
        kept = arc(last.start, figure_m, side * (last.length_m / figure_m - given_up))
        self.pieces[-1] = kept
        self.length_m += kept.length_m - last.length_m
        start = self.length_m
        bend = arc(kept.end, radius, angle_rad + side * given_up)
        self.add(bend)
        self.vertex = vertex.turned(angle_rad)
        return Joint(
            start_m=start, middle_m=start + bend.length_m / 2.0, end_m=start + bend.length_m
        )

    def turn_towards(self, goal: Point, radius_m: float) -> Joint:
        """Turn at the vertex onto the straight line to a point, and ride it.

        Where no straight comes before (a circle ended here), the arc begins at the vertex.
        """
        ahead, left = self.here.seen(goal)
        angle = math.atan2(left, ahead)
        before = self.pieces[-1].length_m if self._on_straight() else 0.0
        if before > joint_length_m(LEAST_RADIUS_M, angle):
            joint = self.turn(angle, radius_m)
        else:
            joint = self._turn_from_here(goal, radius_m)
        self.go_straight(goal)
        return joint

    def _turn_from_here(self, goal: Point, radius_m: float) -> Joint:
        if not self.is_exact():
            raise RideError("there is no room: the turn before is not finished there")
        try:
            angle, _ = turn_to_tangent(self.here, radius_m, goal)
        except ValueError:
            raise RideError("there is no room for the turn") from None
        start = self.length_m
        self.add(arc(self.here, radius_m, angle))
        return Joint(start_m=start, middle_m=(start + self.length_m) / 2, end_m=self.length_m)

    def _on_straight(self) -> bool:
        return bool(self.pieces) and self.pieces[-1].curvature_1m == 0

    def go_along(self, letter: str) -> str:
        """Along the track on the rein one is on, corners ridden; letters passed, with the ends."""
        rein = self.rein()
        if rein is None:
            raise RideError("not on the track")
        goal = self.place(letter)
        passed = self._letters_to(letter, rein)
        for _ in range(5):
            ahead, left = self.here.seen(goal)
            if abs(left) < _CLOSE_M and ahead > -_CLOSE_M:
                self.go_straight(goal)
                return passed
            self._corner(rein)
        raise RideError(f"{letter} is not on the track")

    def beyond_corner(self) -> str:
        """The first letter after the next corner of the track."""
        rein = self.rein()
        if rein is None:
            raise RideError("no corner lies ahead: not on the track")
        here = self.here
        beyond = here.ahead(self.room_to_corner_m(here) + self.corner_radius_m)
        side = beyond.turned(math.pi / 2 if rein == "left" else -math.pi / 2)
        ahead = {a: side.seen(self.place(a)) for a in self.lap}
        on_side = {a: p[0] for a, p in ahead.items() if abs(p[1]) < _CLOSE_M}
        return min(on_side, key=lambda letter: on_side[letter])

    def room_to_corner_m(self, pose: Pose) -> float:
        """Straight track left before the next corner's arc, metres."""
        half = self.half_width_m if abs(math.cos(pose.heading_rad)) > 0.5 else self.half_length_m
        along = pose.x_m * math.cos(pose.heading_rad) + pose.y_m * math.sin(pose.heading_rad)
        return half - along - self.corner_radius_m

    def _corner(self, rein: Rein) -> None:
        here = self.here
        run = self.room_to_corner_m(here) + self.corner_radius_m
        self.go_straight(here.ahead(run).point)
        angle = math.pi / 2 if rein == "left" else -math.pi / 2
        joint = self.turn(angle, self.corner_radius_m)
        self.corners.append(
            Corner(
                x_m=self.here.x_m,
                y_m=self.here.y_m,
                start_m=joint.start_m,
                end_m=joint.end_m,
                rein=rein,
            )
        )

    def _letters_to(self, letter: str, rein: Rein) -> str:
        lap = self.lap if rein == "right" else self.lap[::-1]
        if letter not in lap:
            raise RideError(f"{letter} is not on the track; allowed: {' '.join(self.lap)}")
        at = next((place for place in lap if self.is_at(place)), None)
        first = at or self._next_letter(lap)
        turned = lap[lap.index(first) :] + lap[: lap.index(first)]
        rest = turned[1:] + turned[0] if at and at != letter else turned
        passed = rest[: rest.index(letter) + 1]
        return (at or "") + passed if at != letter else letter

    def _next_letter(self, lap: str) -> str:
        """The first letter ahead on the track."""
        here = self.here
        ahead = {letter: here.seen(self.place(letter)) for letter in lap}
        on_side = {a: p[0] for a, p in ahead.items() if abs(p[1]) < _CLOSE_M and p[0] > 0}
        if on_side:
            return min(on_side, key=lambda letter: on_side[letter])
        return self.beyond_corner()


def quarter_turns(angle_rad: float) -> float:
    """How many right angles an angle is, signed.

    Examples
    --------
    >>> quarter_turns(-math.pi / 2)
    -1.0
    """
    return wrapped(angle_rad) / (math.pi / 2)
