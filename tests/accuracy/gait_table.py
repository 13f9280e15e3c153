"""The gait figures beside their goals, with the band that so many rides allow."""

from __future__ import annotations

import numpy as np
from scipy.stats import binom

from tests.accuracy.gait_scores import Scores

LEAST_RIGHT = {
    ("simulator", "both"): 98.5, ("second", "both"): 97.0,
    ("simulator", "motion"): 97.0, ("second", "motion"): 97.0,
    ("simulator", "positions"): 85.0, ("second", "positions"): 85.0,
}  # fmt: skip
LEAST_F1 = {"simulator": 0.97, "second": 0.95}
GAITS = ("walk", "trot", "canter")


def table_of(scores: Scores, model: str, mode: str) -> str:
    """One line per goal; a share's band holds 95 % of what the goal itself would have shown."""
    rows = [
        _line("seconds right, %", _right(scores), LEAST_RIGHT[model, mode], least=True),
    ]
    if mode != "positions":
        rows += _gaits(scores, model) + _changes(scores) + _strides(scores)
    return "\n".join([f"{'':34s}{'goal':>8s}{'found':>9s}{'of':>7s}{'95 % band':>15s}", *rows])


def _gaits(scores: Scores, model: str) -> list[str]:
    rising = max(scores.rising_called_canter_s, default=0.0)
    return [
        _line("macro-F1", _f1(scores), LEAST_F1[model], least=True, digits=3),
        _line("rising trot called canter, s", rising, 2.0, digits=1),
        _line("walk called canter, s", max(scores.walk_called_canter_s), 0.0, digits=1),
        _line(
            "  further than .6 s from a change", max(scores.walk_called_canter_far_s), 0, digits=1
        ),
    ]


def _changes(scores: Scores) -> list[str]:
    error, count = np.abs(scores.onset_s), max(scores.changes, 1)
    rows = [
        _line("onset, median, s", float(np.median(error)), 0.25, digits=3),
        _line("onset, nine in ten, s", float(np.quantile(error, 0.9)), 0.6, digits=3),
    ]
    for name, number in (("missed", scores.missed), ("invented", scores.invented)):
        rows.append(_line(f"changes {name}, %", 100 * number / count, 2.0, of=count))
    return rows


def _strides(scores: Scores) -> list[str]:
    rows = []
    for gait in GAITS:
        true = scores.true_strides.get(gait, 0)
        if not true or not scores.timing_s.get(gait):
            continue
        off = 100 * (scores.found_strides[gait] / true - 1)
        timing = 1000 * float(np.sqrt(np.mean(np.square(scores.timing_s[gait]))))
        rows.append(_line(f"{gait}: count off by, %", abs(off), 1.0, of=true))
        rows.append(_line(f"{gait}: time, ms rms", timing, 8.0, digits=1))
        rows += _variation(gait, scores)
    tempo = float(np.sqrt(np.mean(np.square(scores.tempo_spm)))) if scores.tempo_spm else np.nan
    return [*rows, _line("tempo over 20, strides/min rms", tempo, 0.3, of=len(scores.tempo_spm))]


def _variation(gait: str, scores: Scores) -> list[str]:
    """Only where the truth lies between 1 and 5 %."""
    rows = np.array([r for r in scores.cv_percent.get(gait, []) if 1.0 <= r[2] <= 5.0])
    if not rows.size:
        return []
    off, count = np.abs(rows[:, 0] - rows[:, 2]), rows.shape[0]
    held = 100 * float(np.mean(off < 1.96 * rows[:, 1]))
    low, high = 100 * np.array(binom.interval(0.95, count, 0.95)) / count
    word = "consistent" if low <= held <= high else "off"
    near = 100 * float(np.mean(off < 0.3))
    return [
        _line(f"{gait}: variation within 0.3, %", near, 100.0, least=True, of=count),
        f"{gait + ': variation held, %':34s}{95.0:8.1f}{held:9.1f}{count:7d}"
        f"{low:8.1f} -{high:5.1f}  {word}",
    ]


def _line(
    name: str,
    found: float,
    goal: float,
    *,
    least: bool = False,
    digits: int = 2,
    of: int | None = None,
) -> str:
    short = "" if (found >= goal if least else found <= goal) else "  short"
    count = "" if of is None else f"{of}"
    band = ""
    if of is not None and name.startswith("changes"):
        band = f"0.0 -{100 * binom.ppf(0.95, of, goal / 100) / of:5.2f}"
    return f"{name:34s}{goal:8.{digits}f}{found:9.{digits}f}{count:>7s}{band:>15s}{short}"


def _right(scores: Scores) -> float:
    return float(100 * np.trace(scores.confusion) / max(scores.confusion.sum(), 1))


def _f1(scores: Scores) -> float:
    table = scores.confusion
    f1 = [2 * table[i, i] / max(table[i].sum() + table[:, i].sum(), 1) for i in range(4)]
    return float(np.mean(f1))
