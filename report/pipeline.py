"""One ride through all stages: files in, a result and what the pages need out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath

from gait.bouts import Gaits
from gait.session import session_of
from gait.stage import decode
from ingest.errors import ArenaError
from ingest.reading import ReadOptions, read_recording
from ingest.recording import Note, Recording
from report.bands import Bands, bands_of
from report.figures_found import figure_rows
from report.marks import read_marks
from report.movements_found import course_error_rows, movement_rows
from report.page_marks import JudgeSheet
from report.planned import without_planned
from report.ratings import ratings_of
from report.remarks import explained, gaits_to_rest, without_homework
from report.repeats import repeat_rows
from report.result import Kind, Result, SheetRow
from report.ridden import Ridden, RiddenSheet
from report.rows import (
    arena_row,
    bout_rows,
    event_rows,
    note_rows,
    path_row,
    ride_row,
    stride_rows,
    transition_rows,
)
from report.session_rows import rhythm_rows, time_in_row, warm_up_row
from report.settle import Means
from report.sheet_found import Found, find_sheet
from report.sided import sided_findings
from report.words import Names
from track.arena import Arena, Size
from track.follow import follow
from track.layout import Layout
from track.sheet import Sheet
from track.sheet_file import read_sheet
from track.stage import Track

HORSE_ASSUMED = Note(
    code="gaits-assume-a-horse",
    text="Without a school to go by, walk, trot and canter are read as a ridden horse's: "
    "if nobody rode, what is called walk is somebody walking, two steps to a stride.",
    severity="warning",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """What the rider says about a ride.

    Attributes
    ----------
    sheet, marks, tolerances : Path or None
    arena : Arena or None
        From an arena file.
    size : {"20x40", "20x60"} or None
    a_end_bearing_deg : float or None, degrees
        Rough direction from A to C, clockwise from north.
    read : ReadOptions
    horse, kind, pocket, label : str or None
        Carried into the result.
    """

    sheet: FilePath | None = None
    marks: FilePath | None = None
    tolerances: FilePath | None = None
    arena: Arena | None = None
    size: Size | None = None
    a_end_bearing_deg: float | None = None
    read: ReadOptions = field(default_factory=ReadOptions)
    horse: str | None = None
    kind: Kind | None = None
    pocket: str | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Analysis:
    """A result with what the pages need beside it."""

    result: Result
    layout: Layout | None
    marks: JudgeSheet | None
    ridden: Ridden
    ridden_sheet: RiddenSheet | None


def analyse(files: Sequence[FilePath], options: Options | None = None) -> Analysis:
    """Analyse one ride.

    Parameters
    ----------
    files : sequence of Path
        Ride files, folders or zip files.
    options : Options, optional

    Raises
    ------
    TanbarkError
        Something handed in is at fault; one line per fault.
    """
    options = options or Options()
    sheet = None if options.sheet is None else read_sheet(options.sheet)
    marks = None if options.marks is None else read_marks(options.marks)
    bands = bands_of(sheet.level if sheet else "walk and trot", options.tolerances)
    _check_size(sheet, options)
    recording = read_recording(files, options=options.read)
    made = analyse_recording(recording, sheet, bands, options)
    if marks is None:
        return made
    rested = without_homework(made.result, gaits_to_rest(marks, made.result))
    return replace(made, result=rested, marks=explained(marks, rested))


def _check_size(sheet: Sheet | None, options: Options) -> None:
    told = {
        "--size": options.size,
        "the arena file": None if options.arena is None else options.arena.size,
    }
    for where, size in told.items():
        if sheet is not None and size is not None and size != sheet.arena:
            raise ArenaError(
                f"{where} says {size}, the sheet '{sheet.title}' is for {sheet.arena}; "
                "leave one of them out"
            )


def analyse_recording(
    recording: Recording, sheet: Sheet | None, bands: Bands, options: Options
) -> Analysis:
    """Analyse a recording that is already read."""
    size = sheet.arena if sheet is not None else options.size
    track = follow(
        recording,
        arena=options.arena,
        size=None if options.arena is not None else size,
        a_end_bearing_deg=options.a_end_bearing_deg,
    )
    gaits = decode(track.motion, track.path)
    found = find_sheet(sheet, track, gaits)
    if found.ridden is not None:
        gaits = without_planned(gaits, found.ridden.asked)
    ridden = ridden_of(recording, found.track, gaits, bands)
    return _written(recording, ridden, found, options)


def ridden_of(recording: Recording, track: Track, gaits: Gaits, bands: Bands) -> Ridden:
    """Gather what the findings are read from."""
    placement, path = track.placement, track.path
    placed = placement is not None and path is not None and path.frame == "arena"
    return Ridden(
        path=path if placed else None,
        local=path,
        motion=track.motion,
        gaits=gaits,
        bands=bands,
        names=Names(
            size=placement.arena.size if placement else "20x40",
            known=placement is not None and placement.ends == "known",
        ),
        means=_means(recording, track),
        lag_s=None if track.clock is None else track.clock.lag_s,
        clock_sd_s=_clock_sd_s(track),
        track_offset_m=placement.track_offset_m.value if placement else 0.0,
        track_offset_sd_m=placement.track_offset_m.sd if placement else 0.0,
    )


def _clock_sd_s(track: Track) -> float:
    """Doubt of the clocks that a place on the path does not have in it already.

    With a gyroscope the path was steered by the motion log, and its own doubt has the clocks'.
    """
    if track.clock is None or (track.motion is not None and track.motion.has_gyro):
        return 0.0
    return track.clock.shift_s.sd


def _means(recording: Recording, track: Track) -> Means:
    fixes = recording.fixes
    warned = {note.code for note in track.notes}
    return Means(
        gyro=track.motion is not None and track.motion.has_gyro,
        speed=fixes is not None and bool(fixes["speed_ms"].notna().mean() > 0.5),
        course=fixes is not None and bool(fixes["course_deg"].notna().mean() > 0.5),
        boards=track.placement is not None and "few-sides" not in warned,
    )


def _written(recording: Recording, ridden: Ridden, found: Found, options: Options) -> Analysis:
    track, gaits = found.track, ridden.gaits
    movements = movement_rows(ridden, found)
    figures = figure_rows(ridden, found, movements)
    session = session_of(gaits, track.path, track.motion)
    result = Result(
        ride=ride_row(
            recording,
            track,
            horse=options.horse,
            kind=options.kind,
            pocket=options.pocket,
            label=options.label,
        ),
        notes=note_rows(_notes(recording, track, gaits, found)),
        sheet=_sheet_row(found.layout),
        arena=arena_row(track.placement),
        path=path_row(track.path),
        bouts=bout_rows(gaits),
        strides=stride_rows(gaits),
        transitions=transition_rows(gaits, track.path, track.clock),
        events=event_rows(gaits),
        movements=movements,
        course_errors=course_error_rows(ridden, found),
        figures=figures,
        repeats=repeat_rows(ridden, figures),
        rhythm=rhythm_rows(gaits, track),
        time_in=time_in_row(gaits, track, session),
        warm_up=warm_up_row(session),
        ratings=ratings_of(sided_findings(found.layout, movements, figures)),
    )
    return Analysis(
        result=result,
        layout=found.layout,
        marks=None,
        ridden=ridden,
        ridden_sheet=found.ridden,
    )


def _sheet_row(layout: Layout | None) -> SheetRow | None:
    if layout is None:
        return None
    sheet = layout.sheet
    return SheetRow(
        title=sheet.title,
        arena=sheet.arena,
        level=sheet.level,
        movement_count=len(sheet.movements),
    )


def _notes(recording: Recording, track: Track, gaits: Gaits, found: Found) -> list[Note]:
    notes = [*recording.notes, *track.notes, *gaits.notes, *found.notes]
    if track.placement is None:
        notes.append(HORSE_ASSUMED)
    elif track.placement.ends == "unknown":
        notes.append(
            Note(
                code="ends-unknown",
                text="It is not known which end of the school is A: no letter is named. "
                "--a-end, an arena file or a sheet would settle it.",
                severity="warning",
            )
        )
    return notes
