"""The floor plan page: what is asked where, when it comes, and how to set it out."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from report import words_plan
from report.look import environment, security_policy
from report.page_words import words_of_pages
from report.plan_drawing import commands_of, small_plan, whole_plan
from track.floorplan import CallSheet, Speeds, call_sheet
from track.layout import Layout
from track.setting_out import setting_out, tape_check


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedMovement:
    """One movement on the page."""

    number: int
    coefficient: int
    commands: tuple[str, ...]
    filled: tuple[str, ...]
    text: str
    at_s: float | None
    seconds: float | None
    plan: Markup | None


def render_plan(layout: Layout, speeds: Speeds | None = None, *, speeds_from: str = "") -> str:
    """Write the floor plan page.

    Parameters
    ----------
    layout : Layout
    speeds : Speeds, optional
        Usual ones when left out.
    speeds_from : str
        Where the speeds come from, for people; empty for the usual ones.

    Returns
    -------
    str
        One self-contained HTML page.
    """
    pace = speeds or Speeds()
    calls = call_sheet(layout, pace)
    template = environment().get_template("plan.html.j2")
    return template.render(
        w=words_of_pages(), p=words_plan, policy=security_policy(), title=layout.sheet.title,
        about=words_plan.about(layout, calls), speeds=words_plan.speeds_line(pace, speeds_from),
        gaits=[g for g in ("walk", "trot", "canter", "halt") if g in layout.gait],
        whole=whole_plan(layout), calls=calls, busy=busy_lines(calls),
        movements=planned_movements(layout, calls),
        setting_out=setting_out(layout.sheet), tapes=tape_check(layout.sheet.arena),
    )  # fmt: skip


def busy_lines(calls: CallSheet) -> list[str]:
    """One sentence for each pair of commands that come within six seconds."""
    return [words_plan.busy_line(first, then) for first, then in calls.busy]


def planned_movements(layout: Layout, calls: CallSheet) -> list[PlannedMovement]:
    """Every movement with its commands, its time and its small plan."""
    times = {number: (start, end) for number, start, end in calls.starts_s}
    rows = []
    for line in layout.movements:
        asked = layout.sheet.movements[line.number - 1]
        start, end = times.get(line.number, (None, None))
        rows.append(
            PlannedMovement(
                number=line.number,
                coefficient=asked.coefficient,
                commands=commands_of(layout, line),
                filled=tuple(s.text for s in line.stretches if s.filled),
                text=asked.text,
                at_s=start,
                seconds=None if start is None or end is None else end - start,
                plan=small_plan(layout, line) if start is not None else None,
            )
        )
    return rows
