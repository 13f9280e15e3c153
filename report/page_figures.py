"""Figures found in the ride, one row each, and their repeats taken together."""

from __future__ import annotations

from dataclasses import dataclass, replace

from report import words_labels as labels
from report import words_page as w
from report import words_said as sentences
from report.page_material import Material
from report.page_plan import PlanOf, small_plan
from report.page_plan_marks import Turn
from report.page_rows import Row, finished, pointed_parts
from report.page_says import Say, say_all, untold_line
from report.result import FigureRow, RepeatRow, Result


def figure_rows(made: Material, rein: str) -> tuple[Row, ...]:
    """One row per figure of one rein, in riding order."""
    figures = [f for f in made.result.figures if f.rein == rein]
    return tuple(_figure_row(made, f, i) for i, f in enumerate(figures, start=1))


def _figure_row(made: Material, figure: FigureRow, number: int) -> Row:
    says = say_all(figure.findings, lambda t_s: "")
    name = f"{figure.kind} {figure.rein}"
    anchor = f"{figure.rein}-{number}"
    arena = made.result.arena
    plan = None
    if made.drawn is not None and arena is not None:
        spec = PlanOf(
            name=f"p-{anchor}", title=f"{name} {number}", desc=w.FIGURE_DESC,
            size=arena.size, ends_known=arena.ends == "known", start_s=figure.start_s,
            end_s=figure.end_s, parts=pointed_parts(says), tallest_px=made.tallest_px,
            turns=[Turn(start_s=figure.start_s, end_s=figure.end_s)],
        )  # fmt: skip
        plan = small_plan(spec, made.drawn, None, made.strides)
    return replace(
        finished(says, figure.findings),
        anchor=anchor, number=str(number), command=name,
        since=w.INTO_RIDE.format(sentences.clock(figure.start_s)), plan=plan,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeats:
    """Repeats of one figure on one rein, pooled, as the page says them."""

    title: str
    says: tuple[Say, ...]
    untold: str


def repeat_blocks(result: Result) -> tuple[Repeats, ...]:
    """What is said of the rider, from several figures of one kind."""
    return tuple(_repeats(row) for row in result.repeats)


def _repeats(row: RepeatRow) -> Repeats:
    asked = w.REPEATS_ASKED.format(row.asked_m) if row.asked_m else ""
    says = say_all(row.findings, lambda t_s: "", pointing=False)
    unsure = [s for s in says if s.finding.verdict in ("near", "cannot tell")]
    return Repeats(
        title=w.REPEATS.format(row.count, row.kind, row.rein, labels.GAITS[row.gait]) + asked,
        says=tuple(s for s in says if s not in unsure),
        untold=untold_line(unsure, [f for f in row.findings if f.value is None]),
    )
