"""One ride's part in a comparison: a single value per measure, gait and rein."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from math import hypot
from typing import Final, Literal

import numpy as np

from report.pooling import mean_in_ride
from report.result import Gait, Result, RhythmRow, Value
from track.path import Estimate

Rein = Literal["all", "left", "right", "left less right"]
GAITS: Final[tuple[Gait, ...]] = ("walk", "trot", "canter")
RHYTHM: Final[Mapping[str, str]] = {
    "tempo": "tempo_spm",
    "tempo_range": "tempo_range_spm",
    "stride_time_cv": "stride_time_cv_percent",
    "stride_length": "stride_length_m",
}
"""Our measure to the key of a rhythm row."""
SIDED: Final = ("tempo", "stride_time_cv", "stride_length")
"""Measures told left less right as well."""
FEWEST_STRIDES: Final = 20
MEASURES: Final = (*RHYTHM, "settled", "out_of_round", "between_strides")
SHAPE_SHARED: Final = 0.5
"""Share of a circle's doubt that all circles of a ride have in common [judgement]."""


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Key:
    """What is compared."""

    gait: Gait
    measure: str
    rein: Rein


def readings_of(result: Result) -> dict[Key, Value]:
    """Every value that one ride brings to a comparison; 20 strides or more behind each."""
    out: dict[Key, Value] = {}
    for row in result.rhythm:
        if row.rein != "straight" and row.stride_count >= FEWEST_STRIDES:
            out.update(_of_row(row, row.rein))
    out.update(_sided(out))
    settled, gait = result.warm_up.settled_after_s, result.warm_up.settled_gait
    if settled is not None and gait is not None:
        minutes = Value(value=settled.value / 60, sd=settled.sd / 60)
        out[Key(gait=gait, measure="settled", rein="all")] = minutes
    out.update(_circles(result))
    out.update(_changes(result))
    return out


def _of_row(row: RhythmRow, rein: Rein) -> dict[Key, Value]:
    found = {measure: getattr(row, key) for measure, key in RHYTHM.items()}
    return {
        Key(gait=row.gait, measure=measure, rein=rein): value
        for measure, value in found.items()
        if value is not None
    }


def _sided(values: Mapping[Key, Value]) -> dict[Key, Value]:
    """Left less right where a ride has both."""
    out = {}
    for gait in GAITS:
        for measure in SIDED:
            left = values.get(Key(gait=gait, measure=measure, rein="left"))
            right = values.get(Key(gait=gait, measure=measure, rein="right"))
            if left is not None and right is not None:
                out[Key(gait=gait, measure=measure, rein="left less right")] = Value(
                    value=left.value - right.value, sd=hypot(left.sd, right.sd)
                )
    return out


def _circles(result: Result) -> dict[Key, Value]:
    """How far from round the full circles were, on average, by gait and rein."""
    found: dict[Key, list[Estimate]] = defaultdict(list)
    for figure in result.figures:
        for finding in figure.findings:
            told = finding.value is not None and finding.sd is not None
            if finding.measure == "out_of_round" and told and finding.gait in GAITS:
                key = Key(gait=finding.gait, measure="out_of_round", rein=figure.rein)
                found[key].append(Estimate(value=finding.value or 0.0, sd=finding.sd or 0.0))
    means = {key: mean_in_ride(rows, SHAPE_SHARED) for key, rows in found.items()}
    return {
        key: Value(value=mean.value, sd=mean.sd) for key, mean in means.items() if mean is not None
    }


def _changes(result: Result) -> dict[Key, Value]:
    """Strides between gaits on the way into each gait, on average."""
    found: dict[Gait, list[float]] = defaultdict(list)
    for row in result.transitions:
        if row.to_gait in GAITS and row.from_gait in GAITS:
            found[row.to_gait].append(row.between_strides)
    return {
        Key(gait=gait, measure="between_strides", rein="all"): Value(
            value=float(np.mean(counts)), sd=0.0
        )
        for gait, counts in found.items()
    }
