"""The tables of the page: transitions, reins, minutes, and every number with its key."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

from report import words_labels as labels
from report import words_said as sentences
from report import words_tables as tables_words
from report.page_material import entry_s, runs
from report.result import Finding, Gait, RatingRow, Result, RhythmRow, TransitionRow, Value, WarmUp
from report.words import Names, capital, listed, plus_minus
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


@dataclass(frozen=True, slots=True, kw_only=True)
class ReinLine:
    """One row of left against right."""

    name: str
    left: str
    right: str
    difference: str


def rein_lines(result: Result) -> tuple[ReinLine, ...]:
    """Each rhythm figure that was measured on both reins."""
    rows = {(row.gait, row.rein): row for row in result.rhythm}
    gaits: tuple[Gait, ...] = ("walk", "trot", "canter")
    out = []
    for gait in gaits:
        left, right = rows.get((gait, "left")), rows.get((gait, "right"))
        if left is not None and right is not None:
            out += list(_rein_lines(gait, left, right))
    return tuple(out)


def _rein_lines(gait: Gait, left: RhythmRow, right: RhythmRow) -> Iterator[ReinLine]:
    for key, words in tables_words.REIN_ROWS.items():
        one, other = getattr(left, key), getattr(right, key)
        if one is not None and other is not None:
            digits = 2 if key == "stride_length_m" else 1
            yield ReinLine(
                name=capital(words.format(labels.GAITS[gait])),
                left=_shown(one, digits), right=_shown(other, digits),
                difference=difference(one, other, digits),
            )  # fmt: skip


def _shown(value: Value, digits: int) -> str:
    return plus_minus(value.value, value.sd, "", digits).strip()


def difference(left: Value, right: Value, digits: int) -> str:
    """Left against right: named only where it is larger than twice its doubt.

    Examples
    --------
    >>> difference(Value(value=79.4, sd=0.3), Value(value=78.1, sd=0.3), 1)
    'left more by 1.3 ± 0.4'
    >>> difference(Value(value=79.4, sd=0.3), Value(value=79.1, sd=0.3), 1)
    'none we could see'
    """
    gap, sd = left.value - right.value, hypot(left.sd, right.sd)
    if abs(gap) <= 2 * sd:
        return tables_words.NO_DIFFERENCE
    return tables_words.DIFFERENCE.format(
        tables_words.MORE[gap > 0], plus_minus(abs(gap), sd, "", digits).strip()
    )


def minute_lines(result: Result) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Names and minutes per gait and per rein; the second is empty without a path."""
    time = result.time_in
    gaits = [
        (labels.GAITS["walk"], time.walk_s), (labels.GAITS["trot"], time.trot_s),
        (labels.GAITS["canter"], time.canter_s), (labels.GAITS["halt"], time.halt_s),
        (labels.GAITS["unknown"], time.unknown_s),
    ]  # fmt: skip
    reins = [
        (labels.REINS["left"], time.left_rein_s), (labels.REINS["right"], time.right_rein_s),
        (labels.REINS["straight"], time.straight_s),
    ]  # fmt: skip
    return (
        [(name, sentences.minutes(s)) for name, s in gaits if s >= 3],
        [(name, sentences.minutes(s)) for name, s in reins if s is not None],
    )


def warm_up_sentences(result: Result) -> tuple[str, ...]:
    """The shape of the session in sentences; what is not known is left out."""
    warm = result.warm_up
    out = []
    if warm.first_trot_s is not None:
        out.append(tables_words.FIRST_TROT.format(sentences.clock(warm.first_trot_s)))
    if warm.first_canter_s is not None:
        out.append(tables_words.FIRST_CANTER.format(sentences.clock(warm.first_canter_s)))
    out.append(
        tables_words.WALK_BREAKS.get(
            warm.walk_breaks, tables_words.WALK_BREAKS_MANY.format(warm.walk_breaks)
        )
    )
    if warm.longest_without_walk_break_s is not None:
        out.append(
            tables_words.LONGEST.format(sentences.minutes(warm.longest_without_walk_break_s))
        )
    if warm.changes_of_rein is not None:
        changes = warm.changes_of_rein
        out.append(
            tables_words.CHANGES_OF_REIN.get(
                changes, tables_words.CHANGES_OF_REIN_MANY.format(changes)
            )
        )
    if warm.settled_s is not None:
        out.append(_settled(warm, warm.settled_s))
    elif warm.settled_because:
        out.append(tables_words.NOT_SETTLED.format(warm.settled_because))
    return tuple(out)


def _settled(warm: WarmUp, at_s: float) -> str:
    gait = labels.GAITS[warm.settled_gait or "unknown"]
    doubt = (
        ""
        if warm.settled_sd_s is None
        else tables_words.SETTLED_SD.format(sentences.clock(warm.settled_sd_s))
    )
    after = warm.settled_after_s
    if after is not None and after.value < 1.0:
        return tables_words.SETTLED_AT_ONCE.format(gait, doubt)
    words = (
        tables_words.SETTLED if warm.settled_gait is None else tables_words.SETTLED_IN.format(gait)
    )
    return words.format(sentences.clock(at_s) + doubt)


def part_lines(result: Result) -> tuple[tuple[str, str, str, str], ...]:
    """Gait, rein, minutes and strides of every part of the ride; empty without a path."""
    return tuple(
        (
            labels.GAITS[part.gait],
            labels.REINS[part.rein],
            sentences.minutes(part.seconds),
            str(part.stride_count),
        )
        for part in result.time_in.parts
        if part.seconds >= 3
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingLine:
    """One overall rating: counts in words per rein, and its sentence."""

    name: str
    sentence: str
    counts: tuple[str, ...]


def rating_lines(result: Result) -> tuple[RatingLine, ...]:
    """The overall ratings that were made."""
    rows = (
        result.ratings.circle_shape, result.ratings.rhythm_regularity,
        result.ratings.transition_placement,
    )  # fmt: skip
    return tuple(
        RatingLine(name=labels.RATINGS[row.name], sentence=row.sentence, counts=_counts(row))
        for row in rows
        if row is not None
    )


def _counts(row: RatingRow) -> tuple[str, ...]:
    words: dict[str, str] = {str(key): word for key, word in labels.VERDICTS.items()}
    return tuple(
        f"{capital(labels.REINS[rein])}: "
        + listed([f"{n} {words.get(verdict, verdict)}" for verdict, n in counts.items() if n])
        for rein, counts in row.counts.items()
        if any(counts.values())
    )  # fmt: skip
