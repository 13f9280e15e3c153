"""Lines drawn from straights and arcs, and the shortest way from one pose to another."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from track.path import Floats

STEP_M: Final = 0.1


@dataclass(frozen=True, slots=True)
class Pose:
    """A place and the direction ridden there (arena frame, radians from +x)."""

    x_m: float
    y_m: float
    heading_rad: float


@dataclass(frozen=True, slots=True)
class Piece:
    """A straight (``curvature_1m`` 0) or an arc (left positive) of some length."""

    length_m: float
    curvature_1m: float = 0.0


@dataclass(frozen=True, slots=True)
class Line:
    """Points about 0.1 m apart, the first at the start pose and the last at the end pose."""

    x_m: Floats
    y_m: Floats
    end: Pose


def arc(angle_deg: float, radius_m: float) -> Piece:
    """An arc that turns by an angle, left positive."""
    angle_rad = float(np.radians(angle_deg))
    return Piece(abs(angle_rad) * radius_m, float(np.sign(angle_rad)) / radius_m)


def _chord(length_m: Floats | float, curvature_1m: float, pose: Pose) -> tuple[Floats, Floats]:
    half = np.asarray(length_m) * curvature_1m / 2.0
    chord = np.asarray(length_m) * np.sinc(half / np.pi)
    direction = pose.heading_rad + half
    return pose.x_m + chord * np.cos(direction), pose.y_m + chord * np.sin(direction)


def advance(pose: Pose, piece: Piece) -> Pose:
    """Where a piece that starts at ``pose`` ends.

    Examples
    --------
    >>> end = advance(Pose(0.0, 0.0, 0.0), arc(90.0, 3.0))
    >>> round(float(end.x_m), 6), round(float(end.y_m), 6)
    (3.0, 3.0)
    """
    x_m, y_m = _chord(piece.length_m, piece.curvature_1m, pose)
    heading = pose.heading_rad + piece.length_m * piece.curvature_1m
    return Pose(float(x_m), float(y_m), heading)


def trace(start: Pose, pieces: Iterable[Piece]) -> Line:
    """Draw pieces one after another from a pose; pieces of no length are passed over."""
    xs, ys = [np.array([start.x_m])], [np.array([start.y_m])]
    pose = start
    for piece in pieces:
        if piece.length_m < 1e-9:
            continue
        count = max(1, round(piece.length_m / STEP_M))
        along = np.linspace(0.0, piece.length_m, count + 1)[1:]
        x_m, y_m = _chord(along, piece.curvature_1m, pose)
        xs.append(x_m)
        ys.append(y_m)
        pose = advance(pose, piece)
    return Line(np.concatenate(xs), np.concatenate(ys), pose)


def _arc_straight_arc(
    start: Pose, end: Pose, first: int, last: int, radius_m: float
) -> tuple[Piece, ...] | None:
    """One of the four arc-straight-arc ways; None where it does not exist."""
    x0 = start.x_m - first * radius_m * np.sin(start.heading_rad)
    y0 = start.y_m + first * radius_m * np.cos(start.heading_rad)
    x1 = end.x_m - last * radius_m * np.sin(end.heading_rad)
    y1 = end.y_m + last * radius_m * np.cos(end.heading_rad)
    apart = float(np.hypot(x1 - x0, y1 - y0))
    direction = float(np.arctan2(y1 - y0, x1 - x0))
    straight = apart
    if first != last:
        if apart < 2.0 * radius_m:
            return None
        straight = float(np.sqrt(apart**2 - 4.0 * radius_m**2))
        direction += first * float(np.arcsin(2.0 * radius_m / apart))
    turn = 2.0 * np.pi
    first_rad = (first * (direction - start.heading_rad)) % turn
    last_rad = (last * (end.heading_rad - direction)) % turn
    return (
        Piece(_closed(first_rad) * radius_m, first / radius_m),
        Piece(straight),
        Piece(_closed(last_rad) * radius_m, last / radius_m),
    )


def _closed(angle_rad: float) -> float:
    """A full turn that is only rounding is no turn."""
    return 0.0 if 2.0 * np.pi - angle_rad < 1e-9 else float(angle_rad)


def ways(start: Pose, end: Pose, radius_m: float) -> Iterator[tuple[Piece, ...]]:
    """Every arc-straight-arc way between two poses with turns of one radius."""
    for first, last in product((1, -1), (1, -1)):
        way = _arc_straight_arc(start, end, first, last, radius_m)
        if way is not None:
            yield way


def connect(start: Pose, end: Pose, half_width_m: float, half_length_m: float) -> Line:
    """Ride from one pose to another by a short way that stays inside the boards.

    Arcs and a straight (Dubins, Am J Math 1957;79:497), radius 3 to 6 m; where each of them
    leaves the rectangle, two such ways by a pose on the centre line; the one that leaves it least.
    """

    def outside_m(line: Line) -> float:
        over_x = np.abs(line.x_m).max() - half_width_m
        over_y = np.abs(line.y_m).max() - half_length_m
        return float(max(over_x, over_y, 0.0))

    def best(candidates: Iterable[tuple[Piece, ...]]) -> tuple[float, float, Line]:
        drawn = ((trace(start, way), sum(piece.length_m for piece in way)) for way in candidates)
        judged = ((round(outside_m(line), 1), length_m, line) for line, length_m in drawn)
        return min(judged, key=lambda item: item[:2])

    direct = best(way for radius_m in (3.0, 4.0, 5.0, 6.0) for way in ways(start, end, radius_m))
    if direct[0] == 0.0:
        return direct[2]
    middles = (
        Pose(0.0, y_m, heading * np.pi / 2.0)
        for y_m in (-half_length_m / 2.0, 0.0, half_length_m / 2.0)
        for heading in range(4)
    )
    by_middle = best(
        (*first, *second)
        for middle in middles
        for first in ways(start, middle, 4.0)
        for second in ways(middle, end, 4.0)
    )
    return min(direct, by_middle, key=lambda item: item[:2])[2]
