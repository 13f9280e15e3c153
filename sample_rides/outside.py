"""What is ridden outside the test: laps along the boards, out by A, round and in again, home."""

from __future__ import annotations

from typing import Final

import numpy as np

from sample_rides.geometry import Line, Piece, Pose, arc, trace, ways
from sample_rides.scenario import Scenario
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M
from track.layout import Layout

EXIT_RADIUS_M: Final = 4.0
TURN_ROOM_M: Final = 6.0
"""Straight ridden out of the arena before turning round to enter."""


def pose_at(layout: Layout, s_m: float) -> Pose:
    """Place and direction of the layout's line at some distance along it."""
    return Pose(
        float(np.interp(s_m, layout.s_m, layout.x_m)),
        float(np.interp(s_m, layout.s_m, layout.y_m)),
        float(np.interp(s_m, layout.s_m, layout.heading_rad)),
    )


def _sides(layout: Layout) -> tuple[float, float, float]:
    """Half width and half length of the track's line, and its corners' radius."""
    offset = layout.track_offset_m
    half_length = HALF_LENGTH_M[layout.sheet.arena] - offset
    return HALF_WIDTH_M - offset, half_length, layout.corner_radius_m


def lap_length_m(layout: Layout) -> float:
    """Length of one lap along the boards."""
    half_x, half_y, radius = _sides(layout)
    return 4.0 * (half_x + half_y) - (8.0 - 2.0 * np.pi) * radius


def _lap(layout: Layout, turn_deg: float, end_short_m: float) -> list[Piece]:
    """Once round from A along the boards, stopping short of A."""
    half_x, half_y, radius = _sides(layout)
    corner = arc(turn_deg, radius)
    short, long = Piece(2 * (half_x - radius)), Piece(2 * (half_y - radius))
    start, end = Piece(half_x - radius), Piece(half_x - radius - end_short_m)
    return [start, corner, long, corner, short, corner, long, corner, end]


def _change_rein_at_b(layout: Layout, end_short_m: float) -> list[Piece]:
    """From A on the left rein, turn across the school at B, and back to A on the right rein."""
    half_x, half_y, radius = _sides(layout)
    turn = EXIT_RADIUS_M
    corner = arc(-90.0, radius)
    to_b = [Piece(half_x - radius), arc(90.0, radius), Piece(half_y - radius - turn)]
    across = [arc(90.0, turn), Piece(2 * (half_x - turn)), arc(-90.0, turn)]
    short, long = Piece(2 * (half_x - radius)), Piece(2 * (half_y - radius))
    home = [Piece(half_y - radius - turn), corner, short, corner, long, corner]
    return [*to_b, *across, *home, Piece(half_x - radius - end_short_m)]


def lead_in(layout: Layout, scenario: Scenario) -> Line | None:
    """What is ridden before the test's line begins; None for nothing."""
    entry = pose_at(layout, 0.0)
    half_length = HALF_LENGTH_M[layout.sheet.arena]
    if scenario.before == "none":
        return None
    if scenario.before == "outside":
        start = Pose(entry.x_m - 16.0, 10.0, -np.pi / 2)
        down = Piece(10.0 + half_length + 12.0 - EXIT_RADIUS_M)
        turns = [
            arc(90.0, EXIT_RADIUS_M),
            Piece(16.0 - 2 * EXIT_RADIUS_M),
            arc(90.0, EXIT_RADIUS_M),
        ]
        up = Piece(entry.y_m + half_length + 12.0 - EXIT_RADIUS_M)
        return trace(start, [down, *turns, up])
    pieces: list[Piece] = []
    out_deg = -90.0
    if scenario.laps >= 2:
        pieces += _lap(layout, 90.0, 0.0) + _change_rein_at_b(layout, EXIT_RADIUS_M)
        out_deg = 90.0
    else:
        pieces += _lap(layout, 90.0, EXIT_RADIUS_M)
    start = Pose(0.0, -_sides(layout)[1], 0.0)
    pieces += [arc(out_deg, EXIT_RADIUS_M), Piece(TURN_ROOM_M)]
    outside = trace(start, pieces).end
    return trace(start, [*pieces, *keyhole_and_up(outside, entry)])


def keyhole_and_up(outside: Pose, entry: Pose) -> list[Piece]:
    """Turn round on the spot's own line (60°, 300°, 60° arcs), then straight up to the entry."""
    around = [arc(60.0, EXIT_RADIUS_M), arc(-300.0, EXIT_RADIUS_M), arc(60.0, EXIT_RADIUS_M)]
    return [*around, Piece(max(entry.y_m - outside.y_m, 0.0))]


def way_out(layout: Layout, end: Pose) -> tuple[Pose, list[Piece]]:
    """From the end of the test to the outside, by the track and A where that can be ridden."""
    half_x, half_y, radius = _sides(layout)
    turn = EXIT_RADIUS_M
    on_centre_line = abs(end.x_m) < 1.0 and abs(np.cos(end.heading_rad)) < 0.2
    if on_centre_line and np.sin(end.heading_rad) < 0:
        return end, [Piece(end.y_m + half_y + turn + TURN_ROOM_M)]
    if on_centre_line and end.y_m < half_y - turn - 0.5:
        side, long = Piece(half_x - turn - radius), Piece(2 * (half_y - radius))
        to_track = [Piece(half_y - turn - end.y_m), arc(90.0, turn), side, arc(90.0, radius)]
        to_a = [long, arc(90.0, radius), Piece(half_x - radius - turn)]
        return end, [*to_track, *to_a, arc(-90.0, turn), Piece(TURN_ROOM_M)]
    gate = Pose(0.0, -half_y - turn, -np.pi / 2)
    best = min(ways(end, gate, turn), key=lambda way: _leaves(end, way, half_x, half_y), default=())
    return end, [*best, Piece(TURN_ROOM_M)]


def _leaves(start: Pose, way: tuple[Piece, ...], half_x: float, half_y: float) -> float:
    line = trace(start, way)
    over = np.maximum(np.abs(line.x_m) - half_x, line.y_m - half_y)
    return float(np.maximum(over, 0.0).sum() + 0.01 * sum(piece.length_m for piece in way))
