"""The pages in every state: what must be there, what must never be there."""

import json
import re
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser

import numpy as np
import pytest

from report.page import render_report
from report.page_coach import _chosen, render_coach
from report.page_figures import figure_rows
from report.page_material import material
from report.result import Result
from tests.bench.pages import hour
from tests.report.invented_line import SHEET, layout
from tests.report.invented_result import STATES, whole
from track.layout import Layout

SECTIONS = ["words", "transitions", "reins", "session", "notes", "not-seen", "curious"]
VOID = {"meta", "link", "br", "img", "input", "hr"}


class Reader(HTMLParser):
    """Collects ids, links, scripts and unbalanced tags of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.faults: list[str] = []
        self.ids: list[str] = []
        self.links: list[str] = []
        self.sources: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = dict(attrs)
        if values.get("id"):
            self.ids.append(values["id"] or "")
        if tag == "a":
            self.links.append(values.get("href") or "")
        self.sources += [v or "" for k, v in attrs if k in ("src", "srcset", "data", "action")]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.faults.append(tag)

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("script", "style"):
            self.text.append(data)


@cache
def read(page: str) -> Reader:
    """What a page holds; the same page is read once."""
    reader = Reader()
    reader.feed(page)
    return reader


def words(page: str) -> str:
    return " ".join(" ".join(read(page).text).split())


def layout_of(result: Result) -> Layout | None:
    return layout() if result.sheet is not None else None


@pytest.fixture(scope="module", params=list(STATES))
def state(request: pytest.FixtureRequest) -> tuple[str, Result, str, str]:
    result = STATES[request.param]()
    plan = layout_of(result)
    return request.param, result, render_report(result, plan), render_coach(result, plan)


def test_every_state_makes_two_whole_pages(state: tuple[str, Result, str, str]) -> None:
    _, _, report, coach = state
    for page in (report, coach):
        reader = read(page)
        assert reader.faults == []
        assert reader.open == []
        assert len(reader.ids) == len(set(reader.ids))
        assert reader.sources == []


def test_every_section_is_there_or_rightly_absent(state: tuple[str, Result, str, str]) -> None:
    name, result, report, _ = state
    ids = read(report).ids
    assert set(SECTIONS) <= set(ids)
    assert ("test" in ids) == (result.sheet is not None)
    assert ("figures" in ids) == (result.sheet is None)
    assert ("tempo" in ids) == bool(result.strides), name
    assert ("circles" in ids) == (result.path is not None)


def test_every_link_on_a_page_leads_somewhere(state: tuple[str, Result, str, str]) -> None:
    _, _, report, coach = state
    for page in (report, coach):
        reader = read(page)
        inside = {link[1:] for link in reader.links}
        assert all(link.startswith("#") for link in reader.links)
        assert inside <= set(reader.ids)


def test_no_place_on_earth_no_file_no_date(state: tuple[str, Result, str, str]) -> None:
    _, _, report, coach = state
    for page in (report, coach):
        said = words(page)
        assert "52.0" not in said and "lat" not in said.lower().split()
        assert "ride.gpx" not in page and "motion.csv" not in page
        assert not re.search(r"\b\d{1,2}:\d{2}:\d{2}\b|\b20\d\d-\d\d\b", said)


def test_no_letter_is_named_while_the_ends_are_unknown() -> None:
    page = render_report(STATES["ends-unknown"](), None)
    drawn = re.findall(r'<text class="letter[^>]*>([A-Z])<', page)
    assert drawn == []
    assert "short side 1" in page


def test_a_circle_is_said_board_to_board_and_never_at_the_rider() -> None:
    page = render_report(whole(), layout())
    folded = page.index('id="curious"')
    assert "ridden like 19.8 ± 0.4" in page
    assert "18.2" not in words(page[:folded])


def test_numbers_on_the_page_are_those_of_the_result() -> None:
    result = whole()
    page = render_report(result, layout())
    data = json.loads(result.model_dump_json(by_alias=True))
    rows = re.findall(
        r'<tr data-key="([^"]+)">.*?<td class="n value">([^<]*)</td><td class="n sd">([^<]*)</td>',
        page,
    )
    shown = [row for row in rows if row[1]]
    assert len(shown) > 40
    for pick in np.random.default_rng(10).choice(len(shown), 10, replace=False):
        key, value, sd = shown[pick]
        found = data
        for step in re.findall(r"[a-z_]+|\d+", key):
            found = found[int(step)] if step.isdigit() else found[step]
        assert float(value.replace("−", "-")) == pytest.approx(found["value"], abs=5e-4), key
        assert float(sd) == pytest.approx(found["sd"], abs=5e-4), key


def test_planted_markup_stays_text() -> None:
    result = STATES["planted"]()
    for page in (render_report(result, layout()), render_coach(result, layout())):
        assert "<script>document" not in page
        assert "<img" not in page
        assert "&lt;script&gt;document" in page


def test_coach_page_is_light() -> None:
    assert len(render_coach(whole(), layout()).encode()) < 300_000


def test_file_names_in_notes_do_not_reach_the_page() -> None:
    result = whole()
    name = "Ride_2026-11-21_14-03_North.gpx"
    note = result.notes[0].model_copy(update={"text": f"Times of {name}: seconds, UTC."})
    ride = result.ride.model_copy(update={"sources": [f"inside/{name}"]})
    page = render_report(result.model_copy(update={"notes": [note], "ride": ride}), layout())
    assert "2026" not in words(page)
    assert "Times of the file: seconds, UTC." in words(page)


@pytest.mark.parametrize("points", [0, 1, 2, 5])
def test_a_ride_of_a_moment_still_makes_a_page(points: int) -> None:
    result = whole()
    assert result.path is not None
    columns = {k: v[:points] for k, v in result.path.model_dump().items() if isinstance(v, list)}
    short = result.model_copy(
        update={
            "path": result.path.model_copy(update=columns),
            "bouts": result.bouts[:1], "strides": result.strides[:3], "transitions": [],
            "events": [], "movements": [], "figures": [], "rhythm": [], "sheet": None,
        }
    )  # fmt: skip
    assert read(render_report(short, None)).faults == []
    assert read(render_coach(short, None)).faults == []


def test_the_first_screen_says_errors_of_course() -> None:
    for render in (render_report, render_coach):
        said = words(render(STATES["course-error"](), layout()))
        assert said.index("Movement 5 was not found in the ride.") < said.index("to school")
        assert said.index("Error of course, 0:53 after A") < said.index("to school")
    assert "not found" not in words(render_report(whole(), layout()))


def test_the_first_screen_says_what_a_bare_recording_lacks() -> None:
    said = words(render_report(STATES["no-school"](), None))
    assert said.index("No school was found.") < said.index("The figures, by rein")


def test_the_coach_sees_the_figures_where_there_is_no_sheet() -> None:
    page = render_coach(STATES["no-sheet"](), None)
    said = words(page)
    assert said.index("Left rein 1 circle left") < said.index("Right rein 1 circle right")
    found = STATES["no-sheet"]().figures
    assert page.count('<svg class="plan"') == min(6, sum(f.rein == "left" for f in found)) + min(
        6, sum(f.rein == "right" for f in found)
    )
    assert 'id="figures-h"' not in render_coach(whole(), layout())


def test_the_coach_sees_first_what_was_outside() -> None:
    result = hour().model_copy(update={"movements": [], "sheet": None})
    rows = _chosen(figure_rows(material(result, None, None), "left"))
    assert len(rows) == 6
    assert all(row.lead is not None and row.lead.kind == "outside" for row in rows)
    assert [int(row.number) for row in rows] == sorted(int(row.number) for row in rows)


def test_a_long_command_is_set_smaller() -> None:
    plan = layout()
    movements = tuple(replace(m, text="at B a circle to the right " * 6) for m in SHEET.movements)
    page = render_report(whole(), replace(plan, sheet=replace(SHEET, movements=movements)))
    assert 'class="wordy"' in page
    assert 'class="wordy"' not in render_report(whole(), plan)
