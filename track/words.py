"""The words of a test sheet: cleaning what a rider typed, and what the tool does not ride.

Words of the trade; which of them belong to higher tests is common practice, no source.
"""

from __future__ import annotations

import re
from typing import Final

HIGHER: Final = (
    "rein back", "reinback", "leg yield", "leg yielding", "pirouette", "half pass", "shoulder in",
    "shoulder fore", "haunches in", "haunches out", "quarters in", "travers", "renvers", "piaffe",
    "passage", "flying change", "flying changes", "tempi changes", "counter canter",
    "collected walk", "collected trot", "collected canter", "extended walk", "extended trot",
    "extended canter", "medium trot", "medium canter", "turn on the forehand",
    "turn on the haunches", "turn on the quarters", "zigzag", "zig zag", "simple change",
    "simple changes", "half turn", "sidepass",
)  # fmt: skip
"""Movements of higher tests: known, and not supported."""

_SPELLINGS: Final = (
    (r"(\d+(?:\.\d+)?)\s*-?\s*(?:metres?|meters?|mtrs?|m)\b", r"\1"),
    (r"\bhalf[-\s]?circles?\b", "half circle"),
    (r"\bcent(?:re|er)[-\s]?line\b", "centre line"),
    (r"\bmedium walk\b|\bmed(?:ium)? walk\b", "walk"),
    (r"\bworking (trot|canter)\b", r"\1"),
    (r"\bfree walk(?: on (?:a )?(?:long|loose) rein)?\b", "free walk"),
    (r"\b(left|right)[-\s](?:lead|hand)\b", r"\1"),
    (r"\b(left|right) canter\b", r"canter \1"),
    (r"\b(one|two|three|four|five|six)\b", ""),
    (r"(?<=\d)\s*(?:seconds?|secs?|s)\b", " s"),
    (r"\bchange(?: of)?(?: the)? rein\b", "diagonal"),
)
_NUMBERS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_FILLER: Final = frozenset({"the", "of", "then", "on", "ride", "rider", "metre", "m"})


def tidy(text: str) -> str:
    """A term in lower case with single spaces, one spelling per word and lone letters in capitals.

    Examples
    --------
    >>> tidy("Half-circle right 10 m from e to x")
    'half circle right 10 from E to X'
    >>> tidy("working canter left at A")
    'canter left at A'
    >>> tidy("H-X-F")
    'H X F'
    """
    line = re.sub(r"[\u2010-\u2015]", "-", text.strip().lower())
    line = re.sub(r"(?<![a-z])([a-z])((?:\s*-\s*[a-z])+)(?![a-z])", _spaced, line)
    for pattern, plain in _SPELLINGS:
        line = re.sub(pattern, plain if plain else _digit, line)
    words = line.split()
    return " ".join(
        word.upper() if len(word) == 1 and word.isalpha() and not _unit(words, place) else word
        for place, word in enumerate(words)
    )


def without_filler(text: str) -> list[str]:
    """The words of a tidy term that carry meaning."""
    return [word for word in text.split() if word not in _FILLER]


def higher_word(text: str) -> str | None:
    """The movement of a higher test that a term names, if it names one.

    Examples
    --------
    >>> higher_word("leg-yield from D to H")
    'leg yield'
    """
    plain = " ".join(re.sub(r"[-\u2010-\u2015]", " ", text.lower()).split())
    found = [word for word in HIGHER if re.search(rf"\b{re.escape(word)}s?\b", plain)]
    return max(found, key=len) if found else None


def _spaced(match: re.Match[str]) -> str:
    return match.group(0).replace("-", " ")


def _digit(match: re.Match[str]) -> str:
    return str(_NUMBERS[match.group(0)])


def _unit(words: list[str], place: int) -> bool:
    return words[place] == "s" and place > 0 and bool(re.fullmatch(r"[\d.]+", words[place - 1]))
