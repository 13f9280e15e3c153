"""The tables of transitions of the page."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from report import words_labels as labels
from report import words_said as sentences
from report import words_tables as tables_words
from report.page_material import entry_s, runs
from report.result import Finding, Result, TransitionRow
from report.words import Names
from track.arena import LETTERS, Size

PLACED_WITHIN_S = 3.0
"""A finding of place belongs to a transition that is no further off in time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TransitionLine:
    """One transition as the table prints it."""

    since: str
    change: str
    place: str
    word: str
    kind: str
    between: str
    sd: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TransitionTable:
    """Transitions with the zero of their times in words."""

    zero: str
    lines: tuple[TransitionLine, ...]

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.lines)


def transition_tables(result: Result) -> tuple[TransitionTable, ...]:
    """One table per riding of the sheet; without any, one of the whole ride."""
    tables = [_run_table(result, *span) for span in sheet_times(result)]
    return tuple(t for t in tables if t.lines) if tables else (all_transitions(result),)


def all_transitions(result: Result) -> TransitionTable:
    """Every transition of the ride."""
    lines = tuple(_transition_line(result, row, 0.0) for row in result.transitions)
    return TransitionTable(zero=tables_words.INTO_THE_RIDE, lines=lines)


def _run_table(result: Result, run: int, start_s: float, end_s: float) -> TransitionTable:
    entry = entry_s(result, run)
    rows = [row for row in result.transitions if start_s - 2 <= row.t_s <= end_s + 2]
    return TransitionTable(
        zero=tables_words.INTO_THE_RIDE if entry is None else tables_words.AFTER_THE_A,
        lines=tuple(_transition_line(result, row, entry or 0.0) for row in rows),
    )


def sheet_times(result: Result) -> list[tuple[int, float, float]]:
    """Run, start and end of each riding of the sheet, s."""
    out = []
    for run in runs(result):
        rows = [r for r in result.movements if r.run == run]
        starts = [r.start_s for r in rows if r.start_s is not None]
        ends = [r.end_s for r in rows if r.end_s is not None]
        if starts and ends:
            out.append((run, min(starts), max(ends)))
    return out


def run_at(result: Result, t_s: float) -> int:
    """The riding of the sheet that an instant belongs to; 0 outside all of them."""
    inside = [run for run, start, end in sheet_times(result) if start - 2 <= t_s <= end + 2]
    return inside[0] if inside else 0


def _transition_line(result: Result, row: TransitionRow, zero_s: float) -> TransitionLine:
    placed = _placing(result, row)
    return TransitionLine(
        since=sentences.clock(max(0.0, row.t_s - zero_s)),
        change=f"{labels.GAITS[row.from_gait]} to {labels.GAITS[row.to_gait]}",
        place=placed.shown if placed else _nearest_letter(result, row),
        word=labels.VERDICTS[placed.verdict] if placed else "",
        kind=(placed.verdict or "measured").replace(" ", "-") if placed else "",
        between=f"{row.between_strides:.1f}".removesuffix(".0"),
        sd=f"±\u00a0{row.t_sd_s:.1f}\u00a0s",
    )


def _placing(result: Result, row: TransitionRow) -> Finding | None:
    """The finding that says where this transition came against its letter."""
    best: tuple[float, Finding] | None = None
    for movement in result.movements:
        for finding in movement.findings:
            fits = finding.measure in ("placement", "halt_place") and finding.value is not None
            if not fits or finding.start_s is None or finding.gait != row.to_gait:
                continue
            off = _seconds_off(finding, row.t_s)
            if off <= PLACED_WITHIN_S and (best is None or off < best[0]):
                best = (off, finding)
    return best[1] if best else None


def _seconds_off(finding: Finding, t_s: float) -> float:
    start = finding.start_s or 0.0
    end = finding.end_s if finding.end_s is not None else start
    return max(0.0, start - t_s, t_s - end)


def _nearest_letter(result: Result, row: TransitionRow) -> str:
    arena = result.arena
    if arena is None or row.x_m is None or row.y_m is None:
        return "–"
    letter = nearest_letter(arena.size, row.x_m, row.y_m)
    return tables_words.NEAR.format(
        Names(size=arena.size, known=arena.ends == "known").place(letter)
    )


def nearest_letter(size: Size, x_m: float, y_m: float) -> str:
    """The letter nearest to a place.

    Examples
    --------
    >>> nearest_letter("20x40", -9.0, 1.0)
    'E'
    """
    places = LETTERS[size]
    return min(places, key=lambda name: hypot(places[name][0] - x_m, places[name][1] - y_m))
