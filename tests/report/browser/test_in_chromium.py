"""What a reader meets when she opens the pages: on a phone, at a desk, on paper, by keyboard."""

from collections.abc import Callable

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.report.browser.conftest import Opened
from tests.report.invented_result import STATES

pytestmark = pytest.mark.browser
Address = Callable[[str], str]

NAMES = [*STATES, "whole-coach", "motion-only-coach", "card"]
OPEN_ALL = "document.querySelectorAll('details').forEach((d) => (d.open = true))"

OVERLAPS = """() => {
  const found = [];
  for (const svg of document.querySelectorAll("svg.plan, svg.chart")) {
    if (!svg.getBoundingClientRect().width) continue;
    const title = svg.querySelector("title").textContent;
    const words = [...svg.querySelectorAll("text")].map((t) => [t.textContent, t.getBBox()]);
    words.forEach(([a, p], i) => words.slice(i + 1).forEach(([b, q]) => {
      const across = Math.min(p.x + p.width, q.x + q.width) - Math.max(p.x, q.x);
      const down = Math.min(p.y + p.height, q.y + q.height) - Math.max(p.y, q.y);
      if (across > 1.5 && down > 4) found.push(`${title}: ${a} / ${b}`);
    }));
  }
  return found;
}"""
"""Words over words in a drawing; a box is the line's height, so a few pixels of air may meet."""

WIDER = """() => [...document.querySelectorAll("body *")].filter((e) =>
  !e.closest(".wide") && !e.closest("svg") && !e.classList.contains("skip") &&
  e.getBoundingClientRect().right > document.documentElement.clientWidth + 1
).map((e) => e.tagName + "." + e.className)"""


@pytest.mark.parametrize("name", NAMES)
def test_opens_alone_and_nothing_overlaps_at_any_width(
    name: str, address: Address, opened: Opened
) -> None:
    page = opened.page
    page.goto(address(name))
    assert page.locator("main").is_visible()
    page.evaluate(OPEN_ALL)
    for width in (360, 768, 1440):
        page.set_viewport_size({"width": width, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        assert page.evaluate(WIDER) == []
        assert page.evaluate(OVERLAPS) == []
    assert opened.said == []
    assert opened.asked == []


def test_keyboard_leads_through_the_movements(address: Address, opened: Opened) -> None:
    page = opened.page
    page.goto(address("whole"))
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.url.endswith("#test")
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.getAttribute('href')") == "#m3":
            break
    page.keyboard.press("Enter")
    assert page.evaluate("document.querySelector(':target').id") == "m3"
    assert page.evaluate(
        "document.querySelector('#m3').getBoundingClientRect().top < innerHeight / 2"
    )
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('.row').id") == "m3"


def test_row_and_plan_light_each_other_up(address: Address, opened: Opened) -> None:
    page = opened.page
    page.goto(address("whole"))

    def opacity() -> float:
        found: float = page.evaluate(
            "Number(getComputedStyle(document.querySelector('#m2 .part-1')).strokeOpacity)"
        )
        return found

    assert opacity() == 0
    page.locator("#m2 .said > .says-1").hover()
    assert opacity() > 0.1
    width = "getComputedStyle(document.querySelector('.o-5 .over')).strokeWidth"
    before = page.evaluate(width)
    page.locator("#m5 h3").hover()
    assert page.evaluate(width) != before
    assert opacity() == 0
    page.locator("#m2 .said > .says-1").focus()
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Tab")
    assert opacity() > 0.1


def test_reads_without_javascript(address: Address, plain: Opened) -> None:
    plain.page.goto(address("whole"))
    for section in ("words", "test", "circles", "transitions", "tempo", "reins", "session"):
        assert plain.page.locator(f"#{section}").is_visible()
    assert plain.page.locator("#tempo svg.large").is_visible()
    assert not plain.page.locator("#zoom").is_visible()
    plain.page.locator("#m2 summary").click()
    assert plain.page.locator("#m2 .rest .say").first.is_visible()


def test_zoom_draws_in_our_own_ink_without_a_request(address: Address, opened: Opened) -> None:
    opened.page.goto(address("whole"))
    opened.page.locator("#zoom").click()
    opened.page.locator("#zoom-drawing .main-svg").first.wait_for()
    assert opened.page.locator("#zoom-drawing .modebar-btn").count() == 0
    assert opened.said == []
    assert opened.asked == []


@pytest.mark.parametrize("name", ["planted", "planted-coach"])
def test_planted_scripts_never_run(name: str, address: Address, opened: Opened) -> None:
    opened.page.goto(address(name))
    assert opened.page.title() != "run"
    assert opened.page.locator("img").count() == 0
    assert opened.said == []


@pytest.mark.parametrize("name", ["whole", "whole-coach", "motion-only", "card"])
def test_contrast_labels_and_headings(name: str, address: Address, examined: Opened) -> None:
    """axe-core's rules for WCAG 2 A and AA and its best practices, all folded parts open."""
    page = examined.page
    page.goto(address(name))
    page.evaluate(OPEN_ALL)
    # two hundred rows of one kind say no more than five
    page.evaluate(
        "document.querySelectorAll('.curious tr:nth-child(n+6)').forEach((r) => r.remove())"
    )
    response = Axe().run(page).response
    assert [fault["id"] for fault in response["violations"]] == []
    assert len(response["passes"]) > 15
