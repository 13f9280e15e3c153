"""What the rows of the page are made from, and how they say when something happened."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from report import words_labels as labels
from report import words_page as w
from report import words_said as sentences
from report.arena_svg import TALLEST_PX
from report.page_marks import JudgeSheet
from report.page_path import DrawnPath
from report.page_plan_marks import Strides
from report.result import EventRow, Result
from track.layout import Layout

LEAST_POINTS: Final = 4
"""Fewer points than this make no line."""


@dataclass(frozen=True, kw_only=True)
class Material:
    """What every row is made from.

    Attributes
    ----------
    result : Result
    layout : Layout or None
    drawn : DrawnPath or None
        None without positions or without a school.
    strides : Strides
    marks : JudgeSheet or None
    tallest_px : float
        Of a plan.
    """

    result: Result
    layout: Layout | None
    drawn: DrawnPath | None
    strides: Strides
    marks: JudgeSheet | None
    tallest_px: float = TALLEST_PX


def material(
    result: Result,
    layout: Layout | None,
    marks: JudgeSheet | None,
    *,
    tallest_px: float = TALLEST_PX,
) -> Material:
    """Gather what every row is made from."""
    path = result.path
    drawn = None
    if path is not None and path.frame == "arena" and result.arena is not None:
        drawn = DrawnPath(row=path, bouts=result.bouts) if len(path.t_s) >= LEAST_POINTS else None
    strides = Strides(
        t_s=np.array([s.t_s for s in result.strides], dtype=np.float64),
        duration_s=np.array([s.duration_s for s in result.strides], dtype=np.float64),
    )
    return Material(
        result=result,
        layout=layout,
        drawn=drawn,
        strides=strides,
        marks=marks,
        tallest_px=tallest_px,
    )


def entry_s(result: Result, run: int) -> float | None:
    """When movement 1 began in a riding of the sheet; None when that was not found."""
    starts = [
        row.start_s
        for row in result.movements
        if row.run == run and row.number == 1 and row.start_s is not None
    ]
    return starts[0] if starts else None


def since(result: Result, run: int, t_s: float | None) -> str:
    """When something happened, to find it in a video: after A, else into the ride."""
    if t_s is None:
        return ""
    start = entry_s(result, run)
    if start is None:
        return w.INTO_RIDE.format(sentences.clock(t_s))
    return w.AFTER_A.format(sentences.clock(max(0.0, t_s - start)))


def runs(result: Result) -> list[int]:
    """The numbers of the ridings of the sheet."""
    return sorted({row.run for row in result.movements})


def event_words(result: Result, run: int, event: EventRow) -> str:
    """One thing that was not planned."""
    return f"{labels.EVENTS[event.kind]}, {since(result, run, event.start_s)}: {event.because}"
