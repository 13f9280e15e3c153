"""How well the trunk's turn, its stillness, its beat and the phone's slips are found.

``python -m tests.accuracy motion --rides 60 --seed 1``. Goals [track notes]: turn rate with a bias
of 0.002 and an sd of 0.013 rad/s (mean over half a second, truth averaged over the same stride) in
a swinging pocket; the bias here holds the gyroscope's own, drawn with an sd of 0.003 rad/s (second
model) and 0.008 rad/s (simulator).
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field

import numpy as np
from scipy.ndimage import uniform_filter1d

from tests.accuracy.two_models import MODELS, Known, rides
from track.motion import Motion, on_clock, read_motion
from track.motion_turn import swing_of
from track.path import Floats

_NEAR_S = 2.0
BEATS = {"walk": 2, "trot": 2, "canter": 1}


@dataclass
class Tally:
    """What was counted over all rides of one model."""

    bias: list[float] = field(default_factory=list)
    core_sd: list[float] = field(default_factory=list)
    full_sd: list[float] = field(default_factory=list)
    halts_still: list[float] = field(default_factory=list)
    moving_still: list[float] = field(default_factory=list)
    beats_right: dict[str, list[float]] = field(default_factory=dict)
    slips: int = 0
    slips_found: int = 0
    slips_invented: int = 0


def turn_error(known: Known, motion: Motion) -> Floats:
    """Mean over half a second of the turn found less the turn ridden."""
    stride = np.where(np.isfinite(motion.stride_s), motion.stride_s, 1.0)
    ridden = np.interp(motion.t_s, known.t_s, known.turn_rads)
    error = np.nan_to_num(motion.turn_rads) - swing_of(ridden, stride, motion.rate_hz)[0]
    inside = (motion.t_s > known.t_s[0] + 8) & (motion.t_s < known.t_s[-1] - 8)
    mean = uniform_filter1d(error, round(0.5 * motion.rate_hz))
    return np.asarray(mean[motion.valid & inside])


def add(tally: Tally, known: Known) -> None:
    """Count one ride."""
    motion = read_motion(known.recording)
    if motion is None:
        raise RuntimeError("a made-up ride has motion")
    motion = on_clock(motion, known.shift_s)
    error = turn_error(known, motion)
    tally.bias.append(float(np.median(error)))
    tally.core_sd.append(1.4826 * float(np.median(np.abs(error - np.median(error)))))
    tally.full_sd.append(float(error.std()))
    for gait, start_s, end_s in known.bouts:
        inside = motion.valid & (motion.t_s > start_s + 1) & (motion.t_s < end_s - 1)
        if not inside.any():
            continue
        if gait == "halt":
            tally.halts_still.append(float(motion.still[inside].mean()))
            continue
        tally.moving_still.append(float(motion.still[inside].mean()))
        if gait in BEATS and end_s - start_s > 10:
            beats = motion.beat_hz[inside] * float(np.mean(known.strides_s[gait]))
            right = np.abs(beats / BEATS[gait] - 1) < 0.1
            tally.beats_right.setdefault(gait, []).append(float(right.mean()))
    _slips(tally, known, motion)


def _slips(tally: Tally, known: Known, motion: Motion) -> None:
    near = [any(abs(true - found) < _NEAR_S for true in known.moved_s) for found in motion.moved_s]
    hit = [any(abs(true - found) < _NEAR_S for found in motion.moved_s) for true in known.moved_s]
    tally.slips += len(hit)
    tally.slips_found += sum(hit)
    tally.slips_invented += len(near) - sum(near)


def told(tally: Tally) -> list[str]:
    """The lines of one model."""
    beats = ", ".join(
        f"{gait} {100 * np.mean(share):.1f} %" for gait, share in sorted(tally.beats_right.items())
    )
    return [
        f"turn bias rms {np.sqrt(np.mean(np.square(tally.bias))):.4f}"
        f" (largest {np.max(np.abs(tally.bias)):.4f}) rad/s",
        f"turn sd, core {np.median(tally.core_sd):.4f} (largest {np.max(tally.core_sd):.4f}),"
        f" slips and changes of gait included {np.median(tally.full_sd):.4f} rad/s",
        f"still: {100 * np.mean(tally.halts_still):.1f} % of halts,"
        f" {100 * np.mean(tally.moving_still):.2f} % of movement",
        f"beat within 10 %: {beats}",
        f"slips found {tally.slips_found} of {tally.slips}, invented {tally.slips_invented}",
    ]


def main() -> None:
    """Print the figures of both models, gravity in the log or not."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rides", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    for model in MODELS:
        for gravity in (True, False):
            count = options.rides if gravity else options.rides // 3
            tally = Tally()
            for known in rides(model, count, options.seed, gravity=gravity):
                add(tally, known)
            print(f"{model}, gravity {'in' if gravity else 'not in'} the log, {count} rides")
            for line in told(tally):
                print("  " + line)


if __name__ == "__main__":
    main()
