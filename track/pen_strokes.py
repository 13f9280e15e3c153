"""The strokes an ideal line is drawn with: straights, and turns that join them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final

from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, Size
from track.lines import (
    Piece,
    Point,
    Pose,
    arc,
    joint_length_m,
    straight,
    turn_to_tangent,
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
CLOSE_M: Final = 1e-6
"""Points nearer than this are one."""
_OVERRUN_M: Final = 1.5
"""A turn may end so far beyond a letter of the next line: D, when the rider is far inside."""


class RideError(ValueError):
    """Something that cannot be ridden; the message says what can."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """An arc between two straights: distances along the line, metres."""

    start_m: float
    middle_m: float
    end_m: float


@dataclass(slots=True, kw_only=True)
class Strokes:
    """A line being drawn.

    Attributes
    ----------
    size, offset_m
        The arena, and the rider's distance from the boards.
    pieces : list of Piece
    length_m : float, m
    vertex : Pose or None
        Where the rider would be had the last corner not been rounded; None before the first
        term, or when a fault has made the place unknown.
    """

    size: Size
    offset_m: float
    pieces: list[Piece] = field(default_factory=list)
    length_m: float = 0.0
    vertex: Pose | None = None

    @property
    def half_width_m(self) -> float:
        """Of the rectangle the rider's body goes round, metres."""
        return HALF_WIDTH_M - self.offset_m

    @property
    def half_length_m(self) -> float:
        """Of the rectangle the rider's body goes round, metres."""
        return HALF_LENGTH_M[self.size] - self.offset_m

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
        return self.vertex is not None and math.dist(self.here.point, self.place(letter)) < CLOSE_M

    def is_exact(self) -> bool:
        """Whether the line drawn so far ends at the vertex (no rounded corner in between)."""
        return not self.pieces or math.dist(self.pieces[-1].end.point, self.here.point) < CLOSE_M

    def rein(self, pose: Pose | None = None) -> Rein | None:
        """The rein one is on while going along the track, else None."""
        at = pose or self.here
        c, s = round(math.cos(at.heading_rad), 6), round(math.sin(at.heading_rad), 6)
        if abs(abs(at.x_m) - self.half_width_m) < CLOSE_M and c == 0:
            return "left" if at.x_m * s > 0 else "right"
        if abs(abs(at.y_m) - self.half_length_m) < CLOSE_M and s == 0:
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
        if last is None or radius < min(LEAST_RADIUS_M, radius_m) - CLOSE_M:
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
