"""Sheets as riders type them read to the same line as their full form (invented)."""

import numpy as np
import pytest

from track.lay_out import lay_out
from track.sheet_file import parse_sheet

# ruff: noqa: E501 - a sheet is one line per movement
SHORT = "arena: 20x40\nenter: trot\n"
LONG = "arena: 20x60\nenter: trot\n"

TYPED = [
    # (as typed, in full)
    (SHORT + "1 A-X-C, track left\n2 circle left 20m at E",
     SHORT + "1 line A X C, turn left at C, track C H E\n2 circle left 20 at E"),
    (SHORT + "1. Line A X C, Track left at C\n2. E circle left 20 metres",
     SHORT + "1 line A X C, turn left at C, track C H E\n2 circle left 20 at E"),
    ("arena: 20 x 40 m\nenter: working trot\n1) line a x c, turn right at c\n2) 20m circle right at b",
     SHORT + "1 line A X C, turn right at C, track C M B\n2 circle right 20 at B"),
    (SHORT + "1 line A X C, turn left at C\n2 circle left 20 at E\n3 medium walk between C and H x2\n"
     "4 H-X-F, free walk from H to F, medium walk at F",
     SHORT + "1 line A X C, turn left at C, track C H E\n"
     "2 circle left 20 at E, track E K A F B M C\n3 track C H, walk between C and H x2\n"
     "4 diagonal H X F, free walk from H to F, walk at F"),
    (SHORT + "1 line A X C; turn left at C\n2 change rein H X F\n3 working canter right at A",
     SHORT + "1 line A X C, turn left at C, track C H\n2 diagonal H X F, track F A\n"
     "3 canter right at A"),
    (SHORT + "1 line A-X-C, left turn at C\n2 diagonal H-X-F",
     SHORT + "1 line A X C, turn left at C, track C H\n2 diagonal H X F"),
    (SHORT + "1 centre line A X C, turn left at C\n2 left turn at E\n3 right turn at B",
     SHORT + "1 line A X C, turn left at C, track C H E\n2 turn left at E, line E B\n"
     "3 turn right at B"),
    (LONG + "1 line A X C, turn right at C\n2 B half-circle right 10 m to X, return to M",
     LONG + "1 line A X C, turn right at C, track C M R B\n"
     "2 half circle right 10 from B to X, return to M"),
    (LONG + "1 line A X C, turn left at C\n2 half circle left 10m E to X\n3 half circle right 10m X to B",
     LONG + "1 line A X C, turn left at C, track C H S E\n2 half circle left 10 from E to X\n"
     "3 half circle right 10 from X to B"),
    (LONG + "1 line A X C, turn left at C\n2 three loop serpentine A to C first left",
     LONG + "1 line A X C, turn left at C, track C H S E V K A\n"
     "2 serpentine 3 loops from A to C left"),
    (LONG + "1 line A X C, turn left at C\n2 5m loop H to K",
     LONG + "1 line A X C, turn left at C, track C H\n2 loop 5 from H to K"),
    (LONG + "1 line A X C, turn left at C\n2 single loop 5 metres from H to K\n3 halt at A for 4 seconds, walk at A",
     LONG + "1 line A X C, turn left at C, track C H\n2 loop 5 from H to K, track K A\n"
     "3 halt at A for 4 s, walk at A"),
    (LONG + "1 line A X C, turn left at C\n2 volte left 8 m at V",
     LONG + "1 line A X C, turn left at C, track C H S E V\n2 circle left 8 at V"),
    (SHORT + "1 line A X C, turn left at C\n2 circle left 20 at A, canter left in the second half of the circle",
     SHORT + "1 line A X C, turn left at C, track C H E K A\n"
     "2 circle left 20 at A, canter left in second half of circle"),
    (SHORT + "1 line A X C, turn left at C\n2 working canter left in the corner\n3 trot at C",
     SHORT + "1 line A X C, turn left at C\n2 canter left at corner\n3 trot at C"),
    (SHORT + "1 line A X C, turn left at C\n2 walk for 3 to 5 steps at A",
     SHORT + "1 line A X C, turn left at C, track C H E K A\n2 walk for 3-5 steps at A"),
    (SHORT + "1 line A X C, turn left at C\n2 track H E K A, turn left at A, X-G, halt at G, salute",
     SHORT + "1 line A X C, turn left at C, track C H\n"
     "2 track H E K A, turn left at A, line A X, line X G, halt at G"),
    (SHORT + "1 line A X, halt at X for 3s, working trot at X\n2 turn left at C",
     SHORT + "1 line A X, halt at X for 3 s, trot at X, line X C\n2 turn left at C"),
    (SHORT + "1 line A X C\n2 halt at X for 4 s, trot at X\n3 turn left at C\n4 circle left 20 at E",
     SHORT + "1 line A X\n2 halt at X for 4 s, trot at X, line X C\n"
     "3 turn left at C, track C H E\n4 circle left 20 at E"),
    (LONG + "1 line A X C, track left at C\n2 turn left at E, E-X-B, track right at B",
     LONG + "1 line A X C, turn left at C, track C H S E\n2 turn left at E, line E X B, turn right at B"),
    (LONG + "1 line A X C, track left at C\n2 canter left from K to A, trot at A # kurz",
     LONG + "1 line A X C, turn left at C, track C H S E V K\n2 track K A, canter left from K to A, trot at A"),
    (LONG + "1 line A X C, track left at C\n2 change the rein H-X-F, right canter at A via walk",
     LONG + "1 line A X C, turn left at C, track C H\n2 diagonal H X F, canter right at A via walk"),
    # the gait behind its place, the letter without its preposition, letters in one run
    (SHORT + "1 A enter in working trot, X halt, immobility 3-4 seconds, salute, proceed in working trot\n"
     "2 C track left, HXF change rein\n3 between A & K working canter right\n4 E circle right 20 metres diameter",
     SHORT + "1 line A X, halt at X for 3 s, trot at X, line X C\n"
     "2 turn left at C, track C H, diagonal H X F, track F A\n3 track A K, canter right between A and K, track K E\n"
     "4 circle right 20 at E"),
    (LONG + "1 A-X-C, C Track Left\n2 half 10m circle left E to X returning to the track at H\n"
     "3 Transition to medium walk at C",
     LONG + "1 line A X C, turn left at C, track C H S E\n"
     "2 half circle left 10 from E to X, return to H, track H C\n3 walk at C"),
    (SHORT + "1 A-X-C, track left at C. 2 circle left 20 at E".replace(". 2", "\n2") + ", allow the horse to stretch\n"
     "3 K walk\n4 A working trot rising",
     SHORT + "1 line A X C, turn left at C, track C H E\n2 circle left 20 at E, show stretch, track E K\n"
     "3 track K A, walk at K\n4 trot at A"),
    (SHORT + "1 A-X-C, track left at C\n2 K walk\n3 turn left at A down the centre line, halt G immobility 4 s, salute",
     SHORT + "1 line A X C, turn left at C, track C H E K\n2 track K A, walk at K\n"
     "3 turn left at A, line A G, halt at G for 4 s"),
    (LONG + "1 line A X C, track left C\n2 H-X-F show some lengthened strides, 3-5 walk steps at A, go large",
     LONG + "1 line A X C, turn left at C, track C H\n2 diagonal H X F, show lengthened strides, walk for 3-5 steps at A, track F A"),
    (SHORT + "1 A-X-C, track left at C\n2 A working canter left\n3 A circle 20m to the left\n4 downward transition to trot at B",
     SHORT + "1 line A X C, turn left at C, track C H E K A\n2 canter left at A\n"
     "3 circle left 20 at A, track A F B\n4 trot at B"),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "full"), TYPED, ids=range(len(TYPED)))
def test_typed_sheets_read_as_their_full_form(typed: str, full: str) -> None:
    ours, theirs = lay_out(parse_sheet(typed)), lay_out(parse_sheet(full))
    assert ours.length_m == pytest.approx(theirs.length_m)
    assert np.allclose(ours.x_m, theirs.x_m) and np.allclose(ours.y_m, theirs.y_m)
    assert ours.gait == theirs.gait
    mine = [change for line in ours.movements for change in line.changes]
    full_form = [change for line in theirs.movements for change in line.changes]
    assert [change.text for change in mine] == [change.text for change in full_form]
    for a, b in zip(mine, full_form, strict=True):
        assert (a.start_m, a.end_m) == pytest.approx((b.start_m, b.end_m))
    edges = [line.start_m for line in ours.movements]
    assert edges == pytest.approx([line.start_m for line in theirs.movements], abs=0.3)


def test_there_are_twenty_of_them() -> None:
    assert len(TYPED) >= 20
