"""How numbers and places are said: shared by every sentence and page."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from track.arena import HALF_LENGTH_M, LETTERS, Size

GAIT_WORDS: Final[Mapping[str, str]] = {
    "halt": "halt",
    "walk": "walk",
    "trot": "trot",
    "canter": "canter",
    "unknown": "unknown gait",
}
UNIT_WORDS: Final[Mapping[str, str]] = {"deg": "°", "ratio": "", "%": " %"}
"""Units that are not said as they are written."""


def number(value: float, places: int = 1) -> str:
    """Write a number with a true minus sign and never as minus nought.

    Examples
    --------
    >>> number(-0.04), number(-1.26)
    ('0.0', '−1.3')
    """
    text = f"{value:.{places}f}"
    if float(text) == 0:
        return text.lstrip("-")
    return text.replace("-", "−")


def in_unit(value: float, unit: str, places: int = 1) -> str:
    """Write a number with its unit."""
    return f"{number(value, places)}{UNIT_WORDS.get(unit, ' ' + unit)}"


def plus_minus(value: float, sd: float, unit: str, places: int = 1) -> str:
    """Write a value with its standard uncertainty; a plain count stays a plain number.

    Examples
    --------
    >>> plus_minus(19.63, 0.41, "m"), plus_minus(3, 0, "strides")
    ('19.6 ± 0.4 m', '3 strides')
    """
    if sd <= 0:
        return in_unit(value, unit, 0 if float(value).is_integer() else places)
    doubt = max(sd, 10.0**-places)
    return f"{number(value, places)} ± {in_unit(doubt, unit, places)}"


def length(metres: float) -> str:
    """Say a distance in metres, one number however far it is.

    Examples
    --------
    >>> length(1.24), length(-4.9)
    ('1.2 m', '4.9 m')
    """
    return f"{abs(metres):.1f} m"


def to_tenth(value: float) -> str:
    """Write the size of a small difference, never as nought: nothing is known that finely.

    Examples
    --------
    >>> to_tenth(-0.52), to_tenth(0.01)
    ('0.5', '0.1')
    """
    return f"{max(abs(value), 0.1):.1f}"


def apart(metres: float, way: str) -> str:
    """Say how far off and which way; where that rounds to nought there is no way.

    Examples
    --------
    >>> apart(-1.24, "before it"), apart(0.03, "after it")
    ('1.2 m before it', 'to within 0.1 m')
    """
    return f"{length(metres)} {way}" if abs(metres) >= 0.05 else "to within 0.1 m"


def listed(words: list[str]) -> str:
    """A list as it is said.

    Examples
    --------
    >>> listed(["walk", "trot", "canter"])
    'walk, trot and canter'
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def strides(count: float) -> str:
    """Say a number of strides in halves.

    Examples
    --------
    >>> strides(1.4), strides(0.6), strides(0.1), strides(2.1)
    ('one and a half strides', 'half a stride', 'less than half a stride', '2 strides')
    """
    halves = round(abs(count) * 2)
    named = {
        0: "less than half a stride",
        1: "half a stride",
        2: "one stride",
        3: "one and a half strides",
    }
    if halves in named:
        return named[halves]
    return f"{halves // 2} strides" if halves % 2 == 0 else f"{halves / 2:.1f} strides"


def clock(seconds: float) -> str:
    """Minutes and seconds.

    Examples
    --------
    >>> clock(125.4)
    '2:05'
    """
    return f"{int(seconds // 60)}:{int(seconds % 60):02d}"


def capital(sentence: str) -> str:
    """Begin a sentence with a capital."""
    return sentence[:1].upper() + sentence[1:]


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What places are called: letters, or plain words while the ends are unknown.

    Attributes
    ----------
    size : {"20x40", "20x60"}
    known : bool
        True when it is known which end is A.
    """

    size: Size
    known: bool

    def place(self, words: str) -> str:
        """Say a place; every letter in it becomes plain words while the ends are unknown.

        Examples
        --------
        >>> Names(size="20x40", known=False).place("C and H")
        'short side 2 and long side 1 near short side 2'
        """
        if self.known:
            return words
        return re.sub(r"\b[A-Z]\b", lambda letter: self._plain(letter.group()), words)

    def sentence(self, words: str) -> str:
        """Say a sentence without letters while the ends are unknown; "A" may open it as a word."""
        article = words.startswith("A ") and not words.startswith("A and ")
        return words[:2] + self.place(words[2:]) if article else self.place(words)

    def _plain(self, letter: str) -> str:
        if letter not in LETTERS[self.size]:
            return letter
        x_m, y_m = LETTERS[self.size][letter]
        end = "short side 1" if y_m < 0 else "short side 2"
        if abs(y_m) >= HALF_LENGTH_M[self.size]:
            return end
        side = "the centre line" if x_m == 0 else f"long side {1 if x_m < 0 else 2}"
        if y_m == 0:
            return "the middle of the school" if x_m == 0 else f"the middle of {side}"
        return f"{side} near {end}"
