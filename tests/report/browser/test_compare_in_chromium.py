"""The page of rides compared, opened from its file: at any width, and by the checker's rules."""

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe

from report.compare_page import render_compare
from report.compare_rides import seasons_of
from report.compare_rows import compared
from tests.report.browser.conftest import Opened
from tests.report.test_compare import ride

pytestmark = pytest.mark.browser
FOLDED = "document.querySelectorAll('details').forEach((d) => (d.open = true))"


@pytest.fixture
def file(tmp_path: Path) -> str:
    away = [0.0, 0.4, -0.3, 3.1, 3.4, 2.8]
    seasons, left = seasons_of([ride(i, tempo=more) for i, more in enumerate(away, 1)])
    page = tmp_path / "compare.html"
    page.write_text(render_compare([(s, compared(s)) for s in seasons], left), encoding="utf-8")
    return page.as_uri()


def test_opens_alone_at_any_width_with_a_dot_for_every_ride(file: str, opened: Opened) -> None:
    page = opened.page
    page.goto(file)
    assert page.locator("meta[http-equiv=Content-Security-Policy]").count() == 1
    assert page.locator("svg.dots").first.locator("circle").count() == 6
    page.evaluate(FOLDED)
    for width in (360, 768, 1440):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert opened.said == []
    assert opened.asked == []


def test_accessibility_checker_finds_nothing(file: str, examined: Opened) -> None:
    """axe-core's rules, all folded parts open."""
    page = examined.page
    page.goto(file)
    page.evaluate(FOLDED)
    found = Axe().run(page).response["violations"]
    assert [(one["id"], [n["html"] for n in one["nodes"]]) for one in found] == []
