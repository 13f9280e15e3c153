"""``python -m tests.fuzz --count 20000 --seed 1``: read spoilt recordings, count what happens.

Each goes through the real command (``tanbark check``) in this process. Exit code 0 or 2 is right;
anything else is a finding, kept with the seed that makes it again.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import resource
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from unittest import mock

import numpy as np

from report.cli import main as tanbark
from tests.fuzz.mutations import seeds, spoilt

SLOW_S = 10.0
LARGE_MB = 1000.0


def outcome(path: Path) -> tuple[str, str]:
    """What ``tanbark check`` says of one file: "0", "2" or "bug", and its words."""
    out, err = io.StringIO(), io.StringIO()
    try:
        with (
            warnings.catch_warnings(action="error"),
            mock.patch.object(sys, "argv", ["tanbark", "check", str(path)]),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            tanbark()
        code = 0
    except SystemExit as left:
        code = left.code if isinstance(left.code, int) else 0
    except BaseException:
        return "bug", traceback.format_exc()
    if code == 0 and len(out.getvalue().splitlines()) != 3:
        return "bug", f"not three lines: {out.getvalue()!r}"
    if code == 2 and (out.getvalue() or not err.getvalue()):
        return "bug", f"exit 2 with {out.getvalue()!r} and {err.getvalue()!r}"
    return (str(code), out.getvalue() + err.getvalue()) if code in (0, 2) else ("bug", f"{code}")


def run(
    count: int, seed: int, folder: Path, *, show: bool = False
) -> tuple[Counter[str], list[str], float]:
    """Spoil and read ``count`` recordings.

    Returns
    -------
    counts, findings, slowest_s
    """
    sound = seeds()
    counts: Counter[str] = Counter()
    findings: list[str] = []
    slowest = 0.0
    for number in range(count):
        name, data, done = spoilt(np.random.default_rng([seed, number]), sound)
        path = folder / name
        path.write_bytes(data)
        start = time.perf_counter()
        what, words = outcome(path)
        taken = time.perf_counter() - start
        slowest = max(slowest, taken)
        counts[what] += 1
        if show and what != "0":
            print(number, name, done, words.strip()[:200])
        if what == "bug" or taken > SLOW_S:
            findings.append(f"seed {seed} number {number} {name} {done} {taken:.1f} s\n{words}")
        path.unlink()
    return counts, findings, slowest


def main() -> int:
    """Run the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", action="store_true", help="print every refusal")
    chosen = parser.parse_args()
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        counts, findings, slowest = run(chosen.count, chosen.seed, Path(folder), show=chosen.show)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    for finding in findings[:20]:
        print(finding)
    taken = time.perf_counter() - start
    print(
        f"{chosen.count} spoilt files, seed {chosen.seed}: {counts['0']} read, "
        f"{counts['2']} refused in a line, {counts['bug']} faults of ours; "
        f"slowest {slowest:.2f} s, peak {peak_mb:.0f} MB, all in {taken:.0f} s"
    )
    return int(bool(findings) or peak_mb > LARGE_MB)


if __name__ == "__main__":
    sys.exit(main())
