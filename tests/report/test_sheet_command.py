"""``tanbark sheet``: what it prints, the page it writes, and how it refuses."""

import html
import json
import re
from pathlib import Path

import jsonschema
import pytest
from click.testing import CliRunner

from ingest.errors import SheetError
from report.commands.sheet import command
from report.plan_page import render_plan
from report.result_file import dumped
from report.sheet_text import sheet_text, speeds_of
from sample_rides.sheets import DEMO_SHEETS, demo_sheet, demo_sheet_text
from tests.report.invented_result import whole
from track.floorplan import Speeds
from track.lay_out import lay_out
from track.sheet_file import parse_sheet, sheet_json_schema, write_sheet, write_sheet_toml

LAYOUTS = {name: lay_out(demo_sheet(name)) for name in DEMO_SHEETS}


def written(folder: Path, name: str) -> Path:
    file = folder / "test.txt"
    file.write_text(demo_sheet_text(name), encoding="utf-8")
    return file


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_prints_the_sheet_with_what_was_filled_in(name: str, tmp_path: Path) -> None:
    result = CliRunner().invoke(command, [str(written(tmp_path, name))])
    assert result.exit_code == 0
    filled = [s.text for line in LAYOUTS[name].movements for s in line.stretches if s.filled]
    assert filled
    assert all(f"[{text}]" in result.output for text in filled)
    assert "min from A" in result.output


def test_writes_the_page_and_says_where(tmp_path: Path) -> None:
    out = tmp_path / "plans" / "plan.html"
    result = CliRunner().invoke(
        command, [str(written(tmp_path, "ten metre")), "--out", str(out), "--quiet"]
    )
    assert result.exit_code == 0
    assert result.output == ""
    assert out.read_text(encoding="utf-8").startswith("<!doctype html>")


def test_a_sheet_that_cannot_be_ridden_leaves_no_page(tmp_path: Path) -> None:
    file = tmp_path / "bad.txt"
    file.write_text("arena: 20x40\nenter: trot\n1 line A X C\n2 circle left 20 at E\n")
    out = tmp_path / "plan.html"
    result = CliRunner().invoke(command, [str(file), "--out", str(out)])
    assert isinstance(result.exception, SheetError)
    assert "movement 2" in str(result.exception)
    assert not out.exists()


@pytest.mark.parametrize("arguments", [[], ["missing.txt"]])
def test_no_sheet_is_one_line(arguments: list[str]) -> None:
    result = CliRunner().invoke(command, arguments)
    assert isinstance(result.exception, SheetError)
    assert len(result.exception.faults) == 1


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_toml_form_fits_the_schema_and_reads_back(name: str, tmp_path: Path) -> None:
    import tomllib

    printed = CliRunner().invoke(command, [str(written(tmp_path, name)), "--toml"]).output
    assert parse_sheet(printed) == demo_sheet(name)
    shown = json.loads(CliRunner().invoke(command, ["--schema"]).output)
    assert shown == sheet_json_schema()
    jsonschema.validate(tomllib.loads(printed), shown)


def test_speeds_come_from_a_result(tmp_path: Path) -> None:
    file = tmp_path / "result.json"
    file.write_text(dumped(whole()), encoding="utf-8")
    speeds = speeds_of(file)
    found = {"walk": speeds.walk_ms, "trot": speeds.trot_ms, "canter": speeds.canter_ms}
    for row in whole().rhythm:
        if row.rein == "all" and row.tempo_spm and row.stride_length_m:
            expected = row.tempo_spm.value / 60 * row.stride_length_m.value
            assert found[row.gait] == pytest.approx(expected, rel=1e-3)
    text = sheet_text(LAYOUTS["ten metre"], speeds, speeds_from="from your own rides")
    assert "from your own rides" in text


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_page_loads_nothing_and_escapes(name: str) -> None:
    page = render_plan(LAYOUTS[name])
    assert "default-src 'none'" in html.unescape(page)
    assert "<script" not in page
    assert not re.search(r"(?:src|href)=\"(?!data:)", page)
    assert page.count('<svg class="plan"') == 1 + sum(
        1 for line in LAYOUTS[name].movements if line.stretches or line.changes
    )


def test_words_of_the_sheet_cannot_break_the_page() -> None:
    nasty = "</title><script>alert(1)</script>"
    text = f'title: {nasty}\narena: 20x40\nenter: trot\n1 line A X C "{nasty}"\n'
    page = render_plan(lay_out(parse_sheet(text)))
    assert "<script" not in page
    assert "&lt;script&gt;" in page


@pytest.mark.parametrize("name", DEMO_SHEETS)
def test_page_tells_every_command(name: str) -> None:
    page = render_plan(LAYOUTS[name], Speeds())
    for line in LAYOUTS[name].movements:
        for change in line.changes:
            assert change.text in page
        for stretch in line.stretches:
            assert stretch.text in page


def test_written_sheet_prints_the_same(tmp_path: Path) -> None:
    one = LAYOUTS["first canter"]
    again = lay_out(parse_sheet(write_sheet(one.sheet)))
    third = lay_out(parse_sheet(write_sheet_toml(one.sheet)))
    assert sheet_text(one, Speeds()) == sheet_text(again, Speeds()) == sheet_text(third, Speeds())
