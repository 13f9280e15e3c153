"""The floor plan page on a phone, at a desk and on paper."""

from pathlib import Path

import pytest

from report.plan_page import render_plan
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from tests.report.browser.conftest import Opened
from tests.report.browser.test_in_chromium import OVERLAPS, WIDER
from track.lay_out import lay_out

pytestmark = pytest.mark.browser

SMALLEST_PX = """() => Math.min(...[...document.querySelectorAll("svg.plan text")].map((t) => {
  const svg = t.ownerSVGElement;
  const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
  return parseFloat(getComputedStyle(t).fontSize) * scale;
}))"""


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_every_letter_is_legible_and_nothing_overlaps(
    name: str, opened: Opened, tmp_path: Path
) -> None:
    file = tmp_path / "plan.html"
    file.write_text(render_plan(lay_out(demo_sheet(name))), encoding="utf-8")
    page = opened.page
    page.goto(file.as_uri())
    for width in (360, 768, 1440):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(WIDER) == []
        assert page.evaluate(OVERLAPS) == []
        assert page.evaluate(SMALLEST_PX) >= 9.0
    assert opened.said == []
    assert opened.asked == []
