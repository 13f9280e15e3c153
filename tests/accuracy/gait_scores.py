"""What a decoded ride is scored on, against its truth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from gait.bouts import Gaits, Stride, gait_at
from gait.tempo import tempo_of
from gait.variation import cv_of
from tests.accuracy.gait_rides import Changed, GaitRide
from track.path import Floats, Ints

GAITS = ("halt", "walk", "trot", "canter", "unknown")
STEP_S = 0.1
EDGE_S = 1.0
"""About the handling of the phone nothing is scored."""
CHANGE_EDGE_S = 4.0
NEAR_S = 3.0
ONSET_S = 0.6
"""So far from a change of gait its onset may be placed off."""
BLOCK = 20


@dataclass(kw_only=True)
class Scores:
    """Figures of many rides."""

    confusion: Ints = field(default_factory=lambda: np.zeros((5, 5), dtype=np.int64))
    rising_called_canter_s: list[float] = field(default_factory=list)
    walk_called_canter_s: list[float] = field(default_factory=list)
    walk_called_canter_far_s: list[float] = field(default_factory=list)
    ride_right: list[float] = field(default_factory=list)
    changes: int = 0
    missed: int = 0
    invented: int = 0
    found: int = 0
    onset_s: list[float] = field(default_factory=list)
    onset_z: list[float] = field(default_factory=list)
    between: list[float] = field(default_factory=list)
    events: int = 0
    events_found: int = 0
    events_invented: int = 0
    true_strides: dict[str, int] = field(default_factory=dict)
    found_strides: dict[str, int] = field(default_factory=dict)
    timing_s: dict[str, list[float]] = field(default_factory=dict)
    tempo_spm: list[float] = field(default_factory=list)
    cv_percent: dict[str, list[tuple[float, float, float]]] = field(default_factory=dict)


def score_ride(ride: GaitRide, gaits: Gaits, scores: Scores, *, strides: bool = True) -> None:
    """Add one ride's figures."""
    _score_seconds(ride, gaits, scores)
    _score_changes(ride, gaits, scores)
    _score_events(ride, gaits, scores)
    if strides:
        _score_strides(ride, gaits, scores)


def _usable(ride: GaitRide, t_s: Floats, edge_s: float) -> Floats:
    ok = (t_s > ride.motion.t_s[0] + edge_s) & (t_s < ride.motion.t_s[-1] - edge_s)
    for start, end in ride.handled_s:
        ok &= ~((t_s > start - edge_s) & (t_s < end + edge_s))
    return np.asarray(ok)


def _score_seconds(ride: GaitRide, gaits: Gaits, scores: Scores) -> None:
    t = np.arange(ride.bouts[0][1], ride.bouts[-1][2], STEP_S)
    t = t[_usable(ride, t, EDGE_S)]
    true = np.full(t.size, 4)
    for gait, start, end in ride.bouts:
        true[(t >= start) & (t < end)] = GAITS.index(gait)
    ours = np.array([GAITS.index(gait) for gait in gait_at(gaits, t)])
    known = true < 4
    np.add.at(scores.confusion, (true[known], ours[known]), 1)
    scores.ride_right.append(float(np.mean(true[known] == ours[known])))
    if ride.rising:
        scores.rising_called_canter_s.append(STEP_S * float(np.sum((true == 2) & (ours == 3))))
    wrong = (true == 1) & (ours == 3)
    scores.walk_called_canter_s.append(STEP_S * float(np.sum(wrong)))
    starts = np.array([start for _, start, _ in ride.bouts])
    far = np.abs(t[:, None] - starts).min(axis=1) > ONSET_S
    scores.walk_called_canter_far_s.append(STEP_S * float(np.sum(wrong & far)))


def _score_changes(ride: GaitRide, gaits: Gaits, scores: Scores) -> None:
    def inside(t_s: float) -> bool:
        return bool(_usable(ride, np.array([t_s]), CHANGE_EDGE_S)[0])

    free = list(gaits.transitions)
    for change in ride.changes:
        near = [f for f in free if _same(f.from_gait, f.to_gait, f.t_s, change)]
        if near:
            best = min(near, key=lambda f: abs(f.t_s - change.t_s))
            free.remove(best)
        if not inside(change.t_s):
            continue
        scores.changes += 1
        if not near:
            scores.missed += 1
            continue
        scores.onset_s.append(best.t_s - change.t_s)
        scores.onset_z.append((best.t_s - change.t_s) / best.t_sd_s)
        scores.between.append(best.between_strides - change.between_strides)
    # Riding in and the halt at the end are true though no sheet asks for them.
    true = [
        Changed(old=a[0], new=b[0], t_s=b[1], between_strides=0.0) for a, b in pairwise(ride.bouts)
    ]
    scores.invented += sum(
        inside(f.t_s) and not any(_same(f.from_gait, f.to_gait, f.t_s, c) for c in true)
        for f in free
    )


def _same(old: str, new: str, t_s: float, change: Changed) -> bool:
    return (old, new) == (change.old, change.new) and abs(t_s - change.t_s) < NEAR_S


def _score_events(ride: GaitRide, gaits: Gaits, scores: Scores) -> None:
    kinds = ("jog", "break")
    free = [e for e in gaits.events if e.kind in kinds]
    for kind, start, end in ride.events:
        if kind not in kinds:
            continue
        scores.events += 1
        hits = [e for e in free if e.kind == kind and e.start_s < end and e.end_s > start]
        if hits:
            scores.events_found += 1
            free.remove(hits[0])
    scores.events_invented += len(free)


def _score_strides(ride: GaitRide, gaits: Gaits, scores: Scores) -> None:
    for gait in ("walk", "trot", "canter"):
        for name, start, end in ride.bouts:
            middle = np.array([start, end])
            if name == gait and _usable(ride, middle, EDGE_S).all():
                _score_bout(ride, gaits, gait, (start, end), scores)


def _score_bout(
    ride: GaitRide, gaits: Gaits, gait: str, limits: tuple[float, float], scores: Scores
) -> None:
    true = [s for s in ride.strides if s.gait == gait and limits[0] - 0.01 <= s.t_s < limits[1]]
    ours = [
        s for s in gaits.strides
        if s.gait == gait and limits[0] <= s.t_s + 0.5 * s.duration_s < limits[1]
    ]  # fmt: skip
    scores.true_strides[gait] = scores.true_strides.get(gait, 0) + len(true)
    scores.found_strides[gait] = scores.found_strides.get(gait, 0) + len(ours)
    if len(true) < 8 or len(ours) < 8 or not _unbroken(ours):
        return
    _, _, off = _paired(true, ours)
    scores.timing_s.setdefault(gait, []).extend(off.tolist())
    _score_tempo(true, ours, scores)
    _score_cv(true, ours, gait, scores)


def _unbroken(strides: Sequence[Stride]) -> bool:
    t = np.array([s.t_s for s in strides])
    d = np.array([s.duration_s for s in strides])
    return bool(np.all(np.abs(t[1:] - t[:-1] - d[:-1]) < 0.01))


def _paired(true: Sequence[Stride], ours: Sequence[Stride]) -> tuple[Floats, Floats, Floats]:
    """True and found instants at the same phase, and their difference, the bout's offset out.

    What phase of the stride an instant stands for is a convention; one per bout is taken out.
    """
    edges = np.array([s.t_s for s in true] + [true[-1].t_s + true[-1].duration_s])
    found = np.array([s.t_s for s in ours])
    found = found[(found > edges[0]) & (found < edges[-1])]
    phase = np.interp(found, edges, np.arange(edges.size))
    offset = float(np.angle(np.exp(2j * np.pi * phase).mean()) / (2.0 * np.pi))
    at = np.round(phase - offset) + offset
    inside = (at > 0.0) & (at < edges.size - 1)
    there = np.interp(at[inside], np.arange(edges.size), edges)
    return there, found[inside], (found[inside] - there) - np.median(found[inside] - there)


def _score_tempo(true: Sequence[Stride], ours: Sequence[Stride], scores: Scores) -> None:
    """Median tempo of twenty of our strides, and of the true ones over the same time."""
    for first in range(0, len(ours) - BLOCK + 1, BLOCK):
        part = ours[first : first + BLOCK]
        start, end = part[0].t_s, part[-1].t_s + part[-1].duration_s
        same = [
            s.duration_s for s in true
            if s.t_s > start - 0.5 * s.duration_s and s.t_s + 0.5 * s.duration_s < end
        ]  # fmt: skip
        tempo = tempo_of(part)
        if tempo is not None and abs(len(same) - BLOCK) <= 1:
            scores.tempo_spm.append(tempo.value - 60.0 / float(np.median(same)))


def _score_cv(true: Sequence[Stride], ours: Sequence[Stride], gait: str, scores: Scores) -> None:
    """Variation of the strides well inside the bout, ours and true over the same stretch."""
    start, end = true[1].t_s, true[-1].t_s
    inside = [s for s in ours if s.t_s >= start and s.t_s + s.duration_s <= end]
    estimate = cv_of(inside)
    if estimate is None:
        return
    low, high = inside[0].t_s, inside[-1].t_s + inside[-1].duration_s
    d = np.array(
        [s.duration_s for s in true if s.t_s > low - 0.4 and s.t_s + s.duration_s < high + 0.4]
    )
    truth = 100.0 * float(d.std(ddof=1) / d.mean())
    scores.cv_percent.setdefault(gait, []).append((estimate.value, estimate.sd, truth))
