"""Sheets that must be refused, each with the right words (invented; common practice)."""

import pytest

from ingest.errors import SheetError
from track.lay_out import lay_out
from track.sheet_file import parse_sheet

HEAD = "arena: 20x40\nenter: trot\n"
LONG = "arena: 20x60\nenter: trot\n"
TOML = 'arena = "20x40"\nenter = "trot"\n'
RIDE = '[[movement]]\nride = ["line A X C"]\n'
START = "1 line A X C, turn left at C\n"

BROKEN = [
    # words and form
    (HEAD + "1 line A X C, wander left at C", ["movement 1", "wander", "allowed", "circle"]),
    (HEAD + START + "2 circle lef 20 at E", ["movement 2", "left or right", "circle left|right"]),
    (HEAD + START + "2 circle left at E", ["movement 2", "number of metres", "DIAMETER"]),
    (HEAD + START + "2 circle left 20", ["movement 2", "0 letters", "at LETTER"]),
    (HEAD + START + "2 circle left 20 at E K", ["movement 2", "2 letters"]),
    (HEAD + START + "2 circle left 20 at V", ["movement 2", "'V'", "20x40", "allowed"]),
    (HEAD + START + "2 circle left 20 near E", ["movement 2", "'near'", "allowed"]),
    (HEAD + START + "2 circle left 4 at E", ["movement 2", "'4'", "6 to 20"]),
    (HEAD + START + "2 circle left 30 at E", ["movement 2", "'30'", "6 to 20"]),
    (HEAD + START + "2 half circle left 10 from E", ["movement 2", "1 letters", "to LETTER"]),
    (HEAD + START + "2 serpentine 9 loops from A to C left", ["movement 2", "N from 2 to 6"]),
    (HEAD + START + "2 serpentine 3 loops from K to H left", ["movement 2", "from A to C"]),
    (HEAD + START + "2 loop 14 from H to K", ["movement 2", "'14'", "2 to 10"]),
    (HEAD + START + "2 canter at A", ["movement 2", "lead", "canter left"]),
    (HEAD + START + "2 walk", ["movement 2", "no place", "PLACE"]),
    (HEAD + START + "2 walk at Q", ["movement 2", "'Q'", "allowed"]),
    (HEAD + START + "2 walk gently at K", ["movement 2", "'gently'", "allowed"]),
    (HEAD + START + "2 canter left in first half of arena", ["movement 2", "no place"]),
    (HEAD + START + "2 turn at E", ["movement 2", "left or right", "turn left|right"]),
    (HEAD + START + "4 circle left 20 at E", ["line 4", "number 4", "2 is expected"]),
    (HEAD + "canter a bit\n" + START, ["line 3", "canter a bit", "allowed"]),
    ("arena: 20x50\nenter: trot\n" + START, ["arena", "20x50", "20x40, 20x60"]),
    ("arena: 20x40\n" + START, ["enter", "no gait", "walk, trot"]),
    ("arena: 20x40\nenter: halt\n" + START, ["enter", "'halt'", "walk, trot, canter"]),
    (HEAD + "level: novice\n" + START, ["level", "novice", "walk and trot"]),
    (HEAD, ["no movements"]),
    (HEAD + START + "2 of 7", ["movement 2", "of 7", "1 to 2"]),
    (HEAD + START + "2 circle left 20 at E, show sparkle", ["movement 2", "sparkle", "stretch"]),
    # words of higher tests
    (HEAD + START + "2 rein back at K", ["movement 2", "rein back", "not supported"]),
    (HEAD + START + "2 leg-yield from D to H", ["movement 2", "leg yield", "not supported"]),
    (HEAD + START + "2 half pass from F to X", ["movement 2", "half pass", "not supported"]),
    (HEAD + START + "2 pirouette left at X", ["movement 2", "pirouette", "not supported"]),
    (HEAD + START + "2 shoulder-in from K to E", ["movement 2", "shoulder in", "not supported"]),
    (HEAD + START + "2 travers along K E", ["movement 2", "travers", "not supported"]),
    (HEAD + START + "2 flying change at X", ["movement 2", "flying change", "not supported"]),
    (HEAD + START + "2 extended trot from H to F", ["movement 2", "extended", "not supported"]),
    (HEAD + START + "2 collected walk at A", ["movement 2", "collected", "not supported"]),
    # what cannot be ridden
    (HEAD + "1 line A X C\n2 circle left 20 at E", ["movement 2", "E", "turn left|right"]),
    (HEAD + "1 line A X C\n2 track C H E", ["movement 2", "does not join", "turn left at C"]),
    (HEAD + START + "2 line E X B", ["movement 2", "does not join at E", "turn left at E"]),
    (HEAD + START + "2 turn right at E", ["movement 2", "left rein", "leaves", "turn left"]),
    (HEAD + START + "2 circle right 20 at E", ["movement 2", "left rein", "leaves the arena"]),
    (HEAD + START + "2 track E H C", ["movement 2", "right rein", "is on the left"]),
    (HEAD + START + "2 diagonal F X H\n3 diagonal F X H", ["movement 3", "right rein"]),
    (HEAD + START + "2 serpentine 3 loops from A to C right", ["movement 2", "left rein"]),
    (HEAD + START + "2 loop 5 from K to H", ["movement 2", "left rein", "H lies behind K"]),
    (HEAD + START + "2 loop 5 from H to F", ["movement 2", "one long side"]),
    (HEAD + START + "2 circle left 20 at H", ["movement 2", "leaves the arena"]),
    (LONG + START + "2 half circle left 15 from E to X", ["movement 2", "10 m", "not 15"]),
    (HEAD + START + "2 half circle left 20 from E to K", ["movement 2", "does not fit"]),
    (HEAD + START + "2 half circle left 10 from E to X, return to F", ["movement 2", "F"]),
    (HEAD + START + "2 return to H", ["movement 2", "follows a half circle"]),
    (HEAD + START + "2 diagonal H X B", ["movement 2", "straight line"]),
    (HEAD + START + "2 diagonal H X K", ["movement 2", "straight line"]),
    (HEAD + START + "2 diagonal H K", ["movement 2", "opposite long sides"]),
    (HEAD + START + "2 line A X B", ["movement 2", "straight line"]),
    (HEAD + START + "2 track E X K", ["movement 2", "X is not on the track"]),
    (HEAD + START + "2 circle left 20 at C, turn left at C", ["movement 2", "C", "no room"]),
    (HEAD + START + "2 circle left 6 at E, turn left at E", ["movement 2", "E", "no room"]),
    (HEAD + START + "2 change rein E-X-B", ["movement 2", "straight across", "turn left|right"]),
    (HEAD + START + "2 H-X-F walk on", ["movement 2", "a line and a gait", "comma"]),
    (HEAD + START + "2 circle left 20 at E canter left", ["movement 2", "a line and a gait"]),
    (HEAD + START + "2 walk at K trot at A", ["movement 2", "two gaits", "comma"]),
    (HEAD + START + "2 figure of eight at X", ["movement 2", "its two circles"]),
    (HEAD + START + "2 change rein through the circle", ["movement 2", "its two half circles"]),
    (HEAD + START + "2 simple change at X", ["movement 2", "not supported", "via walk"]),
    (HEAD + START + "2 medium trot from H to F", ["movement 2", "not supported", "lengthened"]),
    (HEAD + START + "2 A down the centre line", ["movement 2", "1 letter", "turn left|right"]),
    (HEAD + "1 enter in canter left, line A X C", ["movement 1", "enter in canter", "trot"]),
    (HEAD + START + "2 track C H E, walk at B\n3 track K A", ["2", "B is not passed", "E"]),
    (HEAD + START + "2 track H E, canter left in first half of circle", ["no circle"]),
    (HEAD + START + "2 circle left 20 at E, halt at E\n3 track K A", ["movement 2", "no gait"]),
    (HEAD + "1 circle left 20 at X", ["movement 1", "line"]),
    (LONG + "1 line A X C, turn left at C\n2 line V L P", ["movement 2", "turn left at V"]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "words"), BROKEN, ids=range(len(BROKEN)))
def test_broken_sheets_are_refused_with_the_right_words(text: str, words: list[str]) -> None:
    with pytest.raises(SheetError) as refused:
        lay_out(parse_sheet(text))
    assert len(refused.value.faults) == 1, refused.value.faults
    (fault,) = refused.value.faults
    assert all(word in fault for word in words), fault


def test_there_are_fifty_of_them() -> None:
    assert len(BROKEN) >= 50


def test_all_faults_are_told_at_once() -> None:
    text = HEAD + (
        "1 line A X C, turn left at C\n"
        "2 circle right 20 at E\n"
        "3 track K A, canter at A\n"
        "4 circle left 20 at Q\n"
        "5 leg yield from D to H\n"
        "6 track C H E, turn right at E\n"
    )
    with pytest.raises(SheetError) as refused:
        parse_sheet(text, name="test.txt")
    faults = refused.value.faults
    assert [fault.split(":")[1].strip() for fault in faults] == [
        f"movement {number}" for number in (2, 3, 4, 5, 6)
    ]
    assert all(fault.startswith("test.txt: ") for fault in faults)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (TOML.replace('enter = "trot"\n', "") + RIDE, ["enter", "required"]),
        (TOML + '[[movement]]\nride = "line A X C"\n', ["movement 1", "ride", "list"]),
        (TOML + "[[movement]]\nrides = []\n", ["movement 1", "rides"]),
        (TOML + RIDE + "coefficient = 0\n", ["movement 1", "coefficient"]),
        (TOML + "[[movement]]\n", ["movement 1", "nothing to ride"]),
        (TOML.replace('20x40"', "20x40") + RIDE, ["TOML"]),
        (TOML.replace("20x40", "30x80") + RIDE, ["arena", "20x40"]),
    ],
)  # fmt: skip
def test_broken_toml(text: str, words: list[str]) -> None:
    with pytest.raises(SheetError) as refused:
        parse_sheet(text)
    (fault,) = refused.value.faults
    assert all(word in fault for word in words), fault
