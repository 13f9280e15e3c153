"""One parser for the terms of a sheet, whichever of its two forms they stand in."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from track.arena import LETTERS, Size
from track.layout import StretchKind
from track.sheet import Rein
from track.words import not_supported, tidy, without_filler

SMALLEST_M: Final = 6.0
LARGEST_M: Final = 20.0
"""Diameters a circle may have: a volte of 6 m to the arena's width (FEI 409, 410 [seen])."""

GAIT_WORDS: Final = ("walk", "trot", "canter", "halt")


class TermError(ValueError):
    """A term that cannot be read; the message says what is allowed there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ride:
    """One term of ``ride``.

    Attributes
    ----------
    kind : str
    letters : tuple of str
        In the order ridden; empty for a turn "here" (at the last letter of the term before).
    side : {"left", "right"} or None
    size_m : float or None, m
        Diameter, or depth of a loop.
    loops : int
    """

    kind: StretchKind
    letters: tuple[str, ...]
    side: Rein | None = None
    size_m: float | None = None
    loops: int = 0

    @property
    def text(self) -> str:
        """The term in canonical words."""
        return _WRITTEN[self.kind](self)


def is_change(text: str) -> bool:
    """Whether a term belongs to ``change``: it names a gait."""
    return bool(set(tidy(text).split()) & set(GAIT_WORDS))


def parse_ride(text: str, size: Size) -> Ride:
    """Read one term of ``ride``.

    Parameters
    ----------
    text : str
        As typed.
    size : {"20x40", "20x60"}
        Whose letters are allowed.

    Raises
    ------
    TermError

    Examples
    --------
    >>> parse_ride("20m circle left at E", "20x40").text
    'circle left 20 at E'
    """
    words = without_filler(tidy(text))
    refused = not_supported(text)
    if refused:
        raise TermError(refused)
    kind, rest = _kind(words, size)
    term = _READERS[kind](rest, size)
    return Ride(
        kind=kind,
        letters=term.letters,
        side=term.side,
        size_m=term.number,
        loops=term.loops,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Parts:
    letters: tuple[str, ...]
    side: Rein | None = None
    number: float | None = None
    loops: int = 0


_STARTS: Final[tuple[tuple[tuple[str, ...], StretchKind], ...]] = (
    (("half", "circle"), "half circle"),
    (("circle",), "circle"),
    (("volte",), "circle"),
    (("serpentine",), "serpentine"),
    (("loop",), "loop"),
    (("diagonal",), "diagonal"),
    (("return",), "return"),
    (("turn",), "turn"),
    (("track", "left"), "turn"),
    (("track", "right"), "turn"),
    (("track",), "track"),
    (("line",), "line"),
    (("centre", "line"), "line"),
)
KINDS: Final = "line, track, turn, circle, half circle, return, diagonal, serpentine, loop"


def _kind(words: list[str], size: Size) -> tuple[StretchKind, list[str]]:
    for start, kind in _STARTS:
        if all(word in words for word in start):
            drop = {word for word in start if word not in ("left", "right")}
            if kind == "line":
                drop |= {"centre"}
            return kind, [word for word in words if word not in drop]
    letters = [word for word in words if word not in ("from", "to")]
    if len(letters) >= 2 and all(letter in LETTERS[size] for letter in letters):
        return _kind_of_letters(letters, size), letters
    raise TermError(f"{_unknown(words)} is not understood; allowed here: {KINDS}, or a gait")


def _kind_of_letters(letters: list[str], size: Size) -> StretchKind:
    """Bare letters, such as ``H-X-F``: a diagonal, a line or the track, as they lie."""
    (x0, y0), (x1, y1) = (LETTERS[size][letter] for letter in (letters[0], letters[-1]))
    if x0 == -x1 != 0.0 and y0 != y1:
        return "diagonal"
    inside = any(LETTERS[size][letter][0] == 0.0 and letter not in "AC" for letter in letters)
    across = sorted(letters) in (["A", "C"], ["B", "E"])
    return "line" if inside or across else "track"


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
        raise TermError(f"{_unknown(strange)} is not understood here; allowed: {hint}")


def _unknown(words: list[str]) -> str:
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


def _letters_only(hint: str, least: int, most: int) -> Callable[[list[str], Size], _Parts]:
    def read(words: list[str], size: Size) -> _Parts:
        letters, rest = _read_letters(words, size)
        _take(rest, _BESIDE_LETTERS, hint)
        _count(letters, least, most, hint)
        return _Parts(letters=letters)

    return read


def _read_return(words: list[str], size: Size) -> _Parts:
    hint = "return to LETTER"
    letters, rest = _read_letters(words, size)
    _take(rest, {"to", "at", "track"}, hint)
    _count(letters, 1, 1, hint)
    return _Parts(letters=letters)


def _read_turn(words: list[str], size: Size) -> _Parts:
    hint = "turn left|right at LETTER"
    letters, rest = _read_letters(words, size)
    side, rest = _side(rest, hint)
    _take(rest, {"at", "down", "up", "onto", "centre", "line"}, hint)
    _count(letters, 0, 1, hint)
    return _Parts(letters=letters, side=side)


def _read_circle(words: list[str], size: Size) -> _Parts:
    hint = "circle left|right DIAMETER at LETTER"
    letters, rest = _read_letters(words, size)
    side, rest = _side(rest, hint)
    number, rest = _number(rest, hint)
    _take(rest, {"at"}, hint)
    _count(letters, 1, 1, hint)
    return _Parts(letters=letters, side=side, number=_diameter(number, hint))


def _read_half(words: list[str], size: Size) -> _Parts:
    hint = "half circle left|right DIAMETER from LETTER to LETTER"
    letters, rest = _read_letters(words, size)
    side, rest = _side(rest, hint)
    number, rest = _number(rest, hint)
    _take(rest, {"from", "at", "to"}, hint)
    _count(letters, 2, 2, hint)
    return _Parts(letters=letters, side=side, number=_diameter(number, hint))


def _read_serpentine(words: list[str], size: Size) -> _Parts:
    hint = "serpentine N loops from A to C left|right (or C to A; N from 2 to 6)"
    letters, rest = _read_letters(words, size)
    side, rest = _side(rest, hint)
    number, rest = _number(rest, hint)
    _take(rest, {"loops", "loop", "from", "to", "first", "equal"}, hint)
    if set(letters) != {"A", "C"} or len(letters) != 2 or number not in (2, 3, 4, 5, 6):
        raise TermError(f"no serpentine the arena holds; allowed: {hint}")
    return _Parts(letters=letters, side=side, loops=int(number))


def _read_loop(words: list[str], size: Size) -> _Parts:
    hint = "loop DEPTH from LETTER to LETTER (DEPTH from 2 to 10)"
    letters, rest = _read_letters(words, size)
    number, rest = _number(rest, hint)
    _take(rest, {"from", "to", "shallow", "off", "track"}, hint)
    _count(letters, 2, 2, hint)
    if not 2 <= number <= 10:
        raise TermError(f"'{number:g}' is no depth to ride; allowed: {hint}")
    return _Parts(letters=letters, number=number)


_READERS: Final[Mapping[StretchKind, Callable[[list[str], Size], _Parts]]] = {
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
_WRITTEN: Final[Mapping[StretchKind, Callable[[Ride], str]]] = {
    "line": lambda ride: f"line {' '.join(ride.letters)}",
    "track": lambda ride: f"track {' '.join(ride.letters)}",
    "diagonal": lambda ride: f"diagonal {' '.join(ride.letters)}",
    "return": lambda ride: f"return to {ride.letters[0]}",
    "turn": lambda ride: " at ".join((f"turn {ride.side}", *ride.letters)),
    "circle": lambda ride: f"circle {ride.side} {ride.size_m:g} at {ride.letters[0]}",
    "half circle": lambda ride: (
        f"half circle {ride.side} {ride.size_m:g} from {ride.letters[0]} to {ride.letters[1]}"
    ),
    "serpentine": lambda ride: (
        f"serpentine {ride.loops} loops from {ride.letters[0]} to {ride.letters[1]} {ride.side}"
    ),
    "loop": lambda ride: f"loop {ride.size_m:g} from {ride.letters[0]} to {ride.letters[1]}",
}
