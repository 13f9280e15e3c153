"""``python -m tests.bench pages``: pages of an hour's ride, written and shown.

The ride is the invented one, ridden over and over for an hour; seeds are fixed in
``tests/report/invented_result.py``. Targets on a quiet machine: the rider's page shows in under
2 s in Chromium, the coach's page is under 300 kB.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from report.page import render_report
from report.page_coach import render_coach
from report.result import Result
from tests.report.browser.conftest import FLAGS, chromium_path
from tests.report.invented_line import layout
from tests.report.invented_result import whole

HOUR_S = 3600.0
TIMES = {"t_s", "start_s", "end_s"}

PAINTED = """() => {
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  return [paint.startTime, performance.getEntriesByType("navigation")[0].loadEventEnd];
}"""


def hour() -> Result:
    """The invented ride, repeated until an hour is full."""
    once = whole()
    length = once.ride.duration_s
    laps = round(HOUR_S / length)
    parts: dict[str, Any] = {
        key: [
            row.model_copy(update=_moved(row, lap * length))
            for lap in range(laps)
            for row in getattr(once, key)
        ]
        for key in ("bouts", "strides", "transitions", "events", "figures")
    }
    assert once.path is not None
    columns = {
        key: [v + lap * length * (key == "t_s") for lap in range(laps) for v in values]
        for key, values in once.path.model_dump().items()
        if isinstance(values, list)
    }
    ride = once.ride.model_copy(update={"duration_s": laps * length})
    path = once.path.model_copy(update=columns)
    return once.model_copy(update={**parts, "ride": ride, "path": path})


def _moved(row: Any, by_s: float) -> dict[str, float]:
    return {
        key: getattr(row, key) + by_s for key in TIMES & set(type(row).model_fields)
    }  # fmt: skip


def shown_ms(page: Path, rounds: int) -> list[tuple[float, float]]:
    """First contentful paint and load of a page, in a fresh context each time."""
    found = []
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=FLAGS)
        for _ in range(rounds):
            context = browser.new_context(viewport={"width": 1280, "height": 900})
            tab = context.new_page()
            tab.goto(page.as_uri())
            paint, load = tab.evaluate(PAINTED)
            found.append((paint, load))
            context.close()
        browser.close()
    return found


def main() -> None:
    """Print sizes and times."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    result, plan = hour(), layout()
    render_report(result, plan)  # imports, templates and the packed drawing library
    start = time.perf_counter()
    report = render_report(result, plan)
    written_s = time.perf_counter() - start
    coach = render_coach(result, plan)
    print(f"ride {result.ride.duration_s:.0f} s, {len(result.strides)} strides, "
          f"{len(result.figures)} figures")  # fmt: skip
    print(f"report.html {len(report.encode()) / 1e6:.2f} MB, written in {written_s:.2f} s")
    print(f"coach.html {len(coach.encode()) / 1e3:.0f} kB (target under 300 kB)")
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "report.html"
        page.write_text(report, encoding="utf-8")
        times = shown_ms(page, rounds)
    paint = statistics.median(t for t, _ in times) / 1000
    load = statistics.median(t for _, t in times) / 1000
    print(f"shown after {paint:.2f} s, loaded after {load:.2f} s (median of {rounds}, target 2 s)")


if __name__ == "__main__":
    main()
