"""Lines of the tables about the whole ride: reins, minutes, warm-up, ratings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot

from report import words_labels as labels
from report import words_said as sentences
from report import words_tables as tables_words
from report.result import Gait, RatingRow, Result, RhythmRow, Value, WarmUp
from report.words import capital, listed, plus_minus


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
