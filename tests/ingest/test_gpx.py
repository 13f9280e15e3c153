"""GPX 1.0 and 1.1: what is taken over, what is refused, what is mended and told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ingest.columns import ACCURACY_M, COURSE_DEG, LAT_DEG, NAME, SEGMENT, SPEED_MS, T_S
from ingest.errors import RecordingError
from ingest.reading import ReadOptions, read_recording
from ingest.recording import Recording
from tests.ingest.signals import gpx_text, invented

RIDE = invented()
HEAD_10 = '<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0">'
HEAD_11 = '<gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'


def read(folder: Path, text: str, *, waypoints_suffice: bool = False) -> Recording:
    path = folder / "ride.gpx"
    path.write_text(text, encoding="utf-8")
    return read_recording([path], options=ReadOptions(waypoints_suffice=waypoints_suffice))


def track(*points: str, head: str = HEAD_11) -> str:
    return f"{head}<trk><trkseg>{''.join(points)}</trkseg></trk></gpx>"


def point(second: int, inner: str = "", *, lat: float = 52.0) -> str:
    time = f"<time>2026-05-01T10:00:{second:02d}Z</time>"
    return f'<trkpt lat="{lat}" lon="5.0">{time}{inner}</trkpt>'


def test_gpx_1_0_speed_and_course(tmp_path: Path) -> None:
    """Elements of their own in GPX 1.0 [topografix.com/GPX/1/0/gpx.xsd, recalled]; speed in m/s."""
    points = [point(k, "<course>45.5</course><speed>1.25</speed>") for k in range(3)]
    fixes = read(tmp_path, track(*points, head=HEAD_10)).fixes
    assert fixes is not None
    assert fixes[SPEED_MS].tolist() == [1.25] * 3
    assert fixes[COURSE_DEG].tolist() == [45.5] * 3


def test_gpx_1_1_extensions_whatever_their_namespace(tmp_path: Path) -> None:
    head = HEAD_11.replace(">", ' xmlns:p="urn:p">')
    more = "<p:More><p:speed>2.5</p:speed><p:Bearing>90</p:Bearing></p:More>"
    inner = f"<extensions>{more}<p:accuracy>4</p:accuracy></extensions>"
    fixes = read(tmp_path, track(*(point(k, inner) for k in range(3)), head=head)).fixes
    assert fixes is not None
    assert fixes[SPEED_MS].tolist() == [2.5] * 3
    assert fixes[COURSE_DEG].tolist() == [90.0] * 3
    assert fixes[ACCURACY_M].tolist() == [4.0] * 3


def test_dilution_stands_in_for_accuracy_and_says_so(tmp_path: Path) -> None:
    recording = read(tmp_path, track(*(point(k, "<hdop>1.5</hdop>") for k in range(3))))
    assert recording.fixes is not None
    assert recording.fixes[ACCURACY_M].tolist() == [6.0] * 3
    assert "accuracy-from-dilution" in {note.code for note in recording.notes}


def test_offset_times_are_the_same_instants(tmp_path: Path) -> None:
    utc = read(tmp_path, gpx_text(RIDE)).fixes
    east = read(tmp_path, gpx_text(RIDE, start_s=1_777_629_600.0 + 7200, zone="+02:00")).fixes
    assert utc is not None and east is not None
    np.testing.assert_allclose(east[T_S], utc[T_S], atol=1e-6)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (gpx_text(RIDE, zone=""), "times without a zone"),
        (track('<trkpt lat="52" lon="5"/>', '<trkpt lat="52.1" lon="5"/>'), "no times"),
        (f"{HEAD_11}</gpx>", "holds no track"),
        ("<gpx><trk>", "not readable as GPX"),
        ("<html><body>404</body></html>", "holds no track"),
        (track(point(1, lat=95.0)), "no point of the track"),
        (f"{HEAD_11}{'<a>' * 70}{'</a>' * 70}</gpx>", "nested deeper"),
        (f'<!DOCTYPE gpx [<!ENTITY a "b">]>{track(point(1))}', "document type"),
        (f"<!doctype gpx>{track(point(1))}", "document type"),
    ],
)
def test_what_is_refused_is_one_line(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(RecordingError, match=says) as fault:
        read(tmp_path, text)
    assert len(fault.value.faults) == 1
    assert fault.value.faults[0].startswith("ride.gpx: ")
    assert "\n" not in fault.value.faults[0]


def test_an_entity_bomb_is_refused_before_it_is_parsed(tmp_path: Path) -> None:
    """Ten levels of tenfold entities would be 10^10 letters."""
    levels = "".join(f'<!ENTITY l{k} "{f"&l{k - 1};" * 10}">' for k in range(1, 11))
    bomb = f'<?xml version="1.0"?><!DOCTYPE g [<!ENTITY l0 "x">{levels}]>{track(point(1))}'
    with pytest.raises(RecordingError, match="document type"):
        read(tmp_path, bomb.replace("10:00", "&l10;", 1))


def test_utf_16_does_not_hide_a_document_type(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    text = f'<?xml version="1.0" encoding="utf-16"?><!DOCTYPE gpx>{track(point(1))}'
    path.write_bytes(text.encode("utf-16"))
    with pytest.raises(RecordingError, match="document type"):
        read_recording([path])


def test_a_file_cut_off_is_read_to_its_last_whole_point(tmp_path: Path) -> None:
    whole = gpx_text(RIDE)
    recording = read(tmp_path, whole[: int(0.7 * len(whole))])
    assert recording.fixes is not None
    assert 20 < len(recording.fixes) < len(RIDE.fix_s)
    assert ("file-cut-off", "warning") in {(n.code, n.severity) for n in recording.notes}


def test_segments_count_losses_of_signal(tmp_path: Path) -> None:
    halves = [[point(k) for k in range(0, 5)], [point(k) for k in range(6, 9)]]
    text = track("".join(halves[0]) + "</trkseg><trkseg></trkseg><trkseg>" + "".join(halves[1]))
    fixes = read(tmp_path, text).fixes
    assert fixes is not None
    assert fixes[SEGMENT].tolist() == [0] * 5 + [1] * 3


def test_a_long_gap_begins_a_segment(tmp_path: Path) -> None:
    recording = read(tmp_path, track(*(point(k) for k in (*range(20), *range(40, 50)))))
    assert recording.fixes is not None
    assert recording.fixes[SEGMENT].tolist() == [0] * 20 + [1] * 10
    assert ("fix-gaps", "warning") in {(n.code, n.severity) for n in recording.notes}


def test_zero_is_the_earliest_fix_even_when_it_is_left_out(tmp_path: Path) -> None:
    """The first fix lies 1.1 km off and is wild; time still counts from it (the contract)."""
    far = point(0, lat=52.01)
    recording = read(tmp_path, track(far, *(point(k) for k in range(3, 40))))
    assert recording.fixes is not None
    assert recording.fixes[T_S].iloc[0] == 3.0
    assert recording.fixes[LAT_DEG].max() == 52.0
    assert "fixes-wild" in {note.code for note in recording.notes}


def test_waypoints_are_kept_with_their_names(tmp_path: Path) -> None:
    places = '<wpt lat="52.0001" lon="5.0"><name> K </name></wpt><wpt lat="52" lon="5"/>'
    recording = read(tmp_path, gpx_text(RIDE, waypoints=places))
    assert recording.waypoints is not None
    assert recording.waypoints[NAME].tolist() == ["K"]


def test_waypoints_alone_are_no_ride_but_may_make_an_arena(tmp_path: Path) -> None:
    text = f'{HEAD_11}<wpt lat="52" lon="5"><name>A</name></wpt></gpx>'
    with pytest.raises(RecordingError, match="named places but no ride"):
        read(tmp_path, text)
    recording = read(tmp_path, text, waypoints_suffice=True)
    assert recording.fixes is None and recording.waypoints is not None


def test_byte_order_mark_and_other_encodings(tmp_path: Path) -> None:
    path = tmp_path / "ride.gpx"
    for encoding in ("utf-8-sig", "utf-16", "latin-1"):
        path.write_bytes(gpx_text(RIDE).replace("invented", "Gelände").encode(encoding))
        assert read_recording([path]).fixes is not None
