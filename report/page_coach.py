"""``coach.html``: two minutes to read, two sheets of paper, no script."""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

from report.headline import Told, headline
from report.look import environment, security_policy
from report.page_figures import figure_rows
from report.page_head import head_parts, summary_parts
from report.page_marks import JudgeSheet
from report.page_material import Material, material, runs
from report.page_rows import Row, movement_rows
from report.page_words import words_of_pages
from report.result import Result
from track.layout import Layout

COACH_PLAN_PX: Final = 230.0
COACH_FIGURES: Final = 6
"""Figures of one rein on the coach's page: it is read in two minutes."""


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
        **head_parts(result), **summary_parts(made), plans=_plans(made),
        figures=_coach_figures(made), marks=marks, w=words_of_pages(), policy=security_policy(),
    )  # fmt: skip


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
