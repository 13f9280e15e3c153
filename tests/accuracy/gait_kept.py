"""Figures of single rides, kept in a file of one line each, and summed up again."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, fields
from pathlib import Path

import numpy as np

from tests.accuracy.gait_scores import Scores


def row_of(scores: Scores, *, model: str, mode: str, seed: int) -> dict[str, object]:
    """The figures of one ride, ready for a line of JSON."""
    row = asdict(scores) | {"confusion": scores.confusion.tolist()}
    return {"model": model, "mode": mode, "seed": seed, **row}


def read_kept(file: Path) -> list[dict[str, object]]:
    """Rides of a file; none where there is no file yet."""
    if not file.exists():
        return []
    return [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines() if line]


def summed(rows: Iterable[dict[str, object]]) -> Scores:
    """Figures of many rides from those of each.

    Examples
    --------
    >>> one = row_of(Scores(missed=1, onset_s=[0.1]), model="second", mode="both", seed=1)
    >>> both = summed([one, one])
    >>> both.missed, both.onset_s
    (2, [0.1, 0.1])
    """
    total = Scores()
    for row in rows:
        for name in (field.name for field in fields(Scores)):
            setattr(total, name, _added(getattr(total, name), row[name]))
    return total


def _added(old: object, new: object) -> object:
    if isinstance(old, np.ndarray):
        return old + np.array(new)
    if isinstance(old, dict) and isinstance(new, dict):
        zero = {key: type(value)() for key, value in new.items()}
        return old | {key: _added(old.get(key, zero[key]), value) for key, value in new.items()}
    if isinstance(old, list) and isinstance(new, list):
        return [*old, *new]
    if isinstance(old, int) and isinstance(new, int):
        return old + new
    raise TypeError(f"figures of {type(old)} and {type(new)} cannot be added")
