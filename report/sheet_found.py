"""A sheet found in a ride: which end is A, and when each term was ridden."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from gait.bouts import Gaits
from ingest.errors import SheetError
from ingest.recording import Note
from report.ridden import Asked, RiddenSheet, Term, TimeAt
from track.follow import turned
from track.lay_out import lay_out
from track.layout import Layout, MovementLine
from track.match import match, other_end_log_odds
from track.matched import Match
from track.path import Floats
from track.sheet import Sheet
from track.stage import Placement, Track

CLEAR_LOG_ODDS: Final = 6.0
"""Natural logarithm of the odds at which the sheet alone settles which end is A (400 to 1)."""


HALT_BEFORE_M: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What looking for the sheet brought.

    Attributes
    ----------
    track : Track
        Turned where the sheet says that A is at the other end.
    layout : Layout or None
        The sheet in metres, at this ride's own distance from the boards.
    match : Match or None
    ridden : RiddenSheet or None
    notes : tuple of Note
    """

    track: Track
    layout: Layout | None = None
    match: Match | None = None
    ridden: RiddenSheet | None = None
    notes: tuple[Note, ...] = ()


def find_sheet(sheet: Sheet | None, track: Track, gaits: Gaits) -> Found:
    """Find a sheet in a ride.

    Parameters
    ----------
    sheet : Sheet or None
        None gives back the track as it is.
    track : Track
    gaits : Gaits
    """
    if sheet is None:
        return Found(track=track)
    if track.placement is None or track.path is None:
        note = Note(
            code="sheet-not-compared",
            text="No school was found in this ride, so it is not compared with the sheet.",
            severity="warning",
        )
        return Found(track=track, layout=lay_out(sheet), notes=(note,))
    layout = laid_out(sheet, track.placement.track_offset_m.value)
    times, names = gait_changes(gaits)
    path = track.path
    odds = other_end_log_odds(path, layout, gait_t_s=times, gait_names=names)
    track = _ends_settled(track, track.placement, odds)
    halts = [(b.start_s, b.end_s) for b in gaits.bouts if b.gait == "halt"]
    matched = match(track.path or path, layout, gait_t_s=times, gait_names=names, halts=halts)
    return Found(
        track=track,
        layout=layout,
        match=matched,
        ridden=ridden_sheet(layout, matched),
        notes=_match_notes(matched),
    )


def laid_out(sheet: Sheet, track_offset_m: float) -> Layout:
    """Lay a sheet out at the ride's distance from the boards, or the nearest at which it joins."""
    nearest = sorted(np.arange(-0.8, 0.81, 0.1), key=abs)
    for step in nearest:
        try:
            return lay_out(sheet, track_offset_m=float(np.clip(track_offset_m + step, 0.1, 2.0)))
        except SheetError:
            continue
    return lay_out(sheet)


def gait_changes(gaits: Gaits) -> tuple[Floats, list[str]]:
    """Times from which each gait holds, and the gaits."""
    return np.array([b.start_s for b in gaits.bouts]), [b.gait for b in gaits.bouts]


def _ends_settled(track: Track, placement: Placement, odds: float) -> Track:
    """Turn the track the way the sheet fits better, unless the ends are known already."""
    if placement.ends == "known":
        return track
    clear = abs(odds) >= CLEAR_LOG_ODDS
    because = "the sheet fits the ride only this way round" if clear else placement.ends_because
    way = turned(track, because=because) if odds < 0 else track
    ends = replace(
        way.placement or placement, ends="known" if clear else "unknown", ends_because=because
    )
    return replace(way, placement=ends)


def _match_notes(matched: Match) -> tuple[Note, ...]:
    if any(movement.found for movement in matched.movements):
        return ()
    return (
        Note(
            code="sheet-not-found",
            text="The sheet was not found in this ride: no part of it fits. "
            "Check that it is the right sheet.",
            severity="warning",
        ),
    )


def ridden_sheet(layout: Layout, matched: Match) -> RiddenSheet:
    """Times of every term and change of every riding of the sheet."""

    def time_at(run: int, s_m: float) -> float:
        t_s = matched.time_at(s_m, run)
        return float("nan") if t_s is None else t_s

    terms: list[Term] = []
    asked: list[Asked] = []
    lines = {line.number: line for line in layout.movements}
    for movement in matched.movements:
        if movement.found:
            terms += _terms(lines[movement.number], movement.run, time_at)
            asked += _asked(lines[movement.number], movement.run, time_at)
    return RiddenSheet(
        layout=layout,
        terms=terms,
        asked=asked,
        time_at=time_at,
        astray_s=[(error.t_s, error.back_s) for error in matched.course_errors],
    )


def _terms(line: MovementLine, run: int, time_at: TimeAt) -> list[Term]:
    terms: list[Term] = []
    written = 0
    for stretch in line.stretches:
        written += not stretch.filled
        start_s, end_s = time_at(run, stretch.start_m), time_at(run, stretch.end_m)
        if np.isfinite([start_s, end_s]).all() and end_s > start_s:
            terms.append(
                Term(
                    movement=line.number,
                    run=run,
                    of=None if stretch.filled else f"ride:{written}",
                    stretch=stretch,
                    start_s=start_s,
                    end_s=end_s,
                )
            )
    return terms


def _asked(line: MovementLine, run: int, time_at: TimeAt) -> list[Asked]:
    asked: list[Asked] = []
    for number, change in enumerate(line.changes, start=1):
        # A horse that stands is at one place for long: the halt begins when it is reached.
        before_m = HALT_BEFORE_M if change.to_gait == "halt" else 0.0
        start_s, end_s = time_at(run, change.start_m - before_m), time_at(run, change.end_m)
        if np.isfinite([start_s, end_s]).all():
            asked.append(
                Asked(
                    movement=line.number,
                    run=run,
                    of=f"change:{number}",
                    change=change,
                    start_s=start_s,
                    end_s=end_s,
                )
            )
    return asked
