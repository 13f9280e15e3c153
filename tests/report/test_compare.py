"""``tanbark compare``: what is refused, what is never mixed, and a page that loads nothing."""

from pathlib import Path

import numpy as np
import pytest

from ingest.errors import TanbarkError
from report.cli import main
from report.compare_page import render_compare
from report.compare_rides import CompareRide, read_rides, seasons_of
from report.compare_rows import PRIMARY, compared
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


def ride(number: int, *, tempo: float = 0.0, **about: object) -> CompareRide:
    """The invented ride on another day, its tempo so much quicker."""
    made = whole()
    facts = {"horse": "Larch", "pocket": "jacket", "duration_s": 500.0 + number, **about}
    rhythm = [
        row.model_copy(
            update={
                "tempo_spm": row.tempo_spm
                and row.tempo_spm.model_copy(update={"value": row.tempo_spm.value + tempo})
            }
        )
        for row in made.rhythm
    ]
    told = made.model_copy(update={"ride": made.ride.model_copy(update=facts), "rhythm": rhythm})
    return CompareRide(number=number, name=f"{number}.json", result=told)


def test_two_labels_make_the_groups_in_any_order() -> None:
    words = ["Old saddle", "new saddle", "old  saddle", "New saddle"]
    (season,), _ = seasons_of([ride(i, label=word) for i, word in enumerate(words, 1)])
    assert season.split == "labels"
    assert [r.number for r in season.before] == [1, 3]
    assert [r.number for r in season.after] == [2, 4]


def test_before_says_how_many_and_must_leave_some() -> None:
    rides = [ride(i) for i in range(1, 6)]
    (season,), _ = seasons_of(rides, before=1)
    assert (len(season.before), len(season.after), season.split) == (1, 4, "asked")
    for none_left in (0, 5):
        with pytest.raises(TanbarkError, match="from 1 to 4"):
            seasons_of(rides, before=none_left)


def test_trend_tells_the_ends_of_the_line_as_the_reference_library_fits_it() -> None:
    away = [0.0, 1.3, 1.7, 3.2, 3.9, 5.1]
    rides = [ride(i, tempo=more) for i, more in enumerate(away, 1)]
    (season,), _ = seasons_of(rides, line=True)
    row = next(row for row in compared(season) if row.key == PRIMARY[0])
    slope, start = np.polyfit(np.arange(6.0), away, 1)  # numpy
    level = row.before.values[0] - away[0]
    assert row.ends is not None
    assert row.ends[0].value - level == pytest.approx(start)
    assert row.ends[1].value - level == pytest.approx(start + 5 * slope)
    assert row.change == pytest.approx(row.ends[1].value - row.ends[0].value)
    assert row.seen == "changed"
    assert "first ride, on the line" in render_compare([(season, compared(season))], [])


def test_a_recording_handed_in_twice_counts_once() -> None:
    again = ride(4, duration_s=501.0)
    (season,), left = seasons_of([ride(1), ride(2), ride(3), again])
    assert len(season.before) + len(season.after) == 3
    assert [(one.ride.number, "ride 1" in one.because) for one in left] == [(4, True)]


def test_pockets_are_never_mixed() -> None:
    pockets = ["jacket", "thigh", "jacket", "thigh"]
    seasons, left = seasons_of([ride(i, pocket=one) for i, one in enumerate(pockets, 1)])
    numbers = [[r.number for r in (*one.before, *one.after)] for one in seasons]
    assert numbers == [[1, 3], [2, 4]]
    assert not left
    with pytest.raises(TanbarkError, match="never mixed"):
        seasons_of([ride(1), ride(2, pocket="thigh")])


def exit_code(monkeypatch: pytest.MonkeyPatch, *words: str) -> int:
    """What the command ends with."""
    monkeypatch.setattr("sys.argv", ["tanbark", "compare", *words])
    with pytest.raises(SystemExit) as ended:
        main()
    return int(ended.value.code or 0)


@pytest.mark.parametrize("text", ["", "{}", '{"schema": "tanbark.result/0"}', "not a result"])
def test_what_is_no_result_ends_with_2_and_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    good = written(tmp_path, ["Larch"])
    other, page = tmp_path / "other.json", tmp_path / "page.html"
    other.write_text(text, encoding="utf-8")
    assert exit_code(monkeypatch, str(good[0]), str(other), "--out", str(page)) == 2
    assert not page.exists()


def test_exit_codes_of_one_file_of_two_and_of_options_at_odds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    files = [str(file) for file in written(tmp_path, ["Larch", "Larch"])]
    assert exit_code(monkeypatch, files[0]) == 2
    assert exit_code(monkeypatch, *files) == 0
    assert exit_code(monkeypatch, *files, "--trend", "--before", "1") == 2
