"""A judge's sheet beside the ride: set next to it, never argued with, absent when not given."""

from dataclasses import replace

from report.page import render_report
from report.page_coach import render_coach
from tests.report.invented_line import SHEET, layout
from tests.report.invented_marks import BAD, judged, planted, uneven
from tests.report.invented_result import whole
from tests.report.test_page import words


def test_marks_stand_in_their_rows() -> None:
    page = render_report(whole(), layout(), marks=judged())
    row = page[page.index('id="m2"') : page.index('id="m3"')]
    said = words(row)
    assert "The judge gave 5, wrote “not round” and underlined “size”." in said
    assert "What the phone can add: The circle was an egg. A phone cannot see bend." in said
    assert "61.88 %" in words(page)


def test_coach_reads_remarks_in_the_order_of_the_sheet() -> None:
    said = words(render_coach(whole(), layout(), marks=judged()))
    assert said.index("not round") < said.index("late") < said.index("quiet hands")
    assert "Movement 1 felt like 7 (the judge gave 6.5)." in said


def test_parts_that_need_marks_are_absent_without_them() -> None:
    report, coach = render_report(whole(), layout()), render_coach(whole(), layout())
    for page in (report, coach):
        assert "judge gave" not in words(page)
    assert 'id="judge-h"' not in coach and 'id="felt-h"' not in coach


def test_uneven_steps_are_said_before_anything_else() -> None:
    for render in (render_report, render_coach):
        page = render(whole(), layout(), marks=uneven())
        said = words(page)
        assert said.index("Movement 6: A judge saw uneven steps") < said.index("to school")


def test_markup_in_remarks_and_sheets_stays_text() -> None:
    plan = layout()
    movements = tuple(replace(m, text=BAD) for m in SHEET.movements)
    plan = replace(plan, sheet=replace(SHEET, title=BAD, movements=movements))
    for render in (render_report, render_coach):
        page = render(whole(), plan, marks=planted())
        assert "<script>document" not in page
        assert "<img" not in page
        assert "&lt;script&gt;document" in page
