"""One parser for the terms of a sheet, whichever of its two forms they stand in."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from track.arena import LETTERS, Size
from track.layout import StretchKind
from track.sheet import Rein
from track.term_parts import READERS, TermError, unknown_words
from track.words import not_supported, tidy, without_filler

GAIT_WORDS: Final = ("walk", "trot", "canter", "halt")


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
    term = READERS[kind](rest, size)
    return Ride(
        kind=kind,
        letters=term.letters,
        side=term.side,
        size_m=term.number,
        loops=term.loops,
    )


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
    raise TermError(f"{unknown_words(words)} is not understood; allowed here: {KINDS}, or a gait")


def _kind_of_letters(letters: list[str], size: Size) -> StretchKind:
    """Bare letters, such as ``H-X-F``: a diagonal, a line or the track, as they lie."""
    (x0, y0), (x1, y1) = (LETTERS[size][letter] for letter in (letters[0], letters[-1]))
    if x0 == -x1 != 0.0 and y0 != y1:
        return "diagonal"
    inside = any(LETTERS[size][letter][0] == 0.0 and letter not in "AC" for letter in letters)
    across = sorted(letters) in (["A", "C"], ["B", "E"])
    return "line" if inside or across else "track"


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
