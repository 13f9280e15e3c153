"""When each movement was ridden, and how large and round its figures were."""

from __future__ import annotations

import numpy as np

from sample_rides.course import Slice
from sample_rides.figures import fit_circle, out_of_round_m, width_m
from sample_rides.made import NEAR_LETTER_M, SAME_PLACE_M, Ride
from sample_rides.plan import Onset
from sample_rides.truth import (
    TrueFigure,
    TrueMovement,
)
from track.layout import MovementLine, Stretch


def _halts(ride: Ride, run: int) -> list[Onset]:
    return [
        onset
        for onset in ride.plan.onsets
        if onset.to_gait == "halt" and onset.movement is not None and onset.run == run
    ]


def _boundary_s(ride: Ride, piece: Slice, movement: MovementLine) -> float:
    """When a movement ends: where its last term ends; after its halt, when the horse moves off."""
    at_m = ride.passing_m(piece, movement.end_m)
    at_s = ride.timeline.reached(at_m)
    for halt in _halts(ride, piece.run):
        if abs(halt.s_m - at_m) < NEAR_LETTER_M:
            if halt.movement is not None and halt.movement <= movement.number:
                return ride.timeline.left(halt.s_m)
            return min(at_s, ride.timeline.reached(halt.s_m))
    return at_s


def true_movements(ride: Ride) -> tuple[TrueMovement, ...]:
    """Movements as they were ridden; one left out is not told.

    One that was ridden twice lasts from the first start to the last end, one that was begun again
    starts where it was begun again.
    """
    gone = {number for kind, number, _ in ride.sliced.errors if kind == "left-out"}
    again = {number for kind, number, _ in ride.sliced.errors if kind == "restart"}
    doubled = {number for kind, number, _ in ride.sliced.errors if kind == "doubled"}
    rows: list[TrueMovement] = []
    for run in dict.fromkeys(piece.run for piece in ride.line.slices):
        pieces = [piece for piece in ride.line.slices if piece.run == run]
        for movement in ride.layout.movements:
            asked = ride.layout.sheet.movements[movement.number - 1]
            if asked.of or movement.number in gone:
                continue
            starts = [piece for piece in pieces if piece.holds(movement.start_m)]
            ends = [piece for piece in pieces if piece.holds(movement.end_m)]
            first = starts[-1 if movement.number in again else 0]
            last = ends[-1 if movement.number in doubled else 0]
            start_s = _start_s(ride, first, movement, rows)
            row = TrueMovement(
                number=movement.number,
                run=run,
                start_s=start_s,
                end_s=_boundary_s(ride, last, movement) - ride.zero_s,
            )
            rows.append(row)
    return tuple(rows)


def _start_s(ride: Ride, piece: Slice, movement: MovementLine, rows: list[TrueMovement]) -> float:
    """Where the movement before ends; on a slice of its own, where the slice begins."""
    opens = abs(movement.start_m - piece.start_m) < SAME_PLACE_M
    if opens or not rows or rows[-1].run != piece.run:
        return ride.timeline.reached(ride.passing_m(piece, movement.start_m)) - ride.zero_s
    return rows[-1].end_s


def true_figures(ride: Ride) -> tuple[TrueFigure, ...]:
    """Every circle and half circle of the sheet, measured on the ridden line."""
    return tuple(
        _figure(ride, piece, movement, stretch)
        for piece in ride.line.slices
        for movement in ride.layout.movements
        for stretch in movement.stretches
        if stretch.kind in {"circle", "half circle"}
        and piece.holds(stretch.start_m)
        and piece.holds(stretch.end_m)
    )


def _figure(ride: Ride, piece: Slice, movement: MovementLine, stretch: Stretch) -> TrueFigure:
    line = ride.line
    start_m, end_m = (ride.passing_m(piece, end) for end in (stretch.start_m, stretch.end_m))
    within = (line.s_m >= start_m) & (line.s_m <= end_m)
    x_m, y_m = line.x_m[within], line.y_m[within]
    circle = fit_circle(x_m, y_m)
    full = stretch.kind == "circle"
    return TrueFigure(
        kind="circle" if full else "half circle",
        rein=stretch.rein or "left",
        start_s=ride.timeline.reached(start_m) - ride.zero_s,
        end_s=ride.timeline.reached(end_m) - ride.zero_s,
        movement=movement.number,
        run=piece.run,
        diameter_m=2.0 * circle.radius_m,
        width_m=width_m(x_m, y_m, float(np.interp(start_m, line.s_m, line.heading_rad))),
        out_of_round_m=out_of_round_m(x_m, y_m, circle) if full else None,
        length_minus_width_m=float(np.ptp(y_m) - np.ptp(x_m)),
        centre_x_m=circle.centre_x_m,
        centre_y_m=circle.centre_y_m,
    )
