"""``tanbark compare``: what is refused, what is never mixed, and a page that loads nothing."""

from pathlib import Path

import pytest

from ingest.errors import TanbarkError
from report.compare_page import render_compare
from report.compare_rides import read_rides, seasons_of
from report.compare_rows import compared
from report.result_file import dumped
from tests.report.invented_result import whole


def written(folder: Path, horses: list[str]) -> list[Path]:
    out = []
    for i, horse in enumerate(horses):
        made = whole()
        ride = made.ride.model_copy(update={"horse": horse, "duration_s": 500.0 + i})
        file = folder / f"{i}.json"
        file.write_text(dumped(made.model_copy(update={"ride": ride})), encoding="utf-8")
        out.append(file)
    return out


def test_horses_are_never_mixed(tmp_path: Path) -> None:
    with pytest.raises(TanbarkError, match="never mixed"):
        seasons_of(read_rides(written(tmp_path, ["Larch", "Rowan"])))
    seasons, left = seasons_of(read_rides(written(tmp_path, ["Larch", "larch ", "Rowan"])))
    assert [len(s.before) + len(s.after) for s in seasons] == [2]
    assert [one.ride.number for one in left] == [3]


def test_one_file_or_another_kind_of_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TanbarkError, match="two or more"):
        read_rides(written(tmp_path, ["Larch"]))
    old = tmp_path / "old.json"
    old.write_text('{"schema": "tanbark.result/0"}', encoding="utf-8")
    with pytest.raises(TanbarkError, match="another tanbark"):
        read_rides([old, old])


def test_page_loads_nothing_and_two_rides_cannot_tell(tmp_path: Path) -> None:
    seasons, left = seasons_of(read_rides(written(tmp_path, ["Larch", "Larch"])))
    page = render_compare([(s, compared(s)) for s in seasons], left)
    assert "Two rides cannot tell" in page
    assert "<script" not in page
    assert "default-src" in page
    assert str(tmp_path) not in page
