"""The README's pictures come out of a command, and show what the pages hold."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from ingest.errors import TanbarkError
from report.page import render_report
from report.pictures import PICTURES, take
from tests.report.invented_line import layout
from tests.report.invented_result import STATES, whole

pytestmark = pytest.mark.browser


def test_every_picture_is_taken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, chromium: Browser
) -> None:
    rows = {"#m11": "#m2", "#m12": "#m3"}
    here = tuple(
        type(p)(
            name=p.name, page=p.page, of=tuple(rows.get(s, s) for s in p.of), width_px=p.width_px
        )
        for p in PICTURES
    )
    monkeypatch.setattr("report.pictures.PICTURES", here)
    files = take({"report": render_report(whole(), layout())}, tmp_path, chromium)
    assert [file.name for file in files] == [f"{p.name}.png" for p in PICTURES]
    assert all(file.read_bytes().startswith(b"\x89PNG") for file in files)


def test_a_page_without_the_part_is_a_fault_in_one_line(tmp_path: Path, chromium: Browser) -> None:
    page = render_report(STATES["motion-only"](), None)
    with pytest.raises(TanbarkError, match="the page has no"):
        take({"report": page}, tmp_path, chromium)
