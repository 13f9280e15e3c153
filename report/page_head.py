"""What both pages have: the title block, what is said first, and the tables."""

from __future__ import annotations

from typing import Any

import numpy as np

from report import words_labels as labels
from report import words_page as w
from report import words_said as sentences
from report import words_tables as tables_words
from report.headline import headline
from report.page_marks import JudgeSheet
from report.page_material import Material, event_words, runs, since
from report.page_session import (
    minute_lines,
    part_lines,
    rating_lines,
    rein_lines,
    warm_up_sentences,
)
from report.page_tables import all_transitions, run_at, transition_tables
from report.remarks import meanings
from report.result import Result
from report.words import listed


def head_parts(result: Result) -> dict[str, Any]:
    """The title block, the legend and the notes on the recording."""
    present = {bout.gait for bout in result.bouts}
    return {
        "title": _title(result), "about": _about(result), "quality": quality(result),
        "gaits": [g for g in ("walk", "trot", "canter", "halt") if g in present],
        "notes": [n.model_copy(update={"text": unnamed(n.text, result)}) for n in result.notes],
        "lines": result.path is not None, "drawn_marks": _drawn_marks(result),
    }  # fmt: skip


def _title(result: Result) -> str:
    if result.sheet is not None:
        return result.sheet.title
    return w.TITLE_NO_SHEET if result.arena is not None else w.TITLE_NO_SCHOOL


def _about(result: Result) -> str:
    ride = result.ride
    bits = [ride.horse, labels.KINDS[ride.kind] if ride.kind else None, ride.label]
    if result.arena is not None:
        bits.append(w.SCHOOL_SIZE.format(result.arena.size))
    bits.append(w.LASTED.format(sentences.clock(ride.duration_s)))
    return " · ".join(bit for bit in bits if bit)


def quality(result: Result) -> str:
    """What was recorded and how well the line is known, in one or two sentences."""
    ride = result.ride
    said = []
    if ride.fix_rate_hz:
        said.append(w.FIXES.format(1 / ride.fix_rate_hz))
    if ride.motion_rate_hz:
        said.append(w.MOTION.format(ride.motion_rate_hz))
    if not ride.fix_rate_hz:
        said.append(w.NO_POSITIONS)
    if not ride.motion_rate_hz:
        said.append(w.NO_MOTION)
    if result.path is not None and result.path.sd_m:
        said.append(w.LINE_KNOWN.format(float(np.median(result.path.sd_m))))
    return " ".join(said)


def unnamed(text: str, result: Result) -> str:
    """A note without the names of files: they may hold a date, a place or a device.

    The names stay in ``result.json``.
    """
    names = {part for name in result.ride.sources for part in (name, name.rsplit("/", 1)[-1])}
    for name in sorted(names, key=len, reverse=True):
        text = text.replace(name, tables_words.A_FILE)
    return text


def summary_parts(made: Material) -> dict[str, Any]:
    """What both pages have."""
    result = made.result
    by_gait, by_rein = minute_lines(result)
    return {
        "head": headline(result, made.layout),
        "asked_transitions": transition_tables(result),
        "all_transitions": all_transitions(result),
        "reins": rein_lines(result), "ratings": rating_lines(result),
        "warm_up": warm_up_sentences(result), "by_gait": by_gait, "by_rein": by_rein,
        "parts": part_lines(result),
        "uneven": uneven_lines(made.marks), "course": course_lines(result),
        "events": [event_words(result, run_at(result, e.start_s) or 1, e) for e in result.events],
    }  # fmt: skip


def uneven_lines(marks: JudgeSheet | None) -> list[str]:
    """What must be said first when a judge saw uneven steps: it is never argued with."""
    return [
        f"{sentences.mark_of(mark.movement, mark.name)}: {mark.adds}"
        for mark in (marks.rows if marks else ())
        if any(not meaning.argued for meaning in meanings(mark.remark, mark.underlined))
    ]


def course_lines(result: Result) -> list[str]:
    """What went another way than the sheet: movements not found, and errors of course."""
    ridings = runs(result)
    out = []
    for run in ridings:
        lost = [str(r.number) for r in result.movements if r.run == run and not r.found]
        if lost:
            words = w.NOT_FOUND_ONE if len(lost) == 1 else w.NOT_FOUND_MANY
            of_run = w.IN_RUN.format(w.ORDINALS.get(run, run)) if len(ridings) > 1 else ""
            out.append(words.format(listed(lost)) + of_run)
    for error in result.course_errors:
        run = run_at(result, error.t_s) or ridings[0] if ridings else 1
        out.append(f"{w.COURSE_ERROR}, {since(result, run, error.t_s)}: {error.text}")
    return out


def _drawn_marks(result: Result) -> list[str]:
    """Marks that the plans carry and the legend explains."""
    figures = any(f.kind == "circle" for f in result.figures) and bool(result.strides)
    return ["quarter"] if figures and result.path is not None else []
