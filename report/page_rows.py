"""The rows of the page: one mark of the sheet with all that belongs to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from markupsafe import Markup

from report import words_page as w
from report import words_said as sentences
from report.page_marks import JudgeMark
from report.page_material import Material, entry_s, event_words, runs, since
from report.page_plan import PlanOf, small_plan
from report.page_plan_marks import Turn
from report.page_says import Say, say_all, untold_line
from report.result import EventRow, FigureRow, Finding, MovementRow, Result, TransitionRow
from track.layout import Layout, MovementLine
from track.sheet import Movement


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of the page, ready to be printed."""

    anchor: str
    number: str
    command: str
    filled: str = ""
    text: str = ""
    coefficient: int = 1
    since: str = ""
    plan: Markup | None = None
    lead: Say | None = None
    says: tuple[Say, ...] = ()
    untold: str = ""
    found: bool = True
    because: str = ""
    happened: tuple[str, ...] = ()
    marks: tuple[JudgeMark, ...] = ()
    of: tuple[int, ...] = ()


def movement_rows(made: Material, run: int) -> tuple[Row, ...]:
    """One row per mark of the sheet, for one riding of it."""
    rows = [row for row in made.result.movements if row.run == run]
    return tuple(_movement_row(made, row) for row in sorted(rows, key=lambda r: r.number))


def _movement_row(made: Material, row: MovementRow) -> Row:
    sheet, line = _asked(made.layout, row.number)
    says = say_all(row.findings, lambda t_s: since(made.result, row.run, t_s))
    out = finished(says, row.findings)
    anchor = f"m{row.number}" if row.run == 1 else f"r{row.run}m{row.number}"
    return replace(
        out,
        anchor=anchor,
        number=str(row.number),
        command=_command(sheet, line) or (w.OF_OTHERS if sheet and sheet.of else ""),
        filled=_filled(line),
        text=sheet.text if sheet else "",
        coefficient=sheet.coefficient if sheet else 1,
        since=since(made.result, row.run, row.start_s),
        plan=_plan(made, row, line, says, anchor),
        found=row.found,
        because=row.because,
        happened=_happened(made.result, row),
        marks=made.marks.of(row.number) if made.marks and row.run == 1 else (),
        of=sheet.of if sheet else (),
    )


def _asked(layout: Layout | None, number: int) -> tuple[Movement | None, MovementLine | None]:
    if layout is None:
        return None, None
    sheet = {m.number: m for m in layout.sheet.movements}.get(number)
    return sheet, {m.number: m for m in layout.movements}.get(number)


def _command(sheet: Movement | None, line: MovementLine | None) -> str:
    if line is not None and (line.stretches or line.changes):
        ridden = [s.text for s in line.stretches if not s.filled]
        return ", ".join([*ridden, *(c.text for c in line.changes)]) or _filled(line)
    return ", ".join([*sheet.ride, *sheet.change]) if sheet else ""


def _filled(line: MovementLine | None) -> str:
    return ", ".join(s.text for s in line.stretches if s.filled) if line else ""


def finished(says: tuple[Say, ...], findings: Sequence[Finding]) -> Row:
    """The sentences of a row: one in front, the unsettled ones as one line, the rest folded."""
    sure = [s for s in says if s.finding.verdict in ("outside", "within") and s.finding.say]
    measured = [s for s in says if s.finding.verdict is None and s.finding.say]
    lead = next(iter([*sure, *measured]), None)
    unsure = [s for s in says if s.finding.verdict in ("near", "cannot tell")]
    missing = [f for f in findings if f.value is None]
    return Row(
        anchor="", number="", command="", lead=lead, says=says,
        untold=untold_line(unsure, missing),
    )  # fmt: skip


def _plan(
    made: Material, row: MovementRow, line: MovementLine | None, says: Sequence[Say], anchor: str
) -> Markup | None:
    arena = made.result.arena
    size = made.layout.sheet.arena if made.layout else (arena.size if arena else None)
    rides = line is not None and line.end_m > line.start_m
    sheet, _ = _asked(made.layout, row.number)
    elsewhere = sheet is not None and bool(sheet.of)
    if size is None or elsewhere or (made.drawn is None and not rides):
        return None
    ends_known = made.layout is not None if arena is None else arena.ends == "known"
    plan = PlanOf(
        name=f"p-{anchor}", title=sentences.MOVEMENT.format(row.number), desc=_command(sheet, line),
        size=size, ends_known=ends_known, start_s=row.start_s, end_s=row.end_s,
        asked=line if ends_known else None, parts=pointed_parts(says), tallest_px=made.tallest_px,
        turns=_turns(made.result.figures, row.start_s, row.end_s),
        transitions=_within(made.result.transitions, row.start_s, row.end_s),
    )  # fmt: skip
    return small_plan(plan, made.drawn, made.layout, made.strides)


def pointed_parts(says: Sequence[Say]) -> list[tuple[float, float]]:
    """The stretches that sentences point at, s; their plan lights them up."""
    return [
        (s.finding.start_s, s.finding.end_s or s.finding.start_s)
        for s in says
        if s.part and s.finding.start_s is not None
    ]


def _turns(figures: Sequence[FigureRow], start: float | None, end: float | None) -> list[Turn]:
    if start is None or end is None:
        return []
    return [
        Turn(start_s=f.start_s, end_s=f.end_s)
        for f in figures
        if f.kind == "circle" and start - 3 <= f.start_s and f.end_s <= end + 3
    ]


def _within(
    rows: Sequence[TransitionRow], start: float | None, end: float | None
) -> list[TransitionRow]:
    if start is None or end is None:
        return []
    return [row for row in rows if start <= row.t_s < end]


def _happened(result: Result, row: MovementRow) -> tuple[str, ...]:
    """Errors of course and things that were not planned, each told once."""
    errors = [
        f"{w.COURSE_ERROR}, {since(result, row.run, e.t_s)}: {e.text}"
        for e in result.course_errors
        if e.movement == row.number and _same_run(result, row.run, e.t_s)
    ]
    events = [event_words(result, row.run, e) for e in result.events if _inside(row, e)]
    return (*errors, *events)


def _same_run(result: Result, run: int, t_s: float) -> bool:
    starts = {r: s for r in runs(result) if (s := entry_s(result, r)) is not None}
    begun = [r for r, s in starts.items() if s <= t_s]
    return run == (max(begun) if begun else min(starts, default=1))


def _inside(row: MovementRow, event: EventRow) -> bool:
    return (
        row.start_s is not None
        and row.end_s is not None
        and row.start_s <= event.start_s < row.end_s
    )
