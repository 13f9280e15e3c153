"""From the sheet's words to metres: the line the rider's body can ride, and what is asked where."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from ingest.errors import SheetError
from track.arena import Size
from track.change_terms import CENTRE_LINE, CORNER, Asked, parse_change
from track.gait_asked import gaits_asked, never_moved_off
from track.layout import Change, Layout, MovementLine, Stretch
from track.lines import sample
from track.passages import corner_middles, crossings, find_passages, grid
from track.pen import Pen
from track.pen_strokes import RideError
from track.place_changes import Riding, Span, place_change
from track.riding import Part, fault_line, ride_parts
from track.sheet import Movement, Sheet
from track.term_parts import TermError
from track.terms import Ride, parse_ride

TRACK_OFFSET_M: Final = 0.8
"""Rider to boards: 0.5-1 m [common practice]."""
CORNER_RADIUS_M: Final = 3.0
"""A corner is a quarter of a volte of about 6 m (FEI 409, 410 [seen])."""


def lay_out(
    sheet: Sheet,
    *,
    track_offset_m: float = TRACK_OFFSET_M,
    corner_radius_m: float = CORNER_RADIUS_M,
) -> Layout:
    """Lay a sheet out in metres.

    Parameters
    ----------
    sheet : Sheet
    track_offset_m : float, m
        Of the rider's body from the boards.
    corner_radius_m : float, m
        How corners are ridden.

    Returns
    -------
    Layout

    Raises
    ------
    SheetError
        The sheet cannot be read or cannot be ridden; one line per fault, all at once.
    """
    faults: list[str] = []
    parts = [_read(movement, sheet.arena, faults) for movement in sheet.movements]
    pen = Pen(size=sheet.arena, offset_m=track_offset_m, corner_radius_m=corner_radius_m)
    ride_parts(pen, parts, faults)
    if faults or not pen.pieces:
        raise SheetError(*(faults or ["nothing is ridden: the sheet has no terms"]))
    layout = _measure(sheet, pen, parts, faults)
    if faults:
        raise SheetError(*faults)
    return layout


def _read(movement: Movement, size: Size, faults: list[str]) -> Part:
    rides: list[Ride] = []
    asked: list[Asked] = []
    for term in movement.ride:
        try:
            rides.append(parse_ride(term, size))
        except TermError as fault:
            faults.append(fault_line(movement, term, fault))
    for term in movement.change:
        try:
            asked.append(parse_change(term, size))
        except TermError as fault:
            faults.append(fault_line(movement, term, fault))
    return Part(movement=movement, rides=rides, asked=asked)


def _measure(sheet: Sheet, pen: Pen, parts: Sequence[Part], faults: list[str]) -> Layout:
    _join(parts, pen.length_m)
    s = grid(pen.length_m)
    x, y, heading, curvature = sample(pen.pieces, s)
    passages = find_passages(pen.pieces, pen.size, pen.offset_m, _vertices(parts))
    marks: dict[str, list[float]] = {
        CORNER: corner_middles(pen.corners),
        CENTRE_LINE: crossings(x, s, heading),
    }
    for passage in passages:
        marks.setdefault(passage.letter, []).append(passage.s_m)
    lines = _movements(sheet, parts, marks, pen.length_m, faults)
    changes = [change for line in lines for change in line.changes]
    faults += never_moved_off(lines, pen.length_m)
    return Layout(
        sheet=sheet,
        track_offset_m=pen.offset_m,
        corner_radius_m=pen.corner_radius_m,
        s_m=s,
        x_m=x,
        y_m=y,
        heading_rad=np.unwrap(heading),
        curvature_1m=curvature,
        gait=gaits_asked(sheet.enter, changes, s),
        movements=lines,
        corners=tuple(pen.corners),
        passages=passages,
    )


def _join(parts: Sequence[Part], length_m: float) -> None:
    """Let each stretch end where the next begins: a turn or diagonal takes from the one before."""
    order = [(part, i) for part in parts for i in range(len(part.stretches))]
    edge = 0.0
    for place, (part, i) in enumerate(order):
        stretch = part.stretches[i]
        end = length_m
        if place + 1 < len(order):
            after = order[place + 1][0].stretches[order[place + 1][1]]
            cuts = after.kind in ("turn", "diagonal")
            end = max(after.start_m if cuts else stretch.end_m, edge)
        run = stretch.straight_m
        if run is not None:
            limit = end if stretch.kind == "line" else run[1]
            run = (max(run[0], edge), min(run[1], limit))
        part.stretches[i] = replace(stretch, start_m=edge, end_m=end, straight_m=run)
        edge = end


def _vertices(parts: Iterable[Part]) -> list[tuple[str, float, float]]:
    found: list[tuple[str, float, float]] = []
    for part in parts:
        for stretch in part.stretches:
            words = stretch.text.split()
            if stretch.kind == "turn" and stretch.arc_m:
                found.append((words[-1], *stretch.arc_m))
            elif stretch.kind in ("diagonal", "return") and stretch.straight_m:
                low, high = stretch.start_m, stretch.end_m
                if stretch.kind == "diagonal":
                    found.append((words[1], low - 3.0, stretch.straight_m[0]))
                found.append((words[-1], stretch.straight_m[1], high + 3.0))
    return found


def _movements(
    sheet: Sheet,
    parts: Sequence[Part],
    marks: dict[str, list[float]],
    length_m: float,
    faults: list[str],
) -> tuple[MovementLine, ...]:
    now = Riding(gait=sheet.enter, lead=None, at_m=0.0)
    lines: list[MovementLine] = []
    own_end = edge = 0.0
    earlier: tuple[Stretch, ...] = ()
    for part in parts:
        if not part.stretches and not part.asked:
            lines.append(_empty(part.movement.number, edge))
            continue
        if part.within and lines:
            earliest = max(now.at_m, own_end if part.within == CORNER else lines[-1].start_m)
            at = [s for s in marks.get(part.within, ()) if s >= earliest]
            edge = at[0] if at else edge
            lines[-1], part.stretches[:0] = _give(lines[-1], edge)
        span = _span(part, own_end, edge, earlier, length_m)
        changes: list[Change] = []
        for asked in part.asked:
            try:
                change, now = place_change(asked, span, now, marks)
                changes.append(change)
            except RideError as fault:
                faults.append(fault_line(part.movement, asked.text, fault))
        start = min([span.start_m, *(c.start_m for c in changes if c.where != "part")])
        if start < span.start_m - 1.0 and lines:
            lines[-1], given = _give(lines[-1], start)
            part.stretches[:0] = given
        else:
            start = span.start_m
        lines.append(
            MovementLine(
                number=part.movement.number,
                start_m=start,
                end_m=span.end_m,
                stretches=tuple(part.stretches),
                changes=tuple(changes),
                show_m=_shown(part, span, marks),
            )
        )
        own_end, edge, earlier = span.own_end_m, span.end_m, tuple(part.stretches)
    return tuple(lines)


def _shown(part: Part, span: Span, marks: dict[str, list[float]]) -> tuple[float, float] | None:
    """Where something is to be shown: between its letters, else the whole movement."""
    if not part.movement.show:
        return None
    words = part.movement.show.split()
    if "from" not in words:
        return span.start_m, span.end_m
    ends = [
        [s for s in marks.get(letter, ()) if span.start_m - 1.0 <= s <= span.end_m + 1.0]
        for letter in (words[-3], words[-1])
    ]
    return (ends[0][0], ends[1][-1]) if all(ends) and ends[0][0] < ends[1][-1] else None


def _empty(number: int, at_m: float) -> MovementLine:
    return MovementLine(number=number, start_m=at_m, end_m=at_m, stretches=(), changes=())


def _span(
    part: Part, before_m: float, edge: float, earlier: tuple[Stretch, ...], length_m: float
) -> Span:
    end = part.stretches[-1].end_m if part.stretches else edge
    own = [stretch.end_m for stretch in part.stretches if not stretch.filled]
    return Span(
        before_m=before_m,
        start_m=edge,
        own_end_m=own[-1] if own else edge,
        end_m=min(end, length_m),
        stretches=tuple(part.stretches),
        earlier=earlier,
    )


def _give(line: MovementLine, at_m: float) -> tuple[MovementLine, list[Stretch]]:
    """Cut a movement's filled-in end off at a place; the rest goes to the movement after."""
    kept = [stretch for stretch in line.stretches if stretch.start_m < at_m - 0.05]
    given = [s for s in line.stretches if s.start_m >= at_m - 0.05]
    if kept and kept[-1].end_m > at_m + 0.05:
        given.insert(0, replace(kept[-1], start_m=at_m))
        kept[-1] = replace(kept[-1], end_m=at_m)
    return replace(line, end_m=at_m, stretches=tuple(kept)), given
