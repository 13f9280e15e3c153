"""What stands in each kind of term: its letters, its side and its number, read from its words."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from track.arena import LETTERS, Size
from track.layout import StretchKind
from track.sheet import Rein

SMALLEST_M: Final = 6.0
LARGEST_M: Final = 20.0
"""Diameters a circle may have: a volte of 6 m to the arena's width (FEI 409, 410 [seen])."""


class TermError(ValueError):
    """A term that cannot be read; the message says what is allowed there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What a term says beside its kind."""

    letters: tuple[str, ...]
    side: Rein | None = None
    number: float | None = None
    loops: int = 0


def _read_letters(words: list[str], size: Size) -> tuple[tuple[str, ...], list[str]]:
    letters = tuple(word for word in words if len(word) == 1 and word.isalpha())
    for letter in letters:
        if letter not in LETTERS[size]:
            raise TermError(
                f"'{letter}' is not a letter of a {size} arena; allowed: {' '.join(LETTERS[size])}"
            )
    return letters, [word for word in words if word not in letters]


def _take(rest: list[str], allowed: set[str], hint: str) -> None:
    strange = [word for word in rest if word not in allowed]
    if strange:
        raise TermError(f"{unknown_words(strange)} is not understood here; allowed: {hint}")


def unknown_words(words: list[str]) -> str:
    """Words as they are named in a fault."""
    return f"'{' '.join(words)}'" if words else "an empty term"


def _side(rest: list[str], hint: str) -> tuple[Rein, list[str]]:
    sides: list[Rein] = ["left" if w == "left" else "right" for w in rest if w in ("left", "right")]
    if len(set(sides)) != 1:
        raise TermError(f"left or right is missing; allowed: {hint}")
    return sides[0], [word for word in rest if word not in ("left", "right")]


def _number(rest: list[str], hint: str) -> tuple[float, list[str]]:
    numbers = [word for word in rest if re.fullmatch(r"\d+(?:\.\d+)?", word)]
    if len(numbers) != 1:
        raise TermError(f"one number of metres is needed; allowed: {hint}")
    return float(numbers[0]), [word for word in rest if word not in numbers]


def _count(letters: tuple[str, ...], least: int, most: int, hint: str) -> None:
    if not least <= len(letters) <= most:
        raise TermError(f"{len(letters)} letters given; allowed: {hint}")


def _diameter(number: float, hint: str) -> float:
    if not SMALLEST_M <= number <= LARGEST_M:
        raise TermError(f"'{number:g}' is no diameter to ride; allowed: 6 to 20 ({hint})")
    return number


_BESIDE_LETTERS: Final = {
    "from", "to", "along", "through", "and", "via", "long", "short", "at", "down", "up", "onto",
    "over", "diagonal",
}  # fmt: skip
"""Words that stand beside letters and say nothing more."""


def _letters_only(hint: str, least: int, most: int) -> Callable[[list[str], Size], Parts]:
    def read(words: list[str], size: Size) -> Parts:
        letters, rest = _read_letters(words, size)
        _take(rest, _BESIDE_LETTERS, hint)
        _count(letters, least, most, hint)
        return Parts(letters=letters)

    return read


def _read_return(words: list[str], size: Size) -> Parts:
    hint = "return to LETTER"
    letters, rest = _read_letters(words, size)
    _take(rest, {"to", "at", "track"}, hint)
    _count(letters, 1, 1, hint)
    return Parts(letters=letters)


def _read_turn(words: list[str], size: Size) -> Parts:
    hint = "turn left|right at LETTER"
    letters, rest = _read_letters(words, size)
    side, rest = _side(rest, hint)
    _take(rest, {"at", "down", "up", "onto", "centre", "line"}, hint)
    _count(letters, 0, 1, hint)
    return Parts(letters=letters, side=side)


def _read_round(
    words: list[str], size: Size, hint: str
) -> tuple[tuple[str, ...], Rein, float, list[str]]:
    """Letters, side and number of a round figure, and the words left."""
    letters, rest = _read_letters(words, size)
    side, rest = _side(rest, hint)
    number, rest = _number(rest, hint)
    return letters, side, number, rest


def _read_circle(words: list[str], size: Size) -> Parts:
    hint = "circle left|right DIAMETER at LETTER"
    letters, side, number, rest = _read_round(words, size, hint)
    _take(rest, {"at"}, hint)
    _count(letters, 1, 1, hint)
    return Parts(letters=letters, side=side, number=_diameter(number, hint))


def _read_half(words: list[str], size: Size) -> Parts:
    hint = "half circle left|right DIAMETER from LETTER to LETTER"
    letters, side, number, rest = _read_round(words, size, hint)
    _take(rest, {"from", "at", "to"}, hint)
    _count(letters, 2, 2, hint)
    return Parts(letters=letters, side=side, number=_diameter(number, hint))


def _read_serpentine(words: list[str], size: Size) -> Parts:
    hint = "serpentine N loops from A to C left|right (or C to A; N from 2 to 6)"
    letters, side, number, rest = _read_round(words, size, hint)
    _take(rest, {"loops", "loop", "from", "to", "first", "equal"}, hint)
    if set(letters) != {"A", "C"} or len(letters) != 2 or number not in (2, 3, 4, 5, 6):
        raise TermError(f"no serpentine the arena holds; allowed: {hint}")
    return Parts(letters=letters, side=side, loops=int(number))


def _read_loop(words: list[str], size: Size) -> Parts:
    hint = "loop DEPTH from LETTER to LETTER (DEPTH from 2 to 10)"
    letters, rest = _read_letters(words, size)
    number, rest = _number(rest, hint)
    _take(rest, {"from", "to", "shallow", "off", "track"}, hint)
    _count(letters, 2, 2, hint)
    if not 2 <= number <= 10:
        raise TermError(f"'{number:g}' is no depth to ride; allowed: {hint}")
    return Parts(letters=letters, number=number)


READERS: Final[Mapping[StretchKind, Callable[[list[str], Size], Parts]]] = {
    "line": _letters_only(
        "line LETTER LETTER ..., for example line A X C; onto it: turn left|right at LETTER", 2, 9
    ),
    "track": _letters_only("track LETTER LETTER ..., for example track C H E", 2, 20),
    "diagonal": _letters_only("diagonal LETTER [LETTER] LETTER, for example diagonal H X F", 2, 3),
    "return": _read_return,
    "turn": _read_turn,
    "circle": _read_circle,
    "half circle": _read_half,
    "serpentine": _read_serpentine,
    "loop": _read_loop,
}
