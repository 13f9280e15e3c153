"""From the sheet's words to metres: the line the rider's body can ride, and what is asked where."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from ingest.errors import SheetError
from track.arena import HALF_LENGTH_M, LETTERS, Size
from track.change_terms import CENTRE_LINE, CORNER, Asked, parse_change
from track.ideal import draw, shorter_way
from track.layout import Change, Layout, MovementLine, Stretch
from track.lines import Pose, bearing_rad, sample
from track.passages import corner_middles, crossings, find_passages, grid
from track.pen import Pen, RideError
from track.place_changes import Riding, Span, place_change
from track.sheet import GaitName, Movement, Rein, Sheet
from track.terms import Ride, TermError, parse_ride

TRACK_OFFSET_M: Final = 0.8
"""Rider to boards: 0.5-1 m [common practice]."""
CORNER_RADIUS_M: Final = 3.0
"""A corner is a quarter of a volte of about 6 m (FEI 409, 410 [seen])."""
_WALK_STEP_M: Final = 0.9


@dataclass(slots=True, kw_only=True)
class _Part:
    """A movement while it is being laid out.

    ``within`` is a letter on the movement before, where a movement of changes alone begins.
    """

    movement: Movement
    rides: list[Ride]
    asked: list[Asked]
    stretches: list[Stretch] = field(default_factory=list)
    own_start: int | None = None
    within: str = ""


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
    _ride(pen, parts, faults)
    if faults or not pen.pieces:
        raise SheetError(*(faults or ["nothing is ridden: the sheet has no terms"]))
    layout = _measure(sheet, pen, parts, faults)
    if faults:
        raise SheetError(*faults)
    return layout


def _read(movement: Movement, size: Size, faults: list[str]) -> _Part:
    rides: list[Ride] = []
    asked: list[Asked] = []
    for term in movement.ride:
        try:
            rides.append(parse_ride(term, size))
        except TermError as fault:
            faults.append(_fault(movement, term, fault))
    for term in movement.change:
        try:
            asked.append(parse_change(term, size))
        except TermError as fault:
            faults.append(_fault(movement, term, fault))
    return _Part(movement=movement, rides=rides, asked=asked)


def _fault(movement: Movement, term: str, fault: Exception) -> str:
    return f"movement {movement.number}: '{term}': {fault}"


def _ride(pen: Pen, parts: Sequence[_Part], faults: list[str]) -> None:
    before: _Part | None = None
    for part in parts:
        if part.movement.of and not part.rides and not part.asked:
            continue
        for ride in part.rides:
            _ride_term(pen, part, before, ride, faults)
        if not part.rides and part.asked and not part.movement.ride:
            _go_on(pen, part, before, faults)
        if part.movement.ride and len(part.rides) < len(part.movement.ride):
            _lose(pen)
        before = part
    if before is not None and pen.vertex is not None:
        _finish(pen, before, faults)


def _finish(pen: Pen, part: _Part, faults: list[str]) -> None:
    """Ride on to the last change of the test, where it lies beyond the last term."""
    ridden = {word for stretch in part.stretches for word in stretch.text.split()}
    for asked in part.asked:
        for place in asked.places:
            if len(place) == 1 and place not in ridden and not part.within:
                try:
                    _fill(pen, part, None, place)
                except RideError as fault:
                    faults.append(_fault(part.movement, asked.text, fault))
                    return


def _ride_term(pen: Pen, part: _Part, before: _Part | None, ride: Ride, faults: list[str]) -> None:
    try:
        ride = _resolved(ride, part, before)
        if pen.vertex is None:
            pose = _implied(pen, ride, first=not pen.pieces and before is None)
            if pose is None:
                if not faults:
                    raise RideError("a test starts with a line, for example 'line A X'")
                return
            pen.vertex = pose
        elif ride.kind != "return":
            _fill(pen, part, before, ride.letters[0])
        if part.own_start is None:
            part.own_start = len(part.stretches)
        part.stretches.append(draw(pen, ride))
    except RideError as fault:
        faults.append(_fault(part.movement, ride.text, fault))
        _lose(pen)


def _resolved(ride: Ride, part: _Part, before: _Part | None) -> Ride:
    """A turn without a letter happens where the term before leads to."""
    if ride.letters:
        return ride
    earlier = [r for p in (before, part) if p for r in p.rides]
    if ride in part.rides:
        earlier = earlier[: len(earlier) - len(part.rides) + part.rides.index(ride)]
    if not earlier or not earlier[-1].letters:
        raise RideError("at which letter? allowed: turn left|right at LETTER")
    return replace(ride, letters=earlier[-1].letters[-1:])


def _lose(pen: Pen) -> None:
    pen.vertex = None
    pen.pieces.clear()


def _fill(pen: Pen, part: _Part, before: _Part | None, letter: str) -> None:
    """Go on along the track, or straight on, to the letter where the next term starts."""
    if pen.is_at(letter):
        return
    owner = part if part.own_start is not None or before is None else before
    start = pen.length_m
    rein = pen.rein()
    if rein is not None:
        passed = pen.go_along(letter)
        text, kind = f"track {' '.join(passed)}", "track"
    else:
        came = next((name for name in LETTERS[pen.size] if pen.is_at(name)), "")
        ahead, left = pen.here.seen(pen.place(letter))
        if abs(left) > 1e-6 or ahead < 0:
            raise RideError(
                f"{letter} does not lie ahead on the straight from {came or 'the turn'}: "
                "the way to it is not given; allowed: turn left|right at LETTER, track, line"
            )
        pen.go_straight(pen.place(letter))
        text, kind = f"line {came} {letter}", "line"
    owner.stretches.append(
        Stretch(
            kind="track" if kind == "track" else "line",
            text=text,
            start_m=start,
            end_m=pen.length_m,
            filled=True,
            rein=rein,
            straight_m=None if rein else (start, pen.length_m),
        )
    )


def _go_on(pen: Pen, part: _Part, before: _Part | None, faults: list[str]) -> None:
    """A movement of changes alone: it starts at the first place, and leads on to the last."""
    letters = [place for asked in part.asked for place in asked.places if len(place) == 1]
    first = part.asked[0].places[0]
    if pen.vertex is None:
        if not faults:
            faults.append(f"movement {part.movement.number}: nothing is ridden yet")
        return
    if first in (CORNER, CENTRE_LINE):
        part.within = first
    elif before and any(first in ride.letters[:-1] for ride in before.rides[-1:]):
        part.within, letters = first, []
    try:
        if part.within == CORNER:
            _fill(pen, part, before, pen.beyond_corner())
        for number, letter in enumerate(letters):
            _fill(pen, part, before, letter)
            if number == 0:
                part.own_start = len(part.stretches)
    except RideError as fault:
        faults.append(_fault(part.movement, part.asked[0].text, fault))
        _lose(pen)


def _implied(pen: Pen, ride: Ride, *, first: bool) -> Pose | None:
    """The pose a term starts from when nothing was ridden before; None when it does not say."""
    letter, last = ride.letters[0], ride.letters[-1]
    start, end = LETTERS[pen.size][letter], LETTERS[pen.size][last]
    if ride.kind == "line":
        x, y = (0.0, -HALF_LENGTH_M[pen.size]) if first and letter == "A" else pen.place(letter)
        return Pose(x_m=x, y_m=y, heading_rad=bearing_rad(start, end))
    if ride.kind in ("diagonal", "loop"):
        way = math.copysign(math.pi / 2, end[1] - start[1])
        x, y = pen.place(letter)
        return Pose(x_m=x, y_m=y, heading_rad=way)
    if ride.kind == "track":
        return _on_track(pen, letter, shorter_way(pen, letter, ride.letters[1]) or "left")
    if ride.side is not None and ride.kind != "turn" and letter in pen.lap:
        return _on_track(pen, letter, ride.side)
    if ride.kind == "half circle" and ride.side is not None:
        x, y = pen.place(letter)
        side = math.pi / 2 if ride.side == "left" else -math.pi / 2
        return Pose(x_m=x, y_m=y, heading_rad=bearing_rad(start, end) - side)
    return None


def _on_track(pen: Pen, letter: str, rein: Rein) -> Pose:
    x, y = pen.place(letter)
    ways = [Pose(x_m=x, y_m=y, heading_rad=k * math.pi / 2) for k in range(-1, 3)]
    return next(pose for pose in ways if pen.rein(pose) == rein)


def _measure(sheet: Sheet, pen: Pen, parts: Sequence[_Part], faults: list[str]) -> Layout:
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
    faults += _never_moved_off(lines, pen.length_m)
    return Layout(
        sheet=sheet,
        track_offset_m=pen.offset_m,
        corner_radius_m=pen.corner_radius_m,
        s_m=s,
        x_m=x,
        y_m=y,
        heading_rad=np.unwrap(heading),
        curvature_1m=curvature,
        gait=_gaits(sheet.enter, changes, s),
        movements=lines,
        corners=tuple(pen.corners),
        passages=passages,
    )


def _join(parts: Sequence[_Part], length_m: float) -> None:
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


def _vertices(parts: Iterable[_Part]) -> list[tuple[str, float, float]]:
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
    parts: Sequence[_Part],
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
                faults.append(_fault(part.movement, asked.text, fault))
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


def _shown(part: _Part, span: Span, marks: dict[str, list[float]]) -> tuple[float, float] | None:
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
    part: _Part, before_m: float, edge: float, earlier: tuple[Stretch, ...], length_m: float
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


def _never_moved_off(lines: Sequence[MovementLine], length_m: float) -> list[str]:
    """Faults for halts after which the sheet rides on without saying in which gait."""
    numbered = [(line.number, change) for line in lines for change in line.changes]
    faults = []
    for place, (number, change) in enumerate(numbered):
        after = numbered[place + 1][1] if place + 1 < len(numbered) else None
        moves_off = after is not None and after.start_m - change.end_m < 1.0
        if change.to_gait == "halt" and not moves_off and change.end_m < length_m - 1.0:
            faults.append(
                f"movement {number}: '{change.text}': no gait is asked after the halt; "
                f"allowed: for example 'trot at {change.place}'"
            )
    return faults


def _gaits(enter: GaitName, changes: Sequence[Change], s: np.ndarray) -> tuple[GaitName, ...]:
    gait = np.full(s.shape, enter, dtype=object)
    tiny = 1e-6  # rounding must not move a change to the next point
    for change in changes:
        if change.where == "from":
            gait[(s >= change.start_m - tiny) & (s < change.end_m)] = change.to_gait
            gait[s >= change.end_m - tiny] = change.from_gait
        elif change.via_steps:
            steps = _WALK_STEP_M * sum(change.via_steps) / 2
            gait[(s >= change.start_m - tiny) & (s < change.start_m + steps)] = change.via
        else:
            gait[s >= (change.start_m + change.end_m) / 2 - tiny] = change.to_gait
    for change in changes:
        if change.to_gait == "halt":
            gait[np.argmin(np.abs(s - change.start_m))] = "halt"
    return tuple(gait.tolist())
