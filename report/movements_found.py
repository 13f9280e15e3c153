"""The movements of the sheet as rows of the result, with their findings."""

from __future__ import annotations

from report.findings import findings_of
from report.result import CourseErrorRow, MovementRow
from report.ridden import Ridden, RiddenSheet
from report.sheet_found import Found
from track.layout import MovementLine
from track.matched import MovementMatch
from track.sheet import Movement, Sheet


def movement_rows(ridden: Ridden, found: Found) -> list[MovementRow]:
    """One row per movement and riding of the sheet; none without a sheet."""
    if found.layout is None:
        return []
    if found.match is None or found.ridden is None or not found.match.movements:
        because = "the sheet was not found in this ride"
        return [_missing(line, because) for line in found.layout.movements]
    rows = [_row(ridden, found.ridden, movement) for movement in found.match.movements]
    return _with_marks_of_others(rows, found.layout.sheet)


def _with_marks_of_others(rows: list[MovementRow], sheet: Sheet) -> list[MovementRow]:
    """Add the marks that are for the transitions of other movements, in the sheet's order."""
    present = {(row.number, row.run) for row in rows}
    for run in sorted({row.run for row in rows}):
        found = {row.number for row in rows if row.run == run and row.found}
        for movement in sheet.movements:
            if movement.of and (movement.number, run) not in present:
                rows.append(_mark_of_others(movement, run, found))
    return sorted(rows, key=lambda row: (row.run, row.number))


def _mark_of_others(movement: Movement, run: int, found: set[int]) -> MovementRow:
    numbers = " and ".join(str(number) for number in movement.of)
    return MovementRow(
        number=movement.number,
        run=run,
        found=set(movement.of) <= found,
        start_s=None,
        start_sd_s=None,
        end_s=None,
        end_sd_s=None,
        because=f"a mark for the transitions of movements {numbers}: no ride of its own",
        findings=[],
    )


def _missing(line: MovementLine, because: str) -> MovementRow:
    return MovementRow(
        number=line.number,
        run=1,
        found=False,
        start_s=None,
        start_sd_s=None,
        end_s=None,
        end_sd_s=None,
        because=because,
        findings=[],
    )


def _row(ridden: Ridden, sheet: RiddenSheet, movement: MovementMatch) -> MovementRow:
    number, run = movement.number, movement.run
    findings = findings_of(ridden, sheet, number, run) if movement.found else []
    return MovementRow(
        number=movement.number,
        run=movement.run,
        found=movement.found,
        start_s=movement.start_s,
        start_sd_s=movement.start_sd_s,
        end_s=movement.end_s,
        end_sd_s=movement.end_sd_s,
        because=ridden.names.sentence(movement.because),
        findings=findings,
    )


def course_error_rows(ridden: Ridden, found: Found) -> list[CourseErrorRow]:
    """Where the ride left the test."""
    if found.match is None:
        return []
    return [
        CourseErrorRow(
            movement=error.movement,
            t_s=error.t_s,
            x_m=error.x_m,
            y_m=error.y_m,
            text=ridden.names.sentence(error.text),
        )
        for error in found.match.course_errors
    ]
