"""From hostile files on disk to the pages in Chromium: nothing runs, and the numbers are those
of ``result.json``."""

import gzip
import json
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from report.cli import cli
from sample_rides.demo import demo_files
from sample_rides.sheets import demo_sheet_text
from tests.report.browser.conftest import Opened

pytestmark = pytest.mark.browser

BAD = "<script>document.title='run'</script><img src=x onerror=document.title='run'>"
ROUNDED = 0.5e-3 + 0.5e-4
"""Three decimals on the page, four in the file, both from the same number: half a unit of each."""
XML_BAD = BAD.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The bundled ride with a script in every place that a stranger's file could hold one."""
    folder = tmp_path_factory.mktemp("hostile")
    files = demo_files("acorn")
    gpx, csv = (gzip.decompress(files[n]).decode() for n in ("ride.gpx.gz", "motion.csv.gz"))
    gpx = re.sub(r"(<trk>)", rf"\1<name>{XML_BAD}</name><desc>{XML_BAD}</desc>", gpx)
    assert XML_BAD in gpx
    (folder / "<b>ride.gpx").write_text(gpx, encoding="utf-8")
    rows = csv.splitlines()
    quoted = '"' + BAD + '"'
    head = next(n for n, row in enumerate(rows) if re.search("[a-z]", row) and "#" not in row)
    rows[head:] = [f"{rows[head]},{quoted}", *(f"{row},{quoted}" for row in rows[head + 1 :])]
    (folder / "motion.csv").write_text("\n".join(rows), encoding="utf-8")
    sheet = demo_sheet_text("walk and trot")
    sheet = re.sub(r"(?m)^title:.*$", f"title: {BAD}", sheet)
    sheet = re.sub(
        r"(?m)^(4 .*?)(\s+x2)?$", lambda m: f"{m[1]}  {json.dumps(BAD)}{m[2] or ''}", sheet
    )
    (folder / "sheet.txt").write_text(sheet, encoding="utf-8")
    quoted = '"' + BAD.replace('"', '""') + '"'
    (folder / "marks.csv").write_text(
        f"movement,mark,coefficient,remark,underlined,felt\n2,5,1,{quoted},{quoted},6\n"
        f"collective:{quoted[1:-1]},6,1,,,\n",
        encoding="utf-8",
    )
    command = ["analyse", str(folder / "<b>ride.gpx"), str(folder / "motion.csv")]
    command += ["--sheet", str(folder / "sheet.txt"), "--marks", str(folder / "marks.csv")]
    command += ["--horse", BAD, "--label", BAD, "--pocket", "jacket", "--out", str(folder / "out")]
    ran = CliRunner().invoke(cli, command)
    assert ran.exit_code == 0, ran.output
    return folder / "out"


@pytest.mark.parametrize("name", ["report", "coach"])
def test_scripts_planted_in_files_never_run(name: str, written: Path, opened: Opened) -> None:
    opened.page.goto((written / f"{name}.html").as_uri())
    shown = opened.page.locator("body").inner_text()
    assert "<script>document.title='run'</script>" in shown  # it is there, as text
    assert opened.page.locator("h1").inner_text().startswith("<script>")
    assert opened.page.evaluate("document.title").startswith("<script>")
    assert opened.page.locator("img, b:has-text('ride.gpx')").count() == 0
    assert opened.said == []
    assert opened.asked == []


def test_ten_numbers_of_the_page_are_those_of_the_file(written: Path, opened: Opened) -> None:
    data = json.loads((written / "result.json").read_text(encoding="utf-8"))
    opened.page.goto((written / "report.html").as_uri())
    rows: list[list[str]] = opened.page.evaluate(
        """[...document.querySelectorAll("tr[data-key]")].map((r) => [r.dataset.key,
        r.querySelector(".value").textContent, r.querySelector(".sd").textContent])"""
    )
    shown = [row for row in rows if row[1]]
    assert len(shown) > 100
    for pick in np.random.default_rng(8).choice(len(shown), 10, replace=False):
        key, value, sd = shown[pick]
        found = data
        for step in re.findall(r"[a-z_]+|\d+", key):
            found = found[int(step)] if step.isdigit() else found[step]
        assert float(value.replace("−", "-")) == pytest.approx(found["value"], abs=ROUNDED), key
        if sd:
            assert float(sd) == pytest.approx(found["sd"], abs=ROUNDED), key


def test_ten_sentences_of_the_rows_are_those_of_the_file(written: Path, opened: Opened) -> None:
    """What a row says in words and numbers is the finding's own, movement by movement."""
    data = json.loads((written / "result.json").read_text(encoding="utf-8"))
    opened.page.goto((written / "report.html").as_uri())
    said = [
        (row["number"], finding["say"], finding["shown"])
        for row in data["movements"]
        for finding in row["findings"]
        if finding["value"] is not None and finding["shown"] and finding["say"]
    ]
    assert len(said) > 40
    text = tidied(opened)
    for pick in np.random.default_rng(5).choice(len(said), 10, replace=False):
        number, say, shown = said[pick]
        assert " ".join(say.split()) in text(number)
        assert f"({' '.join(shown.split())})" in text(number)


def tidied(opened: Opened) -> Callable[[int], str]:
    def text(number: int) -> str:
        return " ".join((opened.page.locator(f"#m{number}").text_content() or "").split())

    return text
