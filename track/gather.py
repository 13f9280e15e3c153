"""Fixes and motion laid on one row of epochs, ready for the smoother."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from ingest.columns import LAT_DEG, LON_DEG
from ingest.recording import Recording
from track.clocks import align
from track.evidence import EPOCH_S, Evidence, Fixes, Speeds, YawSteps, stir_of, yaw_steps
from track.fixes import CleanFixes
from track.motion import Motion
from track.path import Bools, Floats
from track.smoother_state import Noise
from track.stage import Clock

SAMPLE_EPOCHS: Final = 1200
"""Ten minutes with much turning teach noise levels and lag as well as an hour does."""

FIRST_FIX_M: Final = 0.1
FIRST_DRIFT_RATE: Final = 0.2
"""Fixes jump little and drift much [measured on phones]: learning from the other side stops with
some of the drift taken for jumps, and what lies still then looks surer than it is."""


def gathered(fixes: CleanFixes, motion: Motion | None, shift_s: float) -> Evidence:
    """Fixes, speeds, turns and stillness on one row of epochs."""
    slack_s = 1.0 if motion is not None else EPOCH_S / 2
    first = fixes.t_s[0] + shift_s - slack_s
    count = int(np.ceil((fixes.t_s[-1] + shift_s + slack_s - first) / EPOCH_S)) + 1
    t_s = first + EPOCH_S * np.arange(count)
    told = np.isfinite(fixes.speed_ms)
    return Evidence(
        t_s=t_s,
        fixes=Fixes(t_s=fixes.t_s, east_m=fixes.east_m, north_m=fixes.north_m, spread=fixes.spread),
        speeds=Speeds(
            t_s=fixes.t_s[told],
            speed_ms=fixes.speed_ms[told],
            course_rad=fixes.course_rad[told],
        ),
        yaw=yaw_steps(motion, t_s),
        still=_still(motion, t_s),
        reset_s=fixes.reset_s,
        stir_ms=stir_of(motion, t_s),
    )


def _still(motion: Motion | None, at_s: Floats) -> Bools:
    """Epochs in which the body stood still, from half an epoch before to half after."""
    if motion is None or not motion.still.any():
        return np.zeros(len(at_s), dtype=np.bool_)
    still = (motion.still & motion.valid).astype(np.float64)
    edges = [np.interp(at_s + d, motion.t_s, still, left=0, right=0) for d in (-0.25, 0.0, 0.25)]
    return np.asarray(np.min(edges, axis=0) > 0.99)


def first_noise(evidence: Evidence) -> Noise:
    """Levels to start from; the motion stage knows its own."""
    if evidence.yaw is None:
        return Noise()
    return Noise(
        turn_rads=max(evidence.yaw.sd_rads, 0.005), fix_m=FIRST_FIX_M, drift_rate=FIRST_DRIFT_RATE
    )


def first_clock(recording: Recording, fixes: CleanFixes, motion: Motion | None) -> Clock | None:
    """How motion and positions lie together before the path is known."""
    if motion is None or recording.fixes is None:
        return None
    table = recording.fixes
    east, north = fixes.plane.to_plane(table[LAT_DEG].to_numpy(), table[LON_DEG].to_numpy())
    return align(motion, table, east, north, clocks_shared=recording.clocks_shared)


def sample_of(evidence: Evidence, shift_s: float) -> Evidence:
    """The ten minutes with most turning; the whole where it is hardly longer."""
    n = len(evidence.t_s)
    if n < 1.3 * SAMPLE_EPOCHS:
        return evidence
    turning = np.zeros(n) if evidence.yaw is None else np.append(np.abs(evidence.yaw.turn_rad), 0.0)
    total = np.concatenate([[0.0], np.cumsum(turning)])
    start = int(np.argmax(total[SAMPLE_EPOCHS:] - total[:-SAMPLE_EPOCHS]))
    if evidence.yaw is None:
        start = (n - SAMPLE_EPOCHS) // 2
    return _excerpt(evidence, slice(start, start + SAMPLE_EPOCHS), shift_s)


def _excerpt(evidence: Evidence, part: slice, shift_s: float) -> Evidence:
    """The evidence of some epochs alone."""
    t_s, yaw = evidence.t_s[part], evidence.yaw
    fixes, speeds = evidence.fixes, evidence.speeds
    margin_s = 2 * EPOCH_S
    early, late = t_s[0] + margin_s - shift_s, t_s[-1] - margin_s - shift_s
    kept = (fixes.t_s >= early) & (fixes.t_s <= late)
    told = (speeds.t_s >= early) & (speeds.t_s <= late)
    links = slice(part.start, part.stop - 1)
    return replace(
        evidence,
        t_s=t_s,
        fixes=Fixes(
            t_s=fixes.t_s[kept],
            east_m=fixes.east_m[kept],
            north_m=fixes.north_m[kept],
            spread=fixes.spread[kept],
        ),
        speeds=Speeds(
            t_s=speeds.t_s[told],
            speed_ms=speeds.speed_ms[told],
            course_rad=speeds.course_rad[told],
        ),
        yaw=None
        if yaw is None
        else YawSteps(
            turn_rad=yaw.turn_rad[links],
            bulge_rad=yaw.bulge_rad[links],
            known=yaw.known[links],
            sd_rads=yaw.sd_rads,
        ),
        still=evidence.still[part],
        stir_ms=None if evidence.stir_ms is None else evidence.stir_ms[links],
        reset_s=evidence.reset_s[(evidence.reset_s >= early) & (evidence.reset_s <= late)],
    )
