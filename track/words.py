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

_INSTEAD: Final = {
    "simple change": "write 'canter right at X via walk'",
    "medium trot": "for a few longer strides write 'show lengthened strides'",
    "medium canter": "for a few longer strides write 'show lengthened strides'",
    "extended trot": "for a few longer strides write 'show lengthened strides'",
}
"""What a rider may have meant by some of them."""

_MADE_OF: Final = (
    (r"\bfigure(?: of)? (?:eight|8)\b", "a figure of eight", "its two circles"),
    (r"\bchange\b.*\b(?:through|out of|within) (?:the )?circle\b",
     "a change of rein through the circle", "its two half circles"),
)  # fmt: skip
"""Figures that are made of others."""

_SPELLINGS: Final = (
    (r"[.:]+(?=\s|$)", " "),
    (r"\s*&\s*", " and "),
    (r"(\d+(?:\.\d+)?)\s*-?\s*(?:metres?|meters?|mtrs?|m)\b", r"\1"),
    (r"\b(?:in )?diameter\b", ""),
    (r"\b(?:half|demi)[-\s]?(?:circles?|voltes?)\b", "half circle"),
    (r"\bhalf (\d+(?:\.\d+)?) circle\b", r"half circle \1"),
    (r"\bcent(?:re|er)[-\s]?line\b", "centre line"),
    (r"\bmed(?:ium)? walk\b", "walk"),
    (r"\b(?:working|active) (trot|canter|walk)\b", r"\1"),
    (r"\b(trot|canter) (?:rising|sitting)\b|\b(?:rising|sitting) (trot)\b", r"\1\2"),
    (r"\bon (?:a )?(?:long|loose) reins?\b", ""),
    (r"\b(?:on |with )?(?:the )?(left|right)[-\s](?:lead|leg|hand)\b", r"\1"),
    (r"\bto the (left|right)\b", r"\1"),
    (r"\b(left|right) canter\b", r"canter \1"),
    (r"\breturn(?:ing)? to (?:the )?track at\b|\breturning to\b", "return to"),
    (r"\b(?:one|single) loop\b", "loop"),
    (r"\b(one|two|three|four|five|six)\b", None),
    (r"(?<=\d)\s*(?:seconds?|secs?|s)\b", " s"),
    (r"\bchange(?: of)?(?: the)? reins?\b", "diagonal"),
    (r"(?<=[a-z0-9])-(?=[a-z]{2})|(?<=[a-z]{2})-(?=[a-z0-9])", " "),
)
_NUMBERS: Final = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_FILLER: Final = frozenset({"the", "of", "then", "on", "ride", "rider", "metre", "m", "across"})
_RUN: Final = re.compile(r"\b[AKVESHCMRBPFDLXIG]{2,9}\b")
_SMALL_RUN: Final = re.compile(r"\b[akveshcmrbpf]x[akveshcmrbpfdig]\b")


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
    line = re.sub(r"[\u2010-\u2015]", "-", _letters_apart(text.strip()).lower())
    line = re.sub(r"(?<![a-z])([a-z])((?:\s*-\s*[a-z])+)(?![a-z])", _spaced, line)
    for pattern, plain in _SPELLINGS:
        line = re.sub(pattern, _digit if plain is None else plain, line)
    words = line.split()
    return " ".join(
        word.upper() if len(word) == 1 and word.isalpha() and not _unit(words, place) else word
        for place, word in enumerate(words)
    )


def _letters_apart(text: str) -> str:
    """Letters typed in one run set apart: ``HXF``, ``hxf``; not words that happen to be such.

    Examples
    --------
    >>> _letters_apart("change rein HXF"), _letters_apart("CIRCLE LEFT 20 AT E")
    ('change rein H X F', 'CIRCLE LEFT 20 AT E')
    """
    shouted = text == text.upper()

    def apart(match: re.Match[str]) -> str:
        run = match[0]
        word = shouted and "X" not in run and run != text
        return run if word or run == "SIX" else " ".join(run)

    spaced = _RUN.sub(apart, text)
    return _SMALL_RUN.sub(lambda match: " ".join(match[0]), spaced)


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


def not_supported(text: str) -> str | None:
    """Why a term is refused that is known and not ridden here; None when it is not such a one.

    Examples
    --------
    >>> not_supported("simple change at X")
    "'simple change' is not supported; write 'canter right at X via walk'"
    """
    higher = higher_word(text)
    if higher:
        instead = _INSTEAD.get(higher.removesuffix("s"), "")
        return f"'{higher}' is not supported" + (f"; {instead}" if instead else "")
    for pattern, name, parts in _MADE_OF:
        if re.search(pattern, text.lower()):
            return f"{name} is not one term; write {parts}, parted by a comma"
    return None


def _spaced(match: re.Match[str]) -> str:
    return match.group(0).replace("-", " ")


def _digit(match: re.Match[str]) -> str:
    return str(_NUMBERS[match.group(0)])


def _unit(words: list[str], place: int) -> bool:
    return words[place] == "s" and place > 0 and bool(re.fullmatch(r"[\d.-]+", words[place - 1]))
