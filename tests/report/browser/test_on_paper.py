"""The pages on A4, printed by Chromium and read back: whole figures, whole sheets."""

import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from report.card_page import render_card
from report.page_coach import render_coach
from report.plan_page import render_plan
from sample_rides.sheets import DEMO_SHEETS, demo_sheet
from tests.bench.pages import hour
from tests.report.browser.conftest import Opened
from tests.report.invented_line import layout
from tests.report.invented_marks import judged
from tests.report.invented_result import STATES, whole
from track.lay_out import lay_out

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(
        shutil.which("pdftotext") is None,
        reason="no pdftotext on this machine: install the system's package 'poppler-utils'",
    ),
]
Address = Callable[[str], str]

MARK_ENDS = """() => {
  const ends = (e, n) => [["a", 0], ["b", 1]].forEach(([end, low]) => {
    const words = `zq${n}${end}z`;
    if (e instanceof SVGElement) {
      const text = document.createElementNS("http://www.w3.org/2000/svg", "text");
      text.setAttribute("y", low ? e.viewBox.baseVal.height - 1 : 3);
      text.style.fontSize = "2px";
      text.textContent = words;
      e.append(text);
    } else {
      const span = document.createElement("span");
      span.textContent = words;
      span.style.cssText = `position:absolute;left:0;font-size:2px;line-height:1;${low ? "bottom" : "top"}:0`;
      e.style.position = "relative";
      e.append(span);
    }
  });
  const shown = [...document.querySelectorAll(".keep, figure, svg.plan, svg.chart, article.slip")]
    .filter((e) => e.getBoundingClientRect().height);
  shown.forEach(ends);
  return shown.length;
}"""  # noqa: E501
"""Writes a word at the upper and at the lower end of everything that must not be cut."""

MARK_HEADINGS = """() => {
  const visible = (e) => e && e.getBoundingClientRect().height;
  const mark = (e, words) => {
    const span = document.createElement("span");
    span.textContent = words;
    span.style.cssText = "position:absolute;left:0;top:0;font-size:2px;line-height:1";
    e.style.position = "relative";
    e.append(span);
  };
  const after = (e) => {
    let next = e.nextElementSibling;
    while (next && (!visible(next) || next.closest(".no-print"))) next = next.nextElementSibling;
    return next;
  };
  let n = 0;
  for (const h of document.querySelectorAll("h2, h3")) {
    const next = visible(h) && after(h);
    if (!next || next instanceof SVGElement || ["TABLE", "UL", "OL"].includes(next.tagName)) continue;
    mark(h, `zq${n}az`);
    mark(next, `zq${n}bz`);
    n += 1;
  }
  return n;
}"""  # noqa: E501


def sheets(opened: Opened, pdf: Path) -> list[str]:
    """The text of every sheet of paper that the open page prints on."""
    opened.page.pdf(path=pdf, prefer_css_page_size=True, print_background=True)
    command = ["pdftotext", "-enc", "UTF-8", str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    return text.split("\f")[:-1]


def printed(opened: Opened, html: str, folder: Path) -> list[str]:
    file = folder / "page.html"
    file.write_text(html, encoding="utf-8")
    opened.page.goto(file.as_uri())
    return sheets(opened, folder / "page.pdf")


def places(on_paper: list[str]) -> dict[str, dict[str, int]]:
    """Sheet number of the ends of every marked part."""
    found: dict[str, dict[str, int]] = {}
    for number, text in enumerate(on_paper):
        for part, end in re.findall(r"zq(\d+)([ab])z", text):
            found.setdefault(part, {})[end] = number
    return found


def assert_whole(opened: Opened, pdf: Path, marks: str, least: int) -> None:
    opened.page.emulate_media(media="print")
    opened.page.set_viewport_size({"width": 695, "height": 1000})  # A4 less its margins
    count = opened.page.evaluate(marks)
    assert count >= least
    found = places(sheets(opened, pdf))
    assert len(found) == count
    cut = {part: ends for part, ends in found.items() if ends.get("a") != ends.get("b")}
    assert cut == {}


@pytest.mark.parametrize("name", ["whole", "no-sheet", "ridden-twice", "whole-coach"])
def test_no_figure_is_cut_by_the_edge_of_a_sheet(
    name: str, address: Address, opened: Opened, tmp_path: Path
) -> None:
    opened.page.goto(address(name))
    assert_whole(opened, tmp_path / "page.pdf", MARK_ENDS, 4)


@pytest.mark.parametrize("name", ["whole", "no-sheet"])
def test_no_heading_stands_alone_at_the_foot_of_a_sheet(
    name: str, address: Address, opened: Opened, tmp_path: Path
) -> None:
    opened.page.goto(address(name))
    assert_whole(opened, tmp_path / "page.pdf", MARK_HEADINGS, 8)


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_no_plan_of_a_movement_is_cut(name: str, opened: Opened, tmp_path: Path) -> None:
    file = tmp_path / "plan.html"
    file.write_text(render_plan(lay_out(demo_sheet(name))), encoding="utf-8")
    opened.page.goto(file.as_uri())
    assert_whole(opened, tmp_path / "plan.pdf", MARK_ENDS, 8)


def test_a_part_that_is_cut_would_be_noticed(opened: Opened, tmp_path: Path) -> None:
    tall = "<main>" + "<p>before</p>" * 30 + "<div class='keep' style='height:290mm'>x</div></main>"
    file = tmp_path / "tall.html"
    file.write_text(f"<!doctype html><title>tall</title>{tall}", encoding="utf-8")
    opened.page.goto(file.as_uri())
    with pytest.raises(AssertionError):
        assert_whole(opened, tmp_path / "tall.pdf", MARK_ENDS, 1)


@pytest.mark.parametrize("name", list(STATES))
def test_the_coachs_page_takes_two_sheets_at_most(
    name: str, address: Address, opened: Opened, tmp_path: Path
) -> None:
    opened.page.goto(address(f"{name}-coach"))
    text = sheets(opened, tmp_path / "coach.pdf")
    assert 1 <= len(text) <= 2
    assert "The coach's note" in " ".join(text)


def test_the_coachs_page_with_marks_takes_two_sheets(opened: Opened, tmp_path: Path) -> None:
    text = printed(opened, render_coach(whole(), layout(), marks=judged()), tmp_path)
    assert len(text) == 2
    assert "not round" in " ".join(text)


def test_an_hour_without_a_sheet_takes_the_coach_two_sheets(opened: Opened, tmp_path: Path) -> None:
    ride = hour().model_copy(update={"movements": [], "sheet": None})
    page = render_coach(ride, None)
    assert len(page.encode()) < 300_000
    assert len(printed(opened, page, tmp_path)) == 2


def test_slips_take_one_sheet(opened: Opened, tmp_path: Path) -> None:
    plan = layout()
    long = "Working trot, and at B a circle to the right of 20 m, " * 6
    wordy = replace(
        plan,
        sheet=replace(
            plan.sheet,
            title="A title that somebody typed out in full, with its year, its class and its level",
            movements=tuple(replace(m, text=long) for m in plan.sheet.movements),
        ),
    )
    for plans in ([plan], [plan, plan], [wordy, wordy]):
        text = printed(opened, render_card(plans, [640, 662][: len(plans)], [whole()]), tmp_path)
        assert len(text) == 1
        assert "This slip never needs a phone" in text[0]
        assert text[0].count("minutes, the test") == len(plans)
