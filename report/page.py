"""``report.html`` and ``coach.html``: a result as pages that open from disk and load nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from markupsafe import Markup

from report import words_page as w
from report.charts import sheet_spans, tempo_drawing, tempo_lines, tempo_words
from report.headline import Told, headline
from report.look import environment, json_block, security_policy
from report.page_circles import circle_groups, folded_plan
from report.page_marks import JudgeSheet
from report.page_numbers import all_numbers
from report.page_overview import overview
from report.page_path import DrawnPath
from report.page_plan import whole_plan
from report.page_rows import (
    LEAST_POINTS,
    Material,
    Row,
    event_words,
    figure_rows,
    material,
    movement_rows,
    repeat_blocks,
    runs,
    since,
)
from report.page_tables import (
    all_transitions,
    minute_lines,
    part_lines,
    rating_lines,
    rein_lines,
    run_at,
    transition_tables,
    warm_up_sentences,
)
from report.page_zoom import packed_zoom_source, zoom_figure, zoom_script, zoom_source
from report.remarks import meanings
from report.result import Result
from track.layout import Layout

NARROW_PX: Final = (328.0, 270.0)
COACH_PLAN_PX: Final = 230.0
COACH_FIGURES: Final = 6
"""Figures of one rein on the coach's page: it is read in two minutes."""
LARGE_PX: Final = (960.0, 320.0)


def render_report(result: Result, layout: Layout | None, *, marks: JudgeSheet | None = None) -> str:
    """Write the rider's page.

    Parameters
    ----------
    result : Result
    layout : Layout or None
        The sheet the ride was compared with, laid out.
    marks : JudgeSheet or None

    Returns
    -------
    str
        One self-contained HTML page.
    """
    made = material(result, layout, marks)
    parts = {**_head(result), **_sections(made), **_tempo(result)}
    scripts = [zoom_script(), zoom_source()] if parts["tempo"] else []
    template = environment().get_template("report.html.j2")
    return template.render(**parts, w=w, policy=security_policy(scripts))


def render_coach(result: Result, layout: Layout | None, *, marks: JudgeSheet | None = None) -> str:
    """Write the coach's page: two minutes to read, no script, under 300 kB.

    Parameters
    ----------
    result : Result
    layout : Layout or None
    marks : JudgeSheet or None

    Returns
    -------
    str
        One self-contained HTML page.
    """
    made = material(result, layout, marks, tallest_px=COACH_PLAN_PX)
    template = environment().get_template("coach.html.j2")
    return template.render(
        **_head(result), **_summary(made), plans=_plans(made), figures=_coach_figures(made),
        marks=marks,
        w=w, policy=security_policy(),
    )  # fmt: skip


def _head(result: Result) -> dict[str, Any]:
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
    bits = [ride.horse, w.KINDS[ride.kind] if ride.kind else None, ride.label]
    if result.arena is not None:
        bits.append(w.SCHOOL_SIZE.format(result.arena.size))
    bits.append(w.LASTED.format(w.clock(ride.duration_s)))
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
        text = text.replace(name, w.A_FILE)
    return text


def _summary(made: Material) -> dict[str, Any]:
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
        f"{w.mark_of(mark.movement, mark.name)}: {mark.adds}"
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
            out.append(words.format(w.listed(lost)) + of_run)
    for error in result.course_errors:
        run = run_at(result, error.t_s) or ridings[0] if ridings else 1
        out.append(f"{w.COURSE_ERROR}, {since(result, run, error.t_s)}: {error.text}")
    return out


def _drawn_marks(result: Result) -> list[str]:
    """Marks that the plans carry and the legend explains."""
    figures = any(f.kind == "circle" for f in result.figures) and bool(result.strides)
    return ["quarter"] if figures and result.path is not None else []


def _sections(made: Material) -> dict[str, Any]:
    result, marks = made.result, made.marks
    ridings = [(run, movement_rows(made, run)) for run in runs(result)]
    figures = [(rein, figure_rows(made, rein)) for rein in ("left", "right")]
    figures = [(rein, rows) for rein, rows in figures if rows]
    circles = _circles(made)
    known = result.arena is None or result.arena.ends == "known"
    return {
        **_summary(made), "runs": ridings, "figures": figures, "circles": circles,
        "overview": overview(made.layout) if made.layout and ridings and known else None,
        "numbers": [row.number for row in ridings[0][1]] if ridings else [],
        "percent": marks.percent if marks else None,
        "drawn": made.drawn is not None,
        "repeats": repeat_blocks(result),
        "detection": result.detection,
        "whole": _whole(result), "curious": list(all_numbers(result)),
        "contents": _contents(result, sheet=bool(ridings), circles=bool(circles)),
    }  # fmt: skip


def _contents(result: Result, *, sheet: bool, circles: bool) -> list[tuple[str, str]]:
    first = ("test", w.TEST_TITLE) if sheet else ("figures", w.FIGURES_TITLE)
    return [
        first,
        *([("repeats", w.REPEATS_TITLE)] if result.repeats else []),
        *([("circles", w.CIRCLES_TITLE)] if circles else []),
        ("transitions", w.TRANSITIONS_TITLE),
        *([("tempo", w.TEMPO_TITLE)] if tempo_lines(result.strides) else []),
        ("reins", w.REINS_TITLE), ("session", w.SESSION_TITLE), ("notes", w.NOTES_TITLE),
        *([("detection", w.DETECTION_TITLE)] if result.detection is not None else []),
        ("not-seen", w.NOT_SEEN_TITLE), ("curious", w.CURIOUS_TITLE),
    ]  # fmt: skip


def _circles(made: Material) -> list[tuple[str, Markup]]:
    path = made.result.path
    if path is None or len(path.t_s) < LEAST_POINTS:
        return []
    drawn = DrawnPath(row=path, bouts=made.result.bouts)
    groups = circle_groups(made.result, drawn)
    return [
        (
            w.FOLDED_CAPTION.format(nominal, w.GAITS[gait], *_counts(rows)),
            folded_plan(rows, nominal, gait, f"fold-{i}"),
        )
        for i, ((nominal, gait), rows) in enumerate(groups.items())
    ]


def _counts(rows: Sequence[Any]) -> tuple[int, int]:
    return sum(r.rein == "left" for r in rows), sum(r.rein == "right" for r in rows)


def _whole(result: Result) -> Markup | None:
    if result.path is None or len(result.path.t_s) < LEAST_POINTS:
        return None
    arena = result.arena if result.path.frame == "arena" else None
    return whole_plan(
        DrawnPath(row=result.path, bouts=result.bouts), arena.size if arena else None,
        ends_known=arena is not None and arena.ends == "known", name="whole",
        title=w.WHOLE_RIDE, desc=w.WHOLE_RIDE_WARNING,
    )  # fmt: skip


def _tempo(result: Result) -> dict[str, Any]:
    lines = tempo_lines(result.strides)
    if not lines:
        return {"tempo": None, "tempo_said": ""}
    spans, duration = sheet_spans(result), result.ride.duration_s
    drawings = [
        tempo_drawing(
            lines, spans, duration, width=width, height=height, name=f"tempo-{kind}", kind=kind
        )
        for kind, (width, height) in (("narrow", NARROW_PX), ("large", LARGE_PX))
    ]
    return {
        "tempo": drawings,
        "tempo_said": tempo_words(lines), "zoom_data": json_block(zoom_figure(lines, spans)),
        "zoom_packed": packed_zoom_source(), "zoom_script": zoom_script(),
    }  # fmt: skip


def _plans(made: Material) -> list[tuple[Told, Markup | None]]:
    """The findings to school with the plan of their movement, for the coach."""
    rows = {(run, r.number): r for run in runs(made.result) for r in movement_rows(made, run)}
    told = headline(made.result, made.layout).school
    out: list[tuple[Told, Markup | None]] = []
    for one in told:
        row = rows.get((one.run, str(one.movement)))
        out.append((one, row.plan if row is not None else None))
    return out


def _coach_figures(made: Material) -> list[tuple[str, tuple[Row, ...], int]]:
    """Without a sheet: the first figures of each rein, drawn, and how many more there were."""
    if made.result.movements:
        return []
    reins = [(rein, figure_rows(made, rein)) for rein in ("left", "right")]
    return [
        (rein, _chosen(rows), max(0, len(rows) - COACH_FIGURES)) for rein, rows in reins if rows
    ]


def _chosen(rows: tuple[Row, ...]) -> tuple[Row, ...]:
    """As many figures as the coach has time for: those outside their band, then the first."""
    outside = [row for row in rows if row.lead is not None and row.lead.kind == "outside"]
    rest = [row for row in rows if row not in outside]
    kept = [*outside, *rest][:COACH_FIGURES]
    return tuple(row for row in rows if row in kept)
