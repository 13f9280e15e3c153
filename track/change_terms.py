"""The terms of ``change``: which gait, and where."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal

from track.arena import LETTERS, Size
from track.sheet import GaitName, Rein
from track.term_parts import TermError
from track.words import not_supported, tidy

CORNER: Final = "corner"
CENTRE_LINE: Final = "centre line"
PLACES: Final = "GAIT at PLACE, GAIT between PLACE and PLACE, GAIT from PLACE to PLACE"
_PARTS: Final = {
    "first half": (0.0, 0.5), "second half": (0.5, 1.0), "last half": (0.5, 1.0),
    "first quarter": (0.0, 0.25), "second quarter": (0.25, 0.5),
    "third quarter": (0.5, 0.75), "last quarter": (0.75, 1.0), "fourth quarter": (0.75, 1.0),
}  # fmt: skip
_SAME: Final = {"last half": "second half", "fourth quarter": "last quarter"}
_GAIT: Final = re.compile(r"\b(free walk|walk|trot|canter|halt)\b(?: (left|right)\b)?")
_STEPS: Final = re.compile(r"\b(?:for )?(\d+)(?: ?(?:-|to) ?(\d+))? (?:steps?|strides?)\b")
_STEPS_OF: Final = re.compile(r"\b(\d+)((?: ?(?:-|to) ?\d+)?) (walk|trot) (?:steps?|strides?)\b")
_SECONDS: Final = re.compile(r"\b(?:for )?(\d+(?:\.\d+)?)(?: ?(?:-|to) ?\d+(?:\.\d+)?)? s\b")
"""Of a range of seconds the least is asked for."""
_LEAD_IN: Final = re.compile(
    r"\b(?:(?:upward|downward|progressive|smooth|direct) )*transitions?(?: in| to| into)?\b"
    r"|^(?:progressive|direct)(?:ly)? (?=walk|trot|canter|halt)"
    r"|\b(?:proceed|move off|strike off|depart)(?: in| into| to)?\b|(?<=walk) on\b|(?<=trot) on\b"
)
_FROM_GAIT: Final = re.compile(
    r"\b(?:walk|trot|canter(?: left| right)?|halt) (?:in)?to "
    r"(?=(?:free )?(?:walk|trot|canter|halt)\b)"
)
_FIGURE: Final = re.compile(
    r"\b(?:circle|diagonal|turn|track|serpentine|loops?|return|volte|enter)\b"
)
_SAYS_NOTHING: Final = frozenset({"for", "the", "immobility", "salute", "a"})
_VIA: Final = re.compile(r"\b(?:via|through) (?:the )?(walk|trot)\b")
_PART: Final = re.compile(
    r"\b(?:in |during )(?:the )?(first|second|third|fourth|last) (half|quarter)"
    r"(?: of (?:the |this )?circle|(?! of))(?= |$)"
)
_PLACE: Final = r"(?:the )?(corner|centre line|[A-Z])"
_BETWEEN: Final = re.compile(rf"\bbetween {_PLACE}(?: and)? {_PLACE}(?= |$)")
_FROM: Final = re.compile(rf"\b(?:from )?{_PLACE} to {_PLACE}(?= |$)")
_AT: Final = re.compile(
    rf"\b(?:at|over|in|on|before reaching|crossing|when crossing) {_PLACE}(?= |$)"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One term of ``change``.

    Attributes
    ----------
    gait : {"halt", "walk", "trot", "canter"}
    where : {"at", "between", "from", "part"}
    places : tuple of str
        Letters, ``"corner"`` or ``"centre line"``; the words of the part of a circle.
    part : (float, float) or None
        Fractions of the circle, for ``where == "part"``.
    """

    gait: GaitName
    where: Literal["at", "between", "from", "part"]
    places: tuple[str, ...]
    lead: Rein | None = None
    free: bool = False
    part: tuple[float, float] | None = None
    steps: tuple[int, int] | None = None
    halt_s: float | None = None
    via: Literal["walk", "trot"] | None = None

    @property
    def text(self) -> str:
        """The term in canonical words."""
        words = [f"free {self.gait}" if self.free else self.gait]
        if self.lead:
            words.append(self.lead)
        if self.steps:
            words.append(f"for {_range(self.steps)} steps")
        words.append(self.place_text)
        if self.halt_s is not None:
            words.append(f"for {self.halt_s:g} s")
        if self.via:
            words.append(f"via {self.via}")
        return " ".join(words)

    @property
    def place_text(self) -> str:
        """The place with its preposition."""
        if self.where == "between":
            return f"between {self.places[0]} and {self.places[1]}"
        if self.where == "from":
            return f"from {self.places[0]} to {self.places[1]}"
        return f"in {self.places[0]} of circle" if self.where == "part" else f"at {self.places[0]}"


def _range(steps: tuple[int, int]) -> str:
    return f"{steps[0]}-{steps[1]}" if steps[0] != steps[1] else str(steps[0])


def parse_change(text: str, size: Size) -> Asked:
    """Read one term of ``change``.

    Raises
    ------
    TermError

    Examples
    --------
    >>> parse_change("Working canter left in the first half of the circle", "20x40").text
    'canter left in first half of circle'
    """
    refused = not_supported(text)
    if refused:
        raise TermError(refused)
    via, line = _pull(_VIA, _plain(text))
    match = _only_gait(line)
    gait, lead = _gait(match)
    rest = f"{line[: match.start()]} {line[match.end() :]}"
    if gait == "canter" and lead is None:
        lead, rest = _lead(rest)
    _one_thing(rest)
    steps, rest = _pull(_STEPS, rest)
    seconds, rest = _pull(_SECONDS, rest) if gait == "halt" else (None, rest)
    where, places, rest = _where(_placed(rest, free=match[1] == "free walk"), size)
    left_over = [word for word in rest.split() if word not in _SAYS_NOTHING]
    if left_over:
        raise TermError(f"'{' '.join(left_over)}' is not understood here; allowed: {PLACES}")
    _check(gait, steps is not None)
    return Asked(
        gait=gait,
        lead=lead,
        free=match[1] == "free walk",
        where=where,
        places=places,
        part=_PARTS[places[0]] if where == "part" else None,
        steps=(int(steps[0]), int(steps[1] or steps[0])) if steps else None,
        halt_s=float(seconds[0]) if seconds else None,
        via=None if via is None else "walk" if via[0] == "walk" else "trot",
    )


def _gait(match: re.Match[str]) -> tuple[GaitName, Rein | None]:
    word, side = match.groups()
    if word != "canter":
        if side:
            raise TermError(f"'{side}' is not understood after {word}; allowed: {PLACES}")
        return ("halt" if word == "halt" else "trot" if word == "trot" else "walk"), None
    return "canter", None if side is None else "left" if side == "left" else "right"


def _lead(rest: str) -> tuple[Rein, str]:
    """The lead that stands apart from its gait, as in ``canter at A left``."""
    found, rest = _pull(re.compile(r"\b(left|right)\b"), rest)
    if found is None:
        raise TermError("'canter' needs its lead; allowed: canter left, canter right")
    return ("left" if found[0] == "left" else "right"), rest


def _plain(text: str) -> str:
    """A tidy term without the words that only lead up to the gait."""
    line = _STEPS_OF.sub(r"\3 for \1\2 steps", tidy(text))
    line = _LEAD_IN.sub(" ", line)
    return " ".join(_FROM_GAIT.sub("", line).split())


def _only_gait(line: str) -> re.Match[str]:
    """The gait of a term, wherever it stands in it."""
    found = list(_GAIT.finditer(line))
    if len(found) == 1:
        return found[0]
    if found:
        raise TermError(
            f"'{found[0][0]}' and '{found[1][0]}': two gaits; allowed: one change each, parted by "
            "a comma, or via walk, via trot"
        )
    raise TermError(
        f"'{(line.split() or [''])[0]}' is not understood; a change begins with "
        "walk, free walk, trot, canter left, canter right or halt"
    )


def _one_thing(rest: str) -> None:
    """Refuse a figure and a gait in one term."""
    if _FIGURE.search(_PART.sub("", rest)) or len(re.findall(r"\b[A-Z]\b", rest)) > 2:
        raise TermError(
            "a line and a gait in one term; allowed: parted by a comma, for example "
            "'diagonal H X F, free walk from H to F'"
        )


def _placed(rest: str, *, free: bool) -> str:
    """A bare letter is where the change comes; two are the ends of a free walk."""
    words = [word for word in rest.split() if word not in _SAYS_NOTHING]
    if len(words) == 1 and re.fullmatch("[A-Z]", words[0]):
        return f"at {words[0]}"
    if free and re.fullmatch("[A-Z] [A-Z]", " ".join(words)):
        return f"from {words[0]} to {words[1]}"
    return rest


def _check(gait: GaitName, has_steps: bool) -> None:
    if has_steps and gait not in ("walk", "trot"):
        raise TermError(f"'{gait}' for steps; allowed: walk for 3-5 steps at PLACE")


def _pull(pattern: re.Pattern[str], text: str) -> tuple[tuple[str, ...] | None, str]:
    """Groups of the first match, and the text without it."""
    match = pattern.search(text)
    if match is None:
        return None, text
    groups = tuple(group or "" for group in match.groups())
    return groups, f"{text[: match.start()]} {text[match.end() :]}"


def _where(
    text: str, size: Size
) -> tuple[Literal["at", "between", "from", "part"], tuple[str, ...], str]:
    part, rest = _pull(_PART, text)
    if part:
        words = " ".join(part)
        if words not in _PARTS:
            raise TermError(f"'{words}' is no part of a circle; allowed: {', '.join(_PARTS)}")
        return "part", (_SAME.get(words, words),), rest
    for where, pattern in (("between", _BETWEEN), ("from", _FROM), ("at", _AT)):
        places, rest = _pull(pattern, text)
        if places:
            _known(places, size)
            kind: Literal["at", "between", "from"] = (
                "between" if where == "between" else "from" if where == "from" else "at"
            )
            return kind, places, rest
    raise TermError(f"no place is given; allowed: {PLACES}; PLACE is a letter, corner, centre line")


def _known(places: tuple[str, ...], size: Size) -> None:
    for place in places:
        if place not in LETTERS[size] and place not in (CORNER, CENTRE_LINE):
            raise TermError(
                f"'{place}' is not a letter of a {size} arena; allowed: {' '.join(LETTERS[size])}"
            )
