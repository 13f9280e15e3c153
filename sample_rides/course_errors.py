"""Errors of course as other ways of slicing the layout: left out, ridden twice, begun again."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from ingest.errors import TanbarkError
from sample_rides.course import Part
from sample_rides.faults import Fault, FaultKind
from sample_rides.geometry import Line, Piece, arc, trace
from sample_rides.outside import pose_at
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M
from track.layout import Layout, MovementLine, Stretch

PAST_CORNER_M = 4.0
"""How far a rider gets on the wrong rein before the bell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sliced:
    """Which parts of the layout are ridden, and where the line leaves the test.

    Attributes
    ----------
    parts : tuple of (start_m, end_m, run)
    detour : Line or None
        Ridden between the first part and the second.
    errors : tuple of (kind, movement, layout_m)
        Where each error of course begins.
    """

    parts: tuple[Part, ...]
    detour: Line | None = None
    errors: tuple[tuple[FaultKind, int, float], ...] = ()


def slice_layout(layout: Layout, faults: Sequence[Fault]) -> Sliced:
    """Apply the planted errors of course.

    Raises
    ------
    TanbarkError
        A movement that the sheet does not have or that cannot go wrong in this way, or more
        than one error of course in one riding.
    """
    kinds = {"left-out", "doubled", "wrong-rein", "restart", "twice"}
    wrong = [fault for fault in faults if fault.kind in kinds]
    if len(wrong) > 1:
        names = ", ".join(fault.kind for fault in wrong)
        raise TanbarkError(f"--fault: {names}: plant one error of course at a time")
    whole = (0.0, layout.length_m, 1)
    if not wrong:
        return Sliced(parts=(whole,))
    fault = wrong[0]
    if fault.kind == "twice":
        return Sliced(parts=(whole, (0.0, layout.length_m, 2)), errors=(("twice", 1, 0.0),))
    if fault.kind == "wrong-rein":
        return _wrong_rein(layout)
    movement = movement_line(layout, fault)
    if movement.end_m - movement.start_m < 1.0:
        raise TanbarkError(
            f"--fault {fault.kind}:{fault.movement}: the movement has no ride of its own; "
            "name one that has"
        )
    circle = next((item for item in movement.stretches if item.kind == "circle"), None)
    start_m, end_m = _extent(movement, circle)
    if fault.kind == "left-out":
        parts: tuple[Part, ...] = ((0.0, start_m, 1), (end_m, layout.length_m, 1))
        return Sliced(parts=parts, errors=(("left-out", movement.number, start_m),))
    turned_m = end_m
    if fault.kind == "restart":
        start_m = movement.start_m
        turned_m = 0.5 * (movement.start_m + movement.end_m)
    parts = ((0.0, turned_m, 1), (start_m, layout.length_m, 1))
    return Sliced(parts=parts, errors=((fault.kind, movement.number, turned_m),))


_NEEDS: Final[dict[FaultKind, tuple[frozenset[str], str]]] = {
    "egg": (frozenset({"circle"}), "circle"),
    "small": (frozenset({"circle", "half circle"}), "circle or half circle"),
    "wobble": (frozenset({"line", "diagonal", "track"}), "straight"),
}


def check_faults(layout: Layout, faults: Sequence[Fault]) -> None:
    """Refuse faults that the sheet cannot have.

    Raises
    ------
    TanbarkError
        One line per fault.
    """
    refused: list[str] = []
    for fault in faults:
        if fault.movement is None:
            continue
        movement = movement_line(layout, fault)
        kinds, words = _NEEDS.get(fault.kind, (frozenset(), ""))
        if kinds and not kinds & {stretch.kind for stretch in movement.stretches}:
            refused.append(f"--fault {fault.kind}:{fault.movement}: it has no {words}")
        if fault.kind == "late" and fault.change > len(movement.changes):
            count = len(movement.changes)
            refused.append(f"--fault late:{fault.movement}: it has {count or 'no'} transitions")
    if refused:
        raise TanbarkError(*(f"{line}; name another movement" for line in refused))


def movement_line(layout: Layout, fault: Fault) -> MovementLine:
    """The movement a fault names, or an error that tells which numbers there are."""
    for movement in layout.movements:
        if movement.number == fault.movement:
            return movement
    raise TanbarkError(
        f"--fault {fault.kind}:{fault.movement}: the sheet has no such movement; "
        f"it has 1 to {layout.movements[-1].number}"
    )


def _extent(movement: MovementLine, circle: Stretch | None) -> tuple[float, float]:
    if circle is not None:
        return circle.start_m, circle.end_m
    return movement.start_m, movement.end_m


def _wrong_rein(layout: Layout) -> Sliced:
    """Turn the other way at the end of the centre line, come back to it by a half circle."""
    half_x = HALF_WIDTH_M - layout.track_offset_m
    half_y = HALF_LENGTH_M[layout.sheet.arena] - layout.track_offset_m
    for movement in layout.movements:
        for stretch in movement.stretches:
            start = pose_at(layout, stretch.start_m)
            if stretch.kind != "turn" or abs(start.x_m) > 0.5 or np.sin(start.heading_rad) < 0.9:
                continue
            wrong = -1.0 if stretch.rein == "left" else 1.0
            turn_m, corner_m = half_y - start.y_m, layout.corner_radius_m
            way = [
                arc(90.0 * wrong, turn_m),
                Piece(half_x - turn_m - corner_m),
                arc(90.0 * wrong, corner_m),
                Piece(PAST_CORNER_M),
                arc(180.0 * wrong, half_x / 2.0),
            ]
            back = trace(start, way)
            up_m = start.y_m - back.end.y_m
            detour = trace(start, [*way, Piece(max(up_m, 0.0))])
            parts: tuple[Part, ...] = (
                (0.0, stretch.start_m, 1),
                (stretch.start_m, layout.length_m, 1),
            )
            error: tuple[FaultKind, int, float]
            error = ("wrong-rein", movement.number, stretch.start_m)
            return Sliced(parts=parts, detour=detour, errors=(error,))
    raise TanbarkError("--fault wrong-rein: the sheet has no turn at the end of the centre line")
