"""Pairs of seasons of short simulated rides, through analysis and comparison: the whole way."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Final

import numpy as np
from click.testing import CliRunner

from report.cli import cli
from report.compare_rides import read_rides, seasons_of
from report.compare_rows import PRIMARY, compared

SHEET: Final = """title: Short trot ride
arena: 20x40
enter: trot
1  line A X C, turn right at C
2  circle right 20 at B
3  diagonal K X M
4  circle left 20 at C
5  circle left 20 at A
6  track A F B M C H E K A, turn left at A, line A X G, halt at G for 4 s
"""
"""Invented for this: no published sheet is copied."""
MOVEMENTS: Final = 6
DAYS_APART_SPM: Final = 0.7
"""Normal spread of the tempo from day to day [assumed]."""


def through_results(seed: int, sessions: int, planted_spm: float) -> None:
    """Print what is called in the trot's tempo, with a change planted and without."""
    for planted in (planted_spm, 0.0):
        with tempfile.TemporaryDirectory() as folder:
            _pair(Path(folder), np.random.default_rng(seed), sessions, planted)


def _pair(folder: Path, rng: np.random.Generator, sessions: int, planted: float) -> None:
    days = rng.normal(0.0, DAYS_APART_SPM, 2 * sessions) + planted * (
        np.arange(2 * sessions) >= sessions
    )
    files = [_ride(folder / str(i), i, float(day)) for i, day in enumerate(days)]
    seasons, _ = seasons_of(read_rides(files))
    rows = compared(seasons[0])
    first = next(row for row in rows if row.key == PRIMARY[0])
    true = float(days[sessions:].mean() - days[:sessions].mean())
    low, high = (np.nan, np.nan) if first.contrast is None else first.contrast.interval()
    others = sum(row.seen == "changed" for row in rows) - (first.seen == "changed")
    print(
        f"planted {planted:+.1f} spm, days drawn {true:+.2f}: found {first.change or 0.0:+.2f} "
        f"({low:+.2f} to {high:+.2f}), {first.seen}; would have shown {first.smallest or 0.0:.2f}; "
        f"{others} other rows of {len(rows)} changed",
        flush=True,
    )


def _ride(folder: Path, seed: int, tempo_spm: float) -> Path:
    folder.mkdir(parents=True)
    sheet = folder / "short.txt"
    sheet.write_text(SHEET, encoding="utf-8")
    faults = [
        word for i in range(1, MOVEMENTS + 1) for word in ("--fault", f"tempo:{i}:{tempo_spm:.3f}")
    ]
    _run(
        "simulate", str(sheet), "--seed", str(100 + seed), "--out", str(folder), "--before", "none",
        "--no-after", "--pocket", "jacket", "--rate", "50", "--quiet", *faults,
    )  # fmt: skip
    recorded = [str(folder / name) for name in ("ride.gpx", "motion.csv")]
    _run(
        "analyse", *recorded, "--horse", "Larch", "--pocket", "jacket", "--no-book", "--out",
        str(folder / "out"),
    )  # fmt: skip
    return folder / "out" / "result.json"


def _run(*words: str) -> None:
    done = CliRunner().invoke(cli, list(words))
    if done.exit_code != 0:
        raise SystemExit(f"{' '.join(words)}: {done.output}")
