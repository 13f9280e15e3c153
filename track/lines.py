"""Pieces of the ideal line: straights and circular arcs, joined without a kink.

Every ideal line is a chain of pieces of constant curvature, so lengths and end points have
closed forms: with heading h, curvature k and s metres ridden,

    x(s) = x0 + (sin(h + k s) - sin h) / k,    y(s) = y0 - (cos(h + k s) - cos h) / k,

and a straight in the limit k -> 0.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from track.path import Floats

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """A place and the way one faces there.

    Attributes
    ----------
    x_m, y_m : float, m
    heading_rad : float, rad
        0 along +x, anticlockwise positive.
    """

    x_m: float
    y_m: float
    heading_rad: float

    @property
    def point(self) -> Point:
        """The place alone, metres."""
        return self.x_m, self.y_m

    def ahead(self, distance_m: float) -> Pose:
        """The pose after going straight on.

        Examples
        --------
        >>> Pose(x_m=0.0, y_m=1.0, heading_rad=0.0).ahead(2.0).point
        (2.0, 1.0)
        """
        return Pose(
            x_m=self.x_m + distance_m * math.cos(self.heading_rad),
            y_m=self.y_m + distance_m * math.sin(self.heading_rad),
            heading_rad=self.heading_rad,
        )

    def turned(self, angle_rad: float) -> Pose:
        """The same place, facing another way (left positive)."""
        return Pose(x_m=self.x_m, y_m=self.y_m, heading_rad=self.heading_rad + angle_rad)

    def seen(self, point: Point) -> Point:
        """A point as seen from here: metres ahead, and metres to the left."""
        dx, dy = point[0] - self.x_m, point[1] - self.y_m
        c, s = math.cos(self.heading_rad), math.sin(self.heading_rad)
        return dx * c + dy * s, dy * c - dx * s


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A straight (``curvature_1m == 0``) or an arc.

    Attributes
    ----------
    start : Pose
    curvature_1m : float, 1/m
        Left positive.
    length_m : float, m
    """

    start: Pose
    curvature_1m: float
    length_m: float

    @property
    def end(self) -> Pose:
        """Pose at the end of the piece."""
        x, y, heading = self.at(np.array([self.length_m]))
        return Pose(x_m=float(x[0]), y_m=float(y[0]), heading_rad=float(heading[0]))

    def at(self, s_m: Floats) -> tuple[Floats, Floats, Floats]:
        """x, y in metres and heading in radians at distances from the piece's start."""
        start, k = self.start, self.curvature_1m
        h = start.heading_rad
        heading = h + k * s_m
        if k == 0:
            return start.x_m + s_m * math.cos(h), start.y_m + s_m * math.sin(h), heading
        return (
            start.x_m + (np.sin(heading) - math.sin(h)) / k,
            start.y_m - (np.cos(heading) - math.cos(h)) / k,
            heading,
        )


def straight(start: Pose, length_m: float) -> Piece:
    """Straight on from a pose."""
    return Piece(start=start, curvature_1m=0.0, length_m=length_m)


def arc(start: Pose, radius_m: float, turn_rad: float) -> Piece:
    """An arc from a pose, through an angle (left positive).

    Examples
    --------
    A quarter of a 10 m circle to the left, from X towards C:

    >>> end = arc(Pose(x_m=0.0, y_m=0.0, heading_rad=math.pi / 2), 5.0, math.pi / 2).end
    >>> round(end.x_m, 9), round(end.y_m, 9)
    (-5.0, 5.0)
    """
    return Piece(
        start=start,
        curvature_1m=math.copysign(1.0 / radius_m, turn_rad),
        length_m=radius_m * abs(turn_rad),
    )


def joint_length_m(radius_m: float, turn_rad: float) -> float:
    """How far before (and after) the corner point an arc that rounds a corner begins."""
    return radius_m * math.tan(abs(turn_rad) / 2.0)


def wrapped(angle_rad: float) -> float:
    """The same direction within (-pi, pi]."""
    return -((-angle_rad + math.pi) % (2.0 * math.pi) - math.pi)


def bearing_rad(start: Point, end: Point) -> float:
    """Heading from one point to another."""
    return math.atan2(end[1] - start[1], end[0] - start[0])


def turn_to_tangent(pose: Pose, radius_m: float, goal: Point) -> tuple[float, float]:
    """Arc from a pose after which straight on leads to a point.

    Returns
    -------
    (float, float)
        Turn in radians (left positive; the side on which the point lies), and the length in
        metres of the straight that follows.

    Raises
    ------
    ValueError
        The point lies inside the arc's circle.
    """
    ahead, left = pose.seen(goal)
    side = 1.0 if left >= 0 else -1.0
    dx, dy = ahead, side * left - radius_m
    distance = math.hypot(dx, dy)
    if distance < radius_m:
        raise ValueError("inside the turning circle")
    run = math.sqrt(distance**2 - radius_m**2)
    turn = math.atan2(dy, dx) + math.atan2(radius_m, run)
    return side * (turn % (2.0 * math.pi)), run


def sample(pieces: Sequence[Piece], s_m: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """x, y, heading and curvature of a chain of pieces at distances from its start.

    At a join the later piece counts; beyond the end the last piece goes on.
    """
    ends = np.cumsum([piece.length_m for piece in pieces])
    starts = np.concatenate([[0.0], ends[:-1]])
    which = np.minimum(np.searchsorted(ends, s_m + 1e-9, side="right"), len(pieces) - 1)
    x, y, heading, curvature = (np.empty_like(s_m) for _ in range(4))
    for index in np.unique(which).tolist():
        here = which == index
        x[here], y[here], heading[here] = pieces[index].at(s_m[here] - starts[index])
        curvature[here] = pieces[index].curvature_1m
    return x, y, heading, curvature
