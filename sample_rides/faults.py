"""Known faults that can be planted in a ride, and how they are written on the command line."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from ingest.errors import TanbarkError

FaultKind = Literal[
    "egg", "small", "late", "wobble", "break", "jog", "stumble", "spook", "tempo",
    "left-out", "doubled", "wrong-rein", "restart", "twice",
]  # fmt: skip
Unit = Literal["m", "strides", "spm", ""]


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """How one kind of fault is written, and what it means.

    Attributes
    ----------
    words : str
        The form, for people.
    unit : str
        Of the amount, empty when there is none.
    movement : bool
        Whether a movement's number follows the kind.
    means : str
    """

    words: str
    unit: Unit
    movement: bool
    means: str


FORMS: Final[dict[FaultKind, Form]] = {
    "egg": Form(
        words="egg:MOVEMENT:METRES", unit="m", movement=True,
        means="its circles longer than wide by so much (negative: wider than long)",
    ),
    "small": Form(
        words="small:MOVEMENT:METRES", unit="m", movement=True,
        means="its circles and half circles smaller by so much in diameter",
    ),
    "late": Form(
        words="late:MOVEMENT[.CHANGE]:METRES", unit="m", movement=True,
        means="its transition so late ('2strides' for strides, negative for early); "
        "outside a window where one is asked for",
    ),
    "wobble": Form(
        words="wobble:MOVEMENT:METRES", unit="m", movement=True,
        means="its straights snake by so much to either side",
    ),
    "break": Form(
        words="break:MOVEMENT", unit="", movement=True,
        means="its canter is broken to trot for some strides",
    ),
    "jog": Form(
        words="jog:MOVEMENT", unit="", movement=True,
        means="the horse jogs some strides in its walk",
    ),
    "stumble": Form(
        words="stumble:MOVEMENT", unit="", movement=True, means="the horse stumbles in its middle",
    ),
    "spook": Form(
        words="spook:MOVEMENT", unit="", movement=True,
        means="the horse jumps aside and hurries on in its middle",
    ),
    "tempo": Form(
        words="tempo:MOVEMENT:SPM", unit="spm", movement=True,
        means="it is ridden so many strides per minute quicker",
    ),
    "left-out": Form(
        words="left-out:MOVEMENT", unit="", movement=True, means="it is not ridden",
    ),
    "doubled": Form(
        words="doubled:MOVEMENT", unit="", movement=True,
        means="its circle, or all of it, is ridden twice",
    ),
    "wrong-rein": Form(
        words="wrong-rein", unit="", movement=False,
        means="the turn at the end of the centre line goes the wrong way, and is mended",
    ),
    "restart": Form(
        words="restart:MOVEMENT", unit="", movement=True,
        means="the rider stops halfway through it and starts it again",
    ),
    "twice": Form(
        words="twice", unit="", movement=False, means="the whole test is ridden twice",
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One known fault.

    Attributes
    ----------
    kind : str
        A key of :data:`FORMS`.
    movement : int or None
        Number of the movement.
    change : int
        Which of the movement's transitions, from 1.
    amount : float
        In ``unit``.
    unit : {"m", "strides", "spm", ""}
    """

    kind: FaultKind
    movement: int | None = None
    change: int = 1
    amount: float = 0.0
    unit: Unit = ""


_KINDS: Final[dict[str, FaultKind]] = {kind: kind for kind in FORMS}
_UNITS: Final[dict[str, Unit]] = {"m": "m", "strides": "strides", "spm": "spm"}
_WRITTEN: Final = re.compile(
    r"(?P<kind>[a-z-]+)"
    r"(?::(?P<movement>\d{1,3})(?:\.(?P<change>\d))?)?"
    r"(?::(?P<amount>[-+]?\d{1,3}(?:\.\d+)?)\s*(?P<unit>m|strides|spm)?)?"
)


def parse_fault(text: str) -> Fault:
    """Read a fault as it is written on the command line.

    Raises
    ------
    TanbarkError
        With the forms allowed, in one line.

    Examples
    --------
    >>> fault = parse_fault("late:3.2:2strides")
    >>> fault.movement, fault.change, fault.amount, fault.unit
    (3, 2, 2.0, 'strides')
    """
    written = _WRITTEN.fullmatch(text.strip().lower())
    kind = _KINDS.get(written["kind"]) if written else None
    if written is None or kind is None or not _fits(FORMS[kind], written, late=kind == "late"):
        raise TanbarkError(_refusal(text))
    return Fault(
        kind=kind,
        movement=int(written["movement"]) if written["movement"] else None,
        change=int(written["change"] or 1),
        amount=float(written["amount"] or 0.0),
        unit=_UNITS.get(written["unit"] or "", FORMS[kind].unit),
    )


def _fits(form: Form, written: re.Match[str], *, late: bool) -> bool:
    """Whether a fault has the movement, the amount and the unit that its form asks for."""
    units = {None, form.unit, "strides"} if late else {None, form.unit}
    return (
        (written["movement"] is not None) == form.movement
        and (written["amount"] is not None) == bool(form.unit)
        and (written["change"] is None or late)
        and written["unit"] in units
    )


def _refusal(text: str) -> str:
    forms = ", ".join(form.words for form in FORMS.values())
    return f"--fault {text!r}: not a fault that can be planted; write one of {forms}"


def of_kind(faults: Sequence[Fault], kind: FaultKind) -> tuple[Fault, ...]:
    """Those of one kind."""
    return tuple(fault for fault in faults if fault.kind == kind)


def amount(faults: Sequence[Fault], kind: FaultKind, movement: int) -> float:
    """Sum of the amounts planted in one movement; 0 where there is none."""
    return sum(fault.amount for fault in of_kind(faults, kind) if fault.movement == movement)
