"""From an alignment to runs and movements with their times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from track.layout import Change, Layout, MovementLine
from track.match_states import EPOCH_S, STEP_M, Ridden, States
from track.match_viterbi import BEGIN_M, BESIDE, Alignment, Table
from track.matched import MovementMatch
from track.path import Floats, Ints

LEAST_RUN_SHARE: Final = 0.08
"""A riding shorter than this share of the line is not a riding of the test."""
LEAST_LATE_SHARE: Final = 0.4
"""The same for one that does not begin at the beginning (the recording began late)."""
LEAST_BEGIN_M: Final = 30.0
MOST_BREAKS: Final = 3
BREAK_COST: Final = 15.0
LEAST_GAIN_S: Final = 0.8
FOUND_SHARE: Final = 0.6
NEAR_HALT_M: Final = 4.0
SALUTE_S: Final = 10.0
"""A last halt with its salute takes no longer [common practice, no source]; the recording may."""
LAST_HALT_SD_S: Final = 1.5
MOVED_OFF_M: Final = 5.0
END_ROOM_M: Final = 12.0
"""A movement that is a halt alone has been reached when the line came so near to it."""
TIMING_SD_M: Final = 1.5
"""Scatter of a rider's progress along the line about a boundary, beside the path's doubt."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """Epochs ``[first, last]`` that go along the line without a jump."""

    first: int
    last: int
    start_m: float
    end_m: float
    run: int = 0
    after_break: bool = False


def segments_of(aligned: Alignment, states: States) -> list[Segment]:
    """The unbroken parts of an alignment, numbered by run.

    A run begins where the test is begun from outside, or from its very start after an error.
    """
    found: list[Segment] = []
    state = aligned.state
    on = state >= 0
    steps = np.diff(state)
    broken = np.flatnonzero(~on[1:] | ~on[:-1] | (steps < 0) | (steps > 5)) + 1
    edges = [0, *broken.tolist(), state.size]
    run, furthest, beside = 0, 0.0, True
    for first, end in pairwise(edges):
        if not on[first]:
            beside = beside or state[first] == BESIDE
            continue
        start_m = float(states.s_m[state[first]])
        begins = start_m <= BEGIN_M and furthest > start_m + 15.0
        if beside or begins or not found:
            run, furthest = run + 1, 0.0
        end_m = float(states.s_m[state[end - 1]])
        found.append(
            Segment(
                first=first,
                last=end - 1,
                start_m=start_m,
                end_m=end_m,
                run=run,
                after_break=not (beside or begins),
            )
        )
        furthest, beside = max(furthest, end_m), False
    return _real_runs(found, float(states.s_m[-1]), aligned.gain)


def _real_runs(segments: list[Segment], length_m: float, gain: Table) -> list[Segment]:
    """Leave out what only looks like a riding of the test, and number the rest from 1."""
    kept: list[list[Segment]] = []
    for run in sorted({segment.run for segment in segments}):
        own = [segment for segment in segments if segment.run == run]
        marks = np.arange(0.0, length_m, 1.0)
        ridden_m = sum(any(s.start_m <= mark <= s.end_m for s in own) for mark in marks.tolist())
        begun = own[0].start_m <= BEGIN_M and own[0].end_m >= LEAST_BEGIN_M
        long_enough = ridden_m >= (LEAST_RUN_SHARE if begun else LEAST_LATE_SHARE) * length_m
        if long_enough and _fits(own, gain):
            kept.append(own)
    return [replace(item, run=n) for n, own in enumerate(kept, start=1) for item in own]


def _fits(own: Sequence[Segment], gain: Table) -> bool:
    """Whether a riding is of this sheet: in pieces, it must fit well to be believed.

    Net of its breaks a ride of the right sheet gains 1.1-1.7 per second, of a wrong one at most
    0.6, in 9 pieces or more [measured on made-up rides].
    """
    breaks = sum(segment.after_break for segment in own)
    seconds = (own[-1].last - own[0].first + 1) * EPOCH_S
    net = float(gain[own[0].first : own[-1].last + 1].sum()) - BREAK_COST * breaks
    return breaks <= MOST_BREAKS or net / seconds > LEAST_GAIN_S


def progress(
    segments: Sequence[Segment], state: Ints, ridden: Ridden, layout: Layout
) -> tuple[Floats, Ints]:
    """Distance along the line (NaN outside) and run (0 outside) of every epoch.

    The state's metre is refined by the foot of the perpendicular from the ridden point.
    """
    s = np.full(state.size, np.nan)
    run = np.zeros(state.size, dtype=np.int64)
    for segment in segments:
        here = np.arange(segment.first, segment.last + 1)
        rough = np.minimum(state[here] * STEP_M, layout.length_m)
        s[here] = np.maximum.accumulate(rough + _foot(rough, here, ridden, layout))
        run[here] = segment.run
    return np.clip(s, 0.0, layout.length_m), run


def _foot(s_m: Floats, here: Ints, ridden: Ridden, layout: Layout) -> Floats:
    """How far ahead of a place on the line the foot of the ridden point is, at most 1.5 m."""
    x, y, heading, curvature = (
        np.interp(s_m, layout.s_m, line)
        for line in (layout.x_m, layout.y_m, layout.heading_rad, layout.curvature_1m)
    )
    dx, dy = ridden.x_m[here] - x, ridden.y_m[here] - y
    ahead = dx * np.cos(heading) + dy * np.sin(heading)
    aside = dy * np.cos(heading) - dx * np.sin(heading)
    foot: Floats = np.clip(ahead / np.clip(1.0 - curvature * aside, 0.5, 2.0), -1.5, 1.5)
    return foot


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """All that is needed to put times to places.

    ``halts`` are spans in seconds in which the horse stood.
    """

    ridden: Ridden
    layout: Layout
    s_m: Floats
    halts: Sequence[tuple[float, float]]

    def passed(self, segment: Segment, s_m: float) -> tuple[float, float]:
        """When a place on the line was passed within a segment, and how sure that is, seconds.

        The ridden line's crossing of the line at right angles to the ideal one, near the
        alignment's own passing.
        """
        ridden, layout = self.ridden, self.layout
        here = np.arange(segment.first, segment.last + 1)
        s = np.clip(s_m, segment.start_m, segment.end_m)
        at = int(here[np.argmin(np.abs(self.s_m[here] - s))])
        heading = float(np.interp(s_m, layout.s_m, layout.heading_rad))
        ux, uy = np.cos(heading), np.sin(heading)
        x, y = (float(np.interp(s_m, layout.s_m, line)) for line in (layout.x_m, layout.y_m))
        near = np.arange(max(at - 8, 0), min(at + 9, ridden.t_s.size))
        ahead = (ridden.x_m[near] - x) * ux + (ridden.y_m[near] - y) * uy
        crossing = _crossing(ridden.t_s[near], ahead, float(ridden.t_s[at]))
        t = float(ridden.t_s[at]) if crossing is None else crossing
        speed = max(float(np.interp(t, ridden.t_s, ridden.speed_ms)), 0.7)
        doubt_m = float(np.hypot(np.interp(t, ridden.t_s, ridden.sd_m), TIMING_SD_M))
        return t, float(np.hypot(doubt_m / speed, EPOCH_S / 2 if crossing is None else 0.1))

    def halt_near(self, t_s: float, within_s: float = 8.0) -> tuple[float, float] | None:
        """The halt nearest to a time."""
        near = [(max(start - t_s, t_s - end, 0.0), start, end) for start, end in self.halts]
        best = min(near, default=None)
        return best[1:] if best is not None and best[0] <= within_s else None

    def moves_off(self, t_s: float) -> bool:
        """Whether the horse goes on after a time: some metres, before the recording ends."""
        after = self.ridden.t_s > t_s
        return bool(self.ridden.speed_ms[after].sum() * EPOCH_S > MOVED_OFF_M)


def _crossing(t_s: Floats, ahead_m: Floats, near_s: float) -> float | None:
    """Time of the upward zero nearest to a time; None when there is none."""
    up = np.flatnonzero((ahead_m[:-1] < 0) & (ahead_m[1:] >= 0))
    if up.size == 0:
        return None
    share = -ahead_m[up] / (ahead_m[up + 1] - ahead_m[up])
    times = t_s[up] + share * (t_s[up + 1] - t_s[up])
    return float(times[np.argmin(np.abs(times - near_s))])


def movements_of(reading: Reading, segments: Sequence[Segment]) -> tuple[MovementMatch, ...]:
    """Every movement of every run."""
    sheet = reading.layout.sheet
    rows: list[MovementMatch] = []
    for run in sorted({segment.run for segment in segments}):
        own = [segment for segment in segments if segment.run == run]
        for line in reading.layout.movements:
            if not sheet.movements[line.number - 1].of or line.stretches or line.changes:
                rows.append(_movement(reading, line, own, run))
    return tuple(rows)


def _movement(
    reading: Reading, line: MovementLine, segments: Sequence[Segment], run: int
) -> MovementMatch:
    length = max(line.end_m - line.start_m, 1.0)
    shares = [_shared(line, segment) / length for segment in segments]
    whole = [i for i, share in enumerate(shares) if share >= 0.95]
    touched = [i for i, share in enumerate(shares) if share > 0]
    if not touched or _covered(line, [segments[i] for i in touched]) < FOUND_SHARE * length:
        because = "not ridden" if not touched else "only part of it was ridden"
        return MovementMatch(number=line.number, run=run, found=False, because=because)
    first, last = (whole[0], whole[0]) if whole else (touched[0], touched[-1])
    start, start_sd = _boundary(reading, line.start_m, line.number - 1, segments[first])
    end, end_sd = _boundary(reading, line.end_m, line.number, segments[last])
    return MovementMatch(
        number=line.number,
        run=run,
        found=True,
        start_s=start,
        start_sd_s=start_sd,
        end_s=max(end, start),
        end_sd_s=end_sd,
    )


def _shared(line: MovementLine, segment: Segment) -> float:
    low = max(line.start_m, segment.start_m)
    room = END_ROOM_M if line.end_m == line.start_m else 2.0
    high = min(max(line.end_m, line.start_m + 1.0), segment.end_m + room)
    return max(high - low, 0.0)


def _covered(line: MovementLine, segments: Sequence[Segment]) -> float:
    """Length of the movement's line that some segment went along."""
    low, high = line.start_m, max(line.end_m, line.start_m + 1.0)
    marks = np.arange(low, high, 0.5)
    ridden = np.zeros(marks.size, dtype=bool)
    for segment in segments:
        room = END_ROOM_M if line.end_m == line.start_m else 2.0
        ridden |= (marks >= segment.start_m - 1.0) & (marks <= segment.end_m + room)
    return float(ridden.sum() * 0.5)


def _boundary(reading: Reading, s_m: float, before: int, segment: Segment) -> tuple[float, float]:
    """When one movement ends and the next begins; after a halt, when the horse moves off.

    Where she is not seen to move off again (the recording ends, the phone is taken out), it ends
    with the standing, or when a salute must be over.
    """
    t, sd = reading.passed(segment, s_m)
    halt = _halt_at(reading.layout, s_m)
    stood = reading.halt_near(t) if halt is not None else None
    if halt is None or stood is None:
        return t, sd
    number, change = halt
    if number > before:
        return min(t, stood[0]), max(sd, 0.5)
    if reading.moves_off(stood[1]):
        return stood[1], 0.5
    salute_s = max(SALUTE_S, change.halt_s or 0.0)
    return min(stood[1], stood[0] + salute_s), LAST_HALT_SD_S


def _halt_at(layout: Layout, s_m: float) -> tuple[int, Change] | None:
    """The halt asked for at a boundary, with its movement's number."""
    halts = [(line.number, c) for line in layout.movements for c in line.changes]
    near = [
        (number, change)
        for number, change in halts
        if change.to_gait == "halt" and abs(change.start_m - s_m) < NEAR_HALT_M
    ]
    return near[0] if near else None
