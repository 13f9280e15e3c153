"""Every number in the folded tables of a page is that of the key it names in ``result.json``."""

import json
import re
from html.parser import HTMLParser
from typing import Any

import pytest

from report.page import render_report
from report.result import Result
from report.result_file import all_findings
from tests.report.invented_line import layout
from tests.report.invented_result import STATES, whole

ROUNDED = 0.5e-3 + 1e-9
"""The page prints three decimals."""


class Keyed(HTMLParser):
    """Rows that name a key, with the text of their cells by class."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[dict[str, str]] = []
        self._row: dict[str, str] | None = None
        self._cell = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag == "tr":
            key = named.get("data-key")
            self._row = None if key is None else {"named": key}
            if self._row is not None:
                self.rows.append(self._row)
        self._cell = (named.get("class") or "") if tag == "td" else self._cell

    def handle_endtag(self, tag: str) -> None:
        if tag == "td":
            self._cell = ""

    def handle_data(self, data: str) -> None:
        if self._row is not None:
            for name in self._cell.split():
                self._row[name] = (self._row.get(name, "") + data).strip()


def at_key(data: Any, key: str) -> Any:
    """Follow a key such as ``movements[3].findings[2]``."""
    for step in re.findall(r"[a-z_]+|\d+", key):
        data = data[int(step)] if step.isdigit() else data[step]
    return data


def rows_of(result: Result, *, sheet: bool) -> tuple[list[dict[str, str]], Any]:
    reader = Keyed()
    reader.feed(render_report(result, layout() if sheet else None))
    return reader.rows, json.loads(result.model_dump_json(by_alias=True))


@pytest.mark.parametrize("state", [None, "motion-only"])
def test_every_row_is_that_of_its_key(state: str | None) -> None:
    result = whole() if state is None else STATES[state]()
    rows, data = rows_of(result, sheet=state is None)
    assert rows
    for row in rows:
        found = at_key(data, row["named"])
        for name in ("value", "sd"):
            said = row.get(name, "")
            if not said:
                assert found[name] is None or name == "sd", row["named"]
                continue
            number = float(said.replace("−", "-").lstrip("± "))
            assert number == pytest.approx(found[name], abs=ROUNDED), row["named"]


def test_no_finding_is_left_out_and_none_told_twice() -> None:
    result = whole()
    rows, data = rows_of(result, sheet=True)
    keys = [row["named"] for row in rows]
    assert len(keys) == len(set(keys))
    found = [at_key(data, key) for key in keys if ".findings" in key or "findings[" in key]
    made = [f.model_dump(mode="json") for f in all_findings(result)]
    missing = [f for f in made if f not in found]
    assert missing == []
