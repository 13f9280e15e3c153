"""No school where nobody rode in one: invented hacks and open recordings of phones."""

import pytest

from ingest.reading import read_recording
from tests.accuracy.elsewhere import KINDS, never_in_school
from tests.real_data import real_data
from track.follow import follow

NEVER = (
    ("phone_location_ios", "Location.csv"),
    ("phones_on_a_route", "phone_1.gpx"),
    ("phones_on_a_route", "phone_2.gpx"),
)


@pytest.mark.parametrize("kind", KINDS)
def test_a_ride_that_never_was_in_a_school_has_no_placement(kind: str) -> None:
    track = follow(never_in_school(kind, 1))
    assert track.placement is None
    assert track.path is not None
    assert track.path.frame == "local"
    assert "no-school" in [note.code for note in track.notes]


@pytest.mark.parametrize("place", NEVER)
def test_phones_that_never_were_in_a_school_have_no_placement(place: tuple[str, str]) -> None:
    # A bicycle and a phone indoors; open recordings of phones.
    track = follow(read_recording([real_data(*place)]))
    assert track.placement is None
    assert "no-school" in [note.code for note in track.notes]
