"""Gold pages: what a reader would notice has not changed unless somebody meant it to.

Numbers of the drawings, the packed library and hashes are scrubbed. After a change that was
meant, look at the pages, then write the gold anew: ``TANBARK_GOLD=write pytest -n 0 <this file>``.
"""

import os
import re
from pathlib import Path

import pytest

from report.card_page import render_card
from report.page import render_report
from report.page_coach import render_coach
from tests.report.invented_line import layout
from tests.report.invented_marks import judged
from tests.report.invented_result import STATES, whole

GOLD = Path(__file__).parent / "gold"

PAGES = {
    "report": lambda: render_report(whole(), layout(), marks=judged()),
    "coach": lambda: render_coach(whole(), layout(), marks=judged()),
    "motion-only": lambda: render_report(STATES["motion-only"](), None),
    "card": lambda: render_card([layout(), layout()], [640, 662], [whole()]),
}

SCRUBBED = [
    (re.compile(r"(<style>).*?(</style>)", re.DOTALL), r"\1...\2"),
    (re.compile(r"(<script[^>]*>).*?(</script>)", re.DOTALL), r"\1...\2"),
    (re.compile(r"sha256-[A-Za-z0-9+/=]+"), "sha256-..."),
    (re.compile(r' (d|x|y|cx|cy|r|width|height|viewBox|stroke-width)="[^"]*"'), r' \1=""'),
    (re.compile(r"(<tbody><tr data-key).*?(</tbody>)", re.DOTALL), r"\1...\2"),
]


def scrubbed(page: str) -> str:
    for pattern, replacement in SCRUBBED:
        page = pattern.sub(replacement, page)
    page = re.sub(r'(?:<path class="([^"]*)" d="(?: |[^"])*"[^>]*/>)+', _paths, page)
    return page.replace("><", ">\n<")


def _paths(run: re.Match[str]) -> str:
    """Neighbouring strokes of a drawing, by their classes, each named once."""
    kinds = dict.fromkeys(re.findall(r'class="([^"]*)"', run.group()))
    return "".join(f"<path {kind}/>" for kind in kinds)


@pytest.mark.parametrize("name", list(PAGES))
def test_page_is_as_it_was_looked_at(name: str) -> None:
    made, file = scrubbed(PAGES[name]()), GOLD / f"{name}.html"
    if os.environ.get("TANBARK_GOLD") == "write":
        GOLD.mkdir(exist_ok=True)
        file.write_text(made, encoding="utf-8")
    assert made.splitlines() == file.read_text(encoding="utf-8").splitlines()
