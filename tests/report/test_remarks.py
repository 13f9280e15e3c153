"""What a judge's remark can mean to a phone: common practice, no source; the phrasings are ours."""

import pytest

from report.page_marks import JudgeMark
from report.remarks import explain, meanings, remark_rows
from report.result import Finding

PHRASINGS = [
    ("circle a little small", "shape"),
    ("Not round.", "shape"),
    ("egg shaped", "shape"),
    ("drifting out second half", "shape"),
    ("Needs to be rounder", "shape"),
    ("lost size on last quarter", "shape"),
    ("loops not equal", "shape"),
    ("uneven loops", "shape"),
    ("early", "place"),
    ("bit late", "place"),
    ("Transition not at the marker", "place"),
    ("after the letter", "place"),
    ("more accuracy needed", "place"),
    ("abrupt", "abrupt"),
    ("came hollow in transition", "abrupt"),
    ("against the hand", "abrupt"),
    ("needs more preparation", "abrupt"),
    ("show more difference", "difference"),
    ("No difference shown", "difference"),
    ("more stretch please", "stretch"),
    ("could overtrack more", "stretch"),
    ("wandering", "straight"),
    ("not quite straight", "straight"),
    ("wobbly on centre line", "straight"),
    ("overshot centre line", "turn"),
    ("corners cut", "turn"),
    ("turn too wide", "turn"),
    ("hurried", "hurried"),
    ("running a little", "hurried"),
    ("lost balance", "hurried"),
    ("needs more energy", "energy"),
    ("inactive", "energy"),
    ("could be more forward", "energy"),
    ("unsteady tempo", "tempo"),
    ("rhythm varies", "tempo"),
    ("needs more bend", "contact"),
    ("above the bit", "contact"),
    ("tense", "contact"),
    ("on the forehand", "contact"),
    ("head tilting", "contact"),
    ("halt not square", "halt"),
    ("not still", "halt"),
    ("broke to trot", "broke"),
    ("jogged", "broke"),
    ("wrong lead", "lead"),
    ("disunited", "lead"),
    ("error of course", "course"),
    ("went wrong at X", "course"),
    ("four-beat canter", "beat"),
    ("walk lateral", "beat"),
    ("tight turn", "turn"),
    ("incorrect strike-off", "lead"),
    ("strung out", "contact"),
    ("obedient", "fluent"),
    ("fluent", "fluent"),
]
UNEVEN = [
    "irregular", "Irregular steps", "uneven", "UNEVEN behind", "unlevel", "not level",
    "rhythm irregular", "irregular in the rhythm", "lame?", "short stepping in front",
    "looked unsound", "not regular, needs more energy", "obedient but uneven", "steps unequal: "
    "unequal steps", "lacks regularity", "hurried, irregular", "irreg.", "arrhythmic",
    "uneven. Circle small", "circle round but steps uneven",
]  # fmt: skip


def finding(measure: str, say: str) -> Finding:
    return Finding(
        measure=measure,
        of="ride:1",
        start_s=0.0,
        end_s=10.0,
        gait="trot",
        value=1.0,
        sd=0.1,
        unit="m",
        target=None,
        low=None,
        high=None,
        chance_within=None,
        verdict=None,
        shown="",
        say=say,
        do="",
        because="",
    )


EVERYTHING = [finding(name, f"{name} said.") for row in remark_rows() for name in row.measures]


@pytest.mark.parametrize(("remark", "row"), PHRASINGS)
def test_a_phrasing_lands_in_its_row(remark: str, row: str) -> None:
    assert row in [found.name for found in meanings(remark)]


def test_most_phrasings_land_in_their_row_alone() -> None:
    alone = [remark for remark, row in PHRASINGS if [r.name for r in meanings(remark)] == [row]]
    assert len(alone) >= 0.85 * len(PHRASINGS)


@pytest.mark.parametrize("remark", UNEVEN)
def test_uneven_and_its_kin_are_never_argued_with(remark: str) -> None:
    said = explain(JudgeMark(movement=1, mark=None, remark=remark), EVERYTHING)
    assert said.startswith("A judge saw uneven steps. A phone cannot confirm or rule this out.")
    assert " said." not in said


def test_several_remarks_in_one_and_underlined_words() -> None:
    names = [row.name for row in meanings("late, against the hand", "bend and shape")]
    assert names == ["shape", "place", "abrupt", "contact"]


@pytest.mark.parametrize(
    ("remark", "underlined", "rows"),
    [
        ("late; needs bend. hurried", "", ["place", "hurried", "contact"]),
        ("circle too large / late to trot", "", ["shape", "place"]),
        ("", "size and shape of circle; bend", ["shape", "contact"]),
        ("good", "straightness", ["straight"]),
        ("early", "halt, immobility", ["place", "halt"]),
        ("wobbly!", "Transitions, rhythm", ["straight", "tempo"]),
        ("overshot + not square", "", ["turn", "halt"]),
    ],
)
def test_each_remark_of_several_and_each_underlined_word_counts(
    remark: str, underlined: str, rows: list[str]
) -> None:
    assert [row.name for row in meanings(remark, underlined)] == rows


@pytest.mark.parametrize(
    ("remark", "underlined"),
    [("late", "Regularity and balance"), ("steps irregular", "circle"), ("", "regularity"),
     ("circle", "uneven"), ("uneven, loops fine", ""), ("nice size. unlevel", "rhythm")],
)  # fmt: skip
def test_uneven_is_heard_wherever_it_stands(remark: str, underlined: str) -> None:
    mark = JudgeMark(movement=1, mark=None, remark=remark, underlined=underlined)
    assert explain(mark, EVERYTHING).startswith("A judge saw uneven steps.")


def test_an_error_of_course_is_told_by_the_line() -> None:
    mark = JudgeMark(movement=1, mark=None, remark="error of course")
    assert explain(mark, EVERYTHING, ["Turned left at C."]) == "Turned left at C."
    assert explain(mark, EVERYTHING) == "Where the line left the test could not be told."


def test_a_remark_is_set_beside_what_was_measured() -> None:
    mark = JudgeMark(movement=1, mark=None, remark="late")
    rows = [finding("placement", "Walk came 2 m after C."), finding("diameter", "No.")]
    assert explain(mark, rows) == "Walk came 2 m after C. A phone cannot see why."
    assert "Nothing was measured" in explain(mark, [])


def test_no_remark_no_words() -> None:
    assert explain(JudgeMark(movement=1, mark=None), EVERYTHING) == ""
    assert meanings("qwertz") == ()
