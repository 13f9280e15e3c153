"""A line of a sheet as a rider types it, parted into terms: one thing asked in each.

Words such as *salute* or *go large* ask for nothing that the line does not show already.
"""

from __future__ import annotations

import re
from typing import Final

from track.words import tidy

_PARTED: Final = re.compile(
    r"[,;]|\.\s+(?=[A-Z])|\s(?:and |then )+(?=(?:return|show|half circle|turn|circle)\b)"
    r"|\s(?=return(?:ing)? to\b)|\s(?=(?:to )?show (?:some |a few )?(?:lengthen|stretch|give))"
    r"|(?<!show)(?<!some)(?<!few)\s(?=lengthen)",
    re.IGNORECASE,
)
_ASKS_NOTHING: Final = re.compile(
    r"^(?:and )?(?:salute|immobility|immobile|(?:at )?(?:[a-z] )?go large(?: at [a-z])?)\.?$",
    re.IGNORECASE,
)
_STANDING: Final = re.compile(
    r"^(?:and )?(?:immobility |immobile |stand )?(?:for )?\d+(?:\.\d+)?"
    r"(?: ?(?:-|to) ?\d+)? ?s(?:ec)?(?:onds?)?(?: immobility)?\.?$",
    re.IGNORECASE,
)
_MOVING_OFF: Final = re.compile(
    r"^(?:and )?(?:proceed|move off|depart)\b|^(?:and )?(?:walk|trot) on\b", re.IGNORECASE
)
_SHOWN: Final = (
    (re.compile(r"\blengthen(?:ed|ing)?\b.*\bstrides?\b", re.IGNORECASE), "lengthened strides"),
    (re.compile(r"\bgiv(?:e|ing) and retak(?:e|ing)\b", re.IGNORECASE), "give and retake"),
    (re.compile(r"\bstretch(?:ing)?\b", re.IGNORECASE), "stretch"),
)
_ENDS: Final = re.compile(r"\bfrom ([A-Z]) to ([A-Z])\b", re.IGNORECASE)
_SHOW: Final = re.compile(r"^(?:to )?show (.+)$", re.IGNORECASE)
_ENTER: Final = re.compile(
    r"^(?:(?:at )?a:? )?enter(?: at a)?(?: in)?(?: (?:working|medium|active))? "
    r"(walk|trot|canter)(?: (?:left|right))?$",
    re.IGNORECASE,
)


def terms_of(line: str) -> list[str]:
    """The terms of a line, each as it was typed.

    Examples
    --------
    >>> terms_of("turn left at A, halt at G, immobility 3-4 seconds, salute")
    ['turn left at A', 'halt at G 3-4 seconds']
    >>> terms_of("halt X, proceed in working trot")
    ['halt X', 'proceed in working trot at X']
    >>> terms_of("half circle left 10 m E to X returning to H")
    ['half circle left 10 m E to X', 'returning to H']
    """
    found: list[str] = []
    for part in _PARTED.split(line):
        term = " ".join(part.split())
        halted = bool(found) and re.search(r"\bhalt\b", found[-1], re.IGNORECASE) is not None
        if not term or _ASKS_NOTHING.match(term):
            continue
        if halted and _STANDING.match(term):
            found[-1] += f" {_without_standing(term)}"
        elif halted and _MOVING_OFF.match(term) and not _letters(term):
            found.append(" at ".join([term, *_letters(found[-1])[-1:]]))
        else:
            found.append(term)
    return found


def _without_standing(term: str) -> str:
    return re.sub(r"\b(?:and|immobility|immobile|stand)\b ?", "", term, flags=re.IGNORECASE).strip()


def _letters(term: str) -> list[str]:
    return re.findall(r"\b[A-Z]\b", tidy(term))


def entered(term: str) -> str | None:
    """The gait of *enter in working trot*; None for any other term.

    Examples
    --------
    >>> entered("A enter in working trot"), entered("enter at X in trot")
    ('trot', None)
    """
    match = _ENTER.match(term)
    return match[1].lower() if match else None


def shown(term: str) -> str | None:
    """What a term asks to be shown, in the sheet's words; None when it asks for something else.

    Examples
    --------
    >>> shown("allow the horse to stretch"), shown("show some lengthened strides from m to k")
    ('stretch', 'lengthened strides from M to K')
    >>> shown("show sparkle"), shown("circle left 20 at E")
    ('sparkle', None)
    """
    for pattern, name in _SHOWN:
        if pattern.search(term):
            ends = _ENDS.search(term)
            return f"{name} from {ends[1].upper()} to {ends[2].upper()}" if ends else name
    match = _SHOW.match(term)
    return match[1] if match else None
