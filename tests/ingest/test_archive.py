"""Files, folders and archives: what is passed over, what is refused, and that nothing escapes."""

from __future__ import annotations

import gzip
import zipfile
from pathlib import Path

import pytest

from ingest import archive, limits, table
from ingest.archive import sources
from ingest.errors import RecordingError
from ingest.reading import read_recording
from tests.ingest.signals import gpx_text, invented

RIDE = invented()


def test_faults_of_all_named_paths_are_told_at_once(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    with pytest.raises(RecordingError) as fault:
        sources([tmp_path / "a.gpx", tmp_path / "empty", tmp_path / "b.csv"])
    assert len(fault.value.faults) == 3
    assert not any(str(tmp_path) in line for line in fault.value.faults)


def test_results_and_pictures_in_a_folder_are_passed_over(tmp_path: Path) -> None:
    for name in ("result.json", "report.html", "photo.JPG", ".hidden.csv", "home.toml"):
        (tmp_path / name).write_text("x")
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub" / "ride.gpx").write_text(gpx_text(RIDE))
    assert [source.name for source in sources([tmp_path])] == ["ride.gpx"]


def test_a_folder_without_rides_is_one_line(tmp_path: Path) -> None:
    (tmp_path / "todo.txt").write_text("buy carrots\nclean tack\n")
    with pytest.raises(RecordingError, match="no file holds a ride") as fault:
        read_recording([tmp_path])
    assert len(fault.value.faults) == 1


def test_a_damaged_file_in_a_folder_is_a_note(tmp_path: Path) -> None:
    (tmp_path / "ride.gpx").write_text(gpx_text(RIDE))
    (tmp_path / "broken.csv.gz").write_bytes(gzip.compress(b"time,acc_x\n1,2\n" * 99)[:-20])
    recording = read_recording([tmp_path])
    assert recording.sources == ("ride.gpx",)
    assert any("broken.csv" in note.text for note in recording.notes)


def test_a_damaged_file_that_was_named_is_a_fault(tmp_path: Path) -> None:
    path = tmp_path / "broken.csv.gz"
    path.write_bytes(gzip.compress(b"time,acc_x\n1,2\n" * 99)[:-20])
    with pytest.raises(RecordingError, match=r"^broken\.csv: "):
        read_recording([path])


def test_a_zip_bomb_is_refused_by_what_it_declares(tmp_path: Path) -> None:
    path = tmp_path / "bomb.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as bomb:
        for k in range(5):
            bomb.writestr(f"{k}.csv", b"\0" * (limits.MAX_FILE_BYTES // 4))
    assert path.stat().st_size < 2**20
    with pytest.raises(RecordingError, match="larger than 256 MB"):
        read_recording([path])


def test_a_gzip_bomb_is_refused_where_it_passes_the_limit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(archive, "MAX_FILE_BYTES", 2**20)
    path = tmp_path / "bomb.csv.gz"
    path.write_bytes(gzip.compress(b"time,acc_x,acc_y,acc_z\n" + b"1,2,3,4\n" * 2**18))
    with pytest.raises(RecordingError, match="larger than 1 MB"):
        read_recording([path])


def test_one_endless_line_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "line.csv"
    path.write_text("1," * 200_000)
    with pytest.raises(RecordingError, match="a line longer"):
        read_recording([path])


def test_too_many_rows_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table, "MAX_ROWS", 1000)
    path = tmp_path / "long.csv"
    path.write_text(
        "time,acc_x,acc_y,acc_z\n" + "".join(f"{k / 50},0,0,9.8\n" for k in range(1500))
    )
    with pytest.raises(RecordingError, match="more than 1000 rows"):
        read_recording([path])


def test_too_many_files_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archive, "MAX_ENTRIES", 3)
    for k in range(5):
        (tmp_path / f"{k}.gpx").write_text(gpx_text(RIDE))
    with pytest.raises(RecordingError, match="more than 3"):
        read_recording([tmp_path])


def test_names_inside_an_archive_are_never_paths(tmp_path: Path) -> None:
    path = tmp_path / "ride.zip"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("/etc/ride.gpx", gpx_text(RIDE))
        packed.writestr("..\\..\\b/notes.csv", "hello")
    recording = read_recording([path])
    assert recording.sources == ("ride.gpx",)
    assert not any("/" in note.text.split(":")[0] for note in recording.notes)


@pytest.mark.parametrize(
    "content", [b"", b"\x00\x01\x02\x03" * 50, b"\x89PNG\r\n\x1a\n" + bytes(99)]
)
def test_what_is_no_text_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "ride.csv"
    path.write_bytes(content)
    with pytest.raises(RecordingError, match=r"^ride\.csv: "):
        read_recording([path])
