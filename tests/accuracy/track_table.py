"""The accuracy run's lines and its table: errors, biases in sds, intervals with their bands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from scipy.stats import binom

from tests.accuracy.track_errors import Errors, Row
from track.path import Floats

GAITS: Final = ("trot", "walk", "canter")
TARGETS: Final = {
    "diameter": (0.32, 0.41, 0.30),
    "out_of_round": (0.23, 0.29, 0.21),
    "centre_2d": (0.50, 0.62, 0.47),
    "half_width": (0.25, 0.36, 0.23),
    "transition": (0.55, 0.63, 0.52),
    "halt_2d": (0.65, 0.78, 0.66),
    "position": (0.34, 0.39, 0.33),
}
"""1 sd, trot, walk, canter: Monte Carlo of a batch smoother at the Bayesian Cramer-Rao bound."""
NAMES: Final = {
    "diameter": "circle diameter, m",
    "out_of_round": "out of round, m",
    "centre_2d": "circle centre, 2-D, m",
    "half_width": "10 m half circle, width, m",
    "transition": "place of a transition, m",
    "halt_2d": "halt, 2-D, m",
    "position": "position per axis, m",
}
MOST_BIAS_SDS: Final = 1 / 3
SHARE: Final = 0.95


def rms(rows: Sequence[Row], name: str) -> float:
    """Size of the errors, of both axes together where the name says so."""
    size = float(np.sqrt(np.mean([error**2 for error, _ in rows])))
    return size * np.sqrt(2) if name.endswith("2d") else size


def held(rows: Sequence[Row]) -> float:
    """Share of the 95 % intervals that hold the truth."""
    return float(np.mean([abs(error) <= 1.96 * sd for error, sd in rows]))


def bias_sds(rows: Sequence[Row]) -> float | None:
    """Bias over the errors' own sd; None from fewer than three."""
    error: Floats = np.array([row[0] for row in rows])
    spread = float(error.std())
    return float(error.mean()) / spread if len(error) >= 3 and spread else None


def band(count: int) -> tuple[float, float]:
    """Shares that are consistent with 95 % at the binomial 99 % level."""
    low, high = (float(binom.ppf(q, count, SHARE)) / count for q in (0.005, 0.995))
    return low, high


def pooled(errors: Errors) -> float:
    """Share held of all quantities that have a target."""
    return held([row for name in TARGETS for row in errors.rows.get(name, [])])


def lines(column: str, gait: str, errors: Errors) -> list[str]:
    """Lines of the report for one column and gait."""
    out = [f"[{column}, {gait}] {errors.rides} rides, {errors.lost} without a placement"]
    out += [_line(name, rows, gait) for name, rows in errors.rows.items()]
    if any(name in TARGETS for name in errors.rows):
        out.append(
            f"  of the quantities with a target, within 95 %: {pooled(errors):.3f} (goal 0.93-0.97)"
        )
    return out


def _line(name: str, rows: Sequence[Row], gait: str) -> str:
    error, sd = np.array(rows).T
    target = TARGETS.get(name, (np.nan, np.nan, np.nan))[GAITS.index(gait)]
    bias, (low, high), share = bias_sds(rows), band(len(rows)), held(rows)
    told = "-" if bias is None else f"{bias:+.2f}"
    # Positions of one ride hang together, so do both axes and repeats: the band is a least one.
    off = "" if low <= share <= high or not np.isfinite(sd).all() else " OFF"
    return (
        f"  {name:20s} error {rms(rows, name):6.3f}  target {target:5.2f}"
        f"  bias {error.mean():+6.3f} ({told} sd)  claimed sd {np.median(sd):6.3f}"
        f"  within 95 %: {share:.3f} of {len(rows)}"
        f" ({low:.3f}-{high:.3f} of independent ones){off}"
    )


def summary(kept: Mapping[tuple[str, str], Errors]) -> list[str]:
    """The compact table, one row a quantity; trot / walk / canter in every cell."""
    columns = list(dict.fromkeys(column for column, _ in kept))
    out = ["| | goal | " + " | ".join(columns) + " |", "|---|---|" + "---|" * len(columns)]
    for name, told in NAMES.items():
        goal = " / ".join(_short(target) for target in TARGETS[name])
        cells = [_cell(name, column, kept) for column in columns]
        out.append(f"| {told} | {goal} | " + " | ".join(cells) + " |")
    shares = [
        " / ".join(f"{100 * pooled(kept[column, gait]):.1f}" for gait in _gaits(column, kept))
        for column in columns
    ]
    out.append("| of these, within their 95 % intervals | 93-97 % | " + " | ".join(shares) + " |")
    rides = [
        " / ".join(str(kept[column, gait].rides) for gait in _gaits(column, kept))
        for column in columns
    ]
    out.append("| rides | 200 | " + " | ".join(rides) + " |")
    out.append("")
    out.append("Each cell: error, (share held in %, bias in sd), ! where off its band or a third.")
    return out


def _gaits(column: str, kept: Mapping[tuple[str, str], Errors]) -> list[str]:
    return [gait for gait in GAITS if (column, gait) in kept]


def _short(value: float) -> str:
    return f"{value:.2f}".lstrip("0")


def _cell(name: str, column: str, kept: Mapping[tuple[str, str], Errors]) -> str:
    found = [kept[column, gait].rows.get(name, []) for gait in _gaits(column, kept)]
    return " / ".join(_short(rms(rows, name)) + _doubt(rows) if rows else "-" for rows in found)


def _doubt(rows: Sequence[Row]) -> str:
    share, (low, high), bias = held(rows), band(len(rows)), bias_sds(rows) or 0.0
    off = not low <= share <= high or abs(bias) > MOST_BIAS_SDS
    return f" ({100 * share:.0f}, {bias:+.2f}{'!' if off else ''})"
