"""Finding a sheet in a ride: which seconds belong to which movement, and where she went wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from track.layout import Layout
from track.match_errors import errors_of
from track.match_read import Reading, Segment, movements_of, progress, segments_of
from track.match_states import Ridden, States, on_epochs, states_of
from track.match_viterbi import align
from track.matched import CourseError, Match, MovementMatch, Run
from track.path import Floats, Ints, Path

__all__ = ["CourseError", "Match", "MovementMatch", "Run", "match", "other_end_log_odds"]

_NO_TIMES = np.zeros(0)


def match(
    path: Path,
    layout: Layout,
    *,
    gait_t_s: Floats = _NO_TIMES,
    gait_names: Sequence[str] = (),
    halts: Sequence[tuple[float, float]] = (),
) -> Match:
    """Lay a ridden path against a sheet's ideal line.

    A monotone alignment by place, heading, curvature and gait. Riding before and after the test
    stays outside; the test may be ridden more than once, given up, and begun again.

    Parameters
    ----------
    path : Path
        In the arena's frame, A at the low end of y.
    layout : Layout
    gait_t_s : array, shape (m,), s
        Ascending times from which each gait holds; empty where gaits are not known.
    gait_names : sequence of str, length m
        ``"halt"``, ``"walk"``, ``"trot"``, ``"canter"`` or ``"unknown"``.
    halts : sequence of (float, float), s
        When the horse stood.

    Returns
    -------
    Match
    """
    ridden = on_epochs(path, gait_t_s, gait_names)
    states = states_of(layout)
    aligned = align(ridden, states)
    segments = segments_of(aligned, states)
    s, run = progress(segments, aligned.state, ridden, layout)
    reading = Reading(ridden=ridden, layout=layout, s_m=s, halts=halts or _standing(ridden))
    errors = errors_of(reading, segments)
    s_path, run_path = _on_path(path, ridden, s, run)
    return Match(
        t_s=path.t_s,
        s_m=s_path,
        run=run_path,
        runs=_runs(ridden, segments, states),
        movements=_explained(movements_of(reading, segments), errors),
        course_errors=errors,
        log_likelihood=aligned.log_likelihood,
    )


def _explained(
    movements: Sequence[MovementMatch], errors: Sequence[CourseError]
) -> tuple[MovementMatch, ...]:
    """Say with a movement that was not found which error of course lost it."""
    told = {(error.run, error.movement): error.text for error in errors}
    return tuple(
        row if row.found else replace(row, because=told.get((row.run, row.number), row.because))
        for row in movements
    )


def other_end_log_odds(
    path: Path,
    layout: Layout,
    *,
    gait_t_s: Floats = _NO_TIMES,
    gait_names: Sequence[str] = (),
) -> float:
    """How much better the sheet fits with A where the path has it than at the other end.

    Returns
    -------
    float
        Natural logarithm of the odds; negative when A lies at the other end.
    """
    ridden = on_epochs(path, gait_t_s, gait_names)
    states = states_of(layout)
    here, there = align(ridden, states), align(ridden.turned(), states)
    return here.log_likelihood - there.log_likelihood


def _standing(ridden: Ridden) -> list[tuple[float, float]]:
    """Spans of at least a second at less than 0.35 m/s, where nothing better tells of halts."""
    slow = np.concatenate([[False], ridden.speed_ms < 0.35, [False]])
    edges = np.flatnonzero(slow[1:] != slow[:-1]).reshape(-1, 2)
    last = ridden.t_s.size - 1
    spans = [(float(ridden.t_s[a]), float(ridden.t_s[min(b, last)])) for a, b in edges.tolist()]
    return [span for span in spans if span[1] - span[0] >= 1.0]


def _runs(ridden: Ridden, segments: Sequence[Segment], states: States) -> tuple[Run, ...]:
    rows = []
    for number in sorted({segment.run for segment in segments}):
        own = [segment for segment in segments if segment.run == number]
        rows.append(
            Run(
                number=number,
                start_s=float(ridden.t_s[own[0].first]),
                end_s=float(ridden.t_s[own[-1].last]),
                whole=max(segment.end_m for segment in own) >= float(states.s_m[-1]) - 12.0,
            )
        )
    return tuple(rows)


def _on_path(path: Path, ridden: Ridden, s: Floats, run: Ints) -> tuple[Floats, Ints]:
    """Progress at the path's own epochs."""
    if path.t_s.size == ridden.t_s.size and np.allclose(path.t_s, ridden.t_s):
        return s, run
    near = np.clip(np.round((path.t_s - ridden.t_s[0]) / 0.5).astype(np.int64), 0, s.size - 1)
    between = np.interp(path.t_s, ridden.t_s, s)
    return np.where(np.isfinite(between), between, s[near]), run[near]
