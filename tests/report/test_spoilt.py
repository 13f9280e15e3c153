"""What a spook, a break or an error of course spoils is left out, and told once."""

from dataclasses import replace

import pytest

from gait.bouts import Event, EventKind
from report.findings import findings_of
from report.ridden import RiddenSheet
from report.sheet_found import gait_changes, ridden_sheet
from report.spoilt import spoilt_by
from sample_rides.sheets import demo_sheet
from tests.report.made import gaits_of, ridden_of, ride_of
from track.lay_out import lay_out
from track.match import match

LAYOUT = lay_out(demo_sheet("walk and trot"))
PATH = ride_of(LAYOUT, 3.2)
GAITS = gaits_of([("trot", 0.0, float(PATH.t_s[-1]))], {"trot": 0.75})


@pytest.fixture(scope="module")
def sheet() -> RiddenSheet:
    times, names = gait_changes(GAITS)
    return ridden_sheet(LAYOUT, match(PATH, LAYOUT, gait_t_s=times, gait_names=names))


SHAPE_AND_TEMPO = {"diameter", "out_of_round", "quarter_spread", "tempo", "tempo_range"}


@pytest.mark.parametrize(
    ("kind", "words"), [("spook", "a spook"), ("break", "a break of gait"), (None, "error of")]
)
def test_a_spoilt_circle_is_told_once_and_not_measured(
    sheet: RiddenSheet, kind: EventKind | None, words: str
) -> None:
    circle = next(t for t in sheet.terms if t.stretch.kind == "circle")
    middle = (circle.start_s + circle.end_s) / 2
    gaits, spoilt = GAITS, sheet
    if kind is None:
        spoilt = replace(sheet, astray_s=[(middle, middle + 4.0)])
    else:
        event = Event(kind=kind, start_s=middle, end_s=middle + 1.0, because="made up")
        gaits = replace(GAITS, events=(event,))
    whole = findings_of(
        replace(ridden_of(PATH, GAITS), local=PATH), sheet, circle.movement, circle.run
    )
    left = findings_of(
        replace(ridden_of(PATH, gaits), local=PATH), spoilt, circle.movement, circle.run
    )
    own = [f for f in whole if f.of == circle.of]
    assert {f.measure for f in own if f.value is not None} >= SHAPE_AND_TEMPO
    told = [f for f in left if f.of == circle.of]
    assert [f.measure for f in told] == ["diameter"]
    assert told[0].value is None
    assert words in told[0].because
    assert sum(words in f.because for f in left) == 1


def test_an_error_of_course_next_door_spoils_nothing(sheet: RiddenSheet) -> None:
    circle = next(t for t in sheet.terms if t.stretch.kind == "circle")
    beside = replace(sheet, astray_s=[(circle.end_s - 0.5, circle.end_s + 20.0)])
    assert spoilt_by(GAITS, circle.start_s, circle.end_s, beside) is None
