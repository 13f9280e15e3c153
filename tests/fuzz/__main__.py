"""``python -m tests.fuzz --count 20000 --seed 1``: read spoilt recordings, count what happens.

Each goes through the real command (``tanbark check``) in this process. Exit code 0 or 2 is right;
anything else is a finding, kept with the seed that makes it again. So is a file that takes longer
than the limit, which is stopped there, and one that takes memory above the limit.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from unittest import mock

import numpy as np

from report.cli import main as tanbark
from tests.fuzz.mutations import seeds, spoilt


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What one file may take; memory is the most that this process ever held."""

    slow_s: float = 10.0
    large_mb: float = 1000.0


class TooSlowError(BaseException):
    """A file took longer than its limit; no handler of ordinary faults catches it."""


@contextlib.contextmanager
def stopped_after(limit_s: float) -> Iterator[None]:
    """Raise :class:`TooSlowError` in the middle of what takes longer."""

    def stop(_number: int, _frame: object) -> None:
        raise TooSlowError(f"stopped after {limit_s} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, limit_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def peak_mb() -> float:
    """The most memory this process has held, in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def timed_outcome(path: Path, limits: Limits) -> tuple[str, str, float]:
    """:func:`outcome` held to the limits, with the time it took."""
    held_mb = peak_mb()
    start = time.perf_counter()
    try:
        with stopped_after(limits.slow_s):
            what, words = outcome(path)
    except TooSlowError as late:
        what, words = "bug", f"{late}"
    taken_s = time.perf_counter() - start
    if taken_s > limits.slow_s:
        what = "bug"
    if peak_mb() > max(limits.large_mb, held_mb):
        what, words = "bug", f"memory came to {peak_mb():.0f} MB\n{words}"
    return what, words, taken_s


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
    count: int, seed: int, folder: Path, *, show: bool = False, limits: Limits = Limits()
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
        what, words, taken = timed_outcome(path, limits)
        slowest = max(slowest, taken)
        counts[what] += 1
        if show and what != "0":
            print(number, name, done, words.strip()[:200])
        if what == "bug":
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
    for finding in findings[:20]:
        print(finding)
    taken = time.perf_counter() - start
    print(
        f"{chosen.count} spoilt files, seed {chosen.seed}: {counts['0']} read, "
        f"{counts['2']} refused in a line, {counts['bug']} faults of ours; "
        f"slowest {slowest:.2f} s, peak {peak_mb():.0f} MB, all in {taken:.0f} s"
    )
    return int(bool(findings) or peak_mb() > Limits().large_mb)


if __name__ == "__main__":
    sys.exit(main())
