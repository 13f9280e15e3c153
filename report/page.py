"""``report.html``: a result as a page that opens from disk and loads nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from markupsafe import Markup

from report import words_labels as labels
from report import words_page as w
from report import words_tables as tables_words
from report.charts import sheet_spans, tempo_drawing, tempo_lines, tempo_words
from report.look import environment, json_block, security_policy
from report.page_circles import circle_groups, folded_plan
from report.page_figures import figure_rows, repeat_blocks
from report.page_head import head_parts, summary_parts
from report.page_marks import JudgeSheet
from report.page_material import LEAST_POINTS, Material, material, runs
from report.page_numbers import all_numbers
from report.page_overview import overview
from report.page_path import DrawnPath
from report.page_plan import whole_plan
from report.page_rows import movement_rows
from report.page_words import words_of_pages
from report.page_zoom import packed_zoom_source, zoom_figure, zoom_script, zoom_source
from report.result import Result
from track.layout import Layout

NARROW_PX: Final = (328.0, 270.0)
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
    parts = {**head_parts(result), **_sections(made), **_tempo(result)}
    scripts = [zoom_script(), zoom_source()] if parts["tempo"] else []
    template = environment().get_template("report.html.j2")
    return template.render(**parts, w=words_of_pages(), policy=security_policy(scripts))


def _sections(made: Material) -> dict[str, Any]:
    result, marks = made.result, made.marks
    ridings = [(run, movement_rows(made, run)) for run in runs(result)]
    figures = [(rein, figure_rows(made, rein)) for rein in ("left", "right")]
    figures = [(rein, rows) for rein, rows in figures if rows]
    circles = _circles(made)
    known = result.arena is None or result.arena.ends == "known"
    return {
        **summary_parts(made), "runs": ridings, "figures": figures, "circles": circles,
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
        ("transitions", tables_words.TRANSITIONS_TITLE),
        *([("tempo", tables_words.TEMPO_TITLE)] if tempo_lines(result.strides) else []),
        ("reins", tables_words.REINS_TITLE), ("session", tables_words.SESSION_TITLE),
        ("notes", tables_words.NOTES_TITLE),
        *([("detection", w.DETECTION_TITLE)] if result.detection is not None else []),
        ("not-seen", tables_words.NOT_SEEN_TITLE), ("curious", tables_words.CURIOUS_TITLE),
    ]  # fmt: skip


def _circles(made: Material) -> list[tuple[str, Markup]]:
    path = made.result.path
    if path is None or len(path.t_s) < LEAST_POINTS:
        return []
    drawn = DrawnPath(row=path, bouts=made.result.bouts)
    groups = circle_groups(made.result, drawn)
    return [
        (
            w.FOLDED_CAPTION.format(nominal, labels.GAITS[gait], *_counts(rows)),
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
        title=tables_words.WHOLE_RIDE, desc=tables_words.WHOLE_RIDE_WARNING,
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
