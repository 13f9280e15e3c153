"""Whatever is typed: a sheet, or faults in one line each; never anything else."""

import random

from hypothesis import given, settings
from hypothesis import strategies as st

from ingest.errors import SheetError
from sample_rides.sheets import DEMO_SHEETS, demo_sheet, demo_sheet_text
from track.lay_out import lay_out
from track.sheet import Movement, Sheet
from track.sheet_file import parse_sheet, write_sheet, write_sheet_toml

TYPED = """
line track turn circle half serpentine loop diagonal return left right at from to between and walk
trot canter halt free via for steps s in first of the A C K E H M B F X D G V P S R I L 20 10 15 5
3 4 0 99999 -1 1.5 x2 , ; . - # " : corner centre of 3 show stretch é ☂
"""
WORDS = TYPED.split()


def tried(text: str) -> None:
    try:
        lay_out(parse_sheet(text))
    except SheetError as refused:
        assert refused.faults
        assert all("\n" not in fault and fault for fault in refused.faults)


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=300))
def test_any_text(text: str) -> None:
    tried(text)


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(st.sampled_from(WORDS), max_size=14), min_size=1, max_size=6))
def test_any_order_of_words(lines: list[list[str]]) -> None:
    body = "\n".join(f"{n} {' '.join(words)}" for n, words in enumerate(lines, start=1))
    tried("arena: 20x60\nenter: trot\n" + body)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(DEMO_SHEETS), st.integers(0, 10**6))
def test_a_sheet_with_words_lost_or_changed(name: str, seed: int) -> None:
    dice = random.Random(seed)
    words = demo_sheet_text(name).split(" ")
    for _ in range(dice.randint(1, 4)):
        place = dice.randrange(len(words))
        if dice.random() < 0.5:
            words[place] = dice.choice(WORDS)
        else:
            del words[place]
    tried(" ".join(words))


printable = st.text(
    st.characters(exclude_categories=["Cc", "Cs", "Zl", "Zp"]), min_size=1, max_size=60
)


@settings(max_examples=100, deadline=None)
@given(printable, printable)
def test_words_for_people_read_back_unchanged(title: str, text: str) -> None:
    plain = [
        " ".join("".join(c if c.isprintable() else " " for c in t).split()) for t in (title, text)
    ]
    sheet = Sheet(
        title=plain[0] or "Untitled test",
        arena="20x40",
        enter="walk",
        level="walk and trot",
        movements=(Movement(number=1, ride=("line A X C",), coefficient=2, text=plain[1]),),
    )
    assert parse_sheet(write_sheet(sheet)) == sheet
    assert parse_sheet(write_sheet_toml(sheet)) == sheet


def test_comments_and_windows_line_ends_are_fine() -> None:
    text = demo_sheet_text("walk and trot")
    assert parse_sheet(text.replace("\n", "\r\n")) == demo_sheet("walk and trot")
    assert parse_sheet(text.replace("\n", "  # remark\n")) is not None
    assert parse_sheet("\ufeff" + text) == demo_sheet("walk and trot")
