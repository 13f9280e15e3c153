"""What the pages need of a judge's sheet: marks, remarks, and what the phone may add to each.

Whoever reads the file of marks fills these in; a page only sets them beside the ride.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeMark:
    """One row of a judge's sheet.

    Attributes
    ----------
    movement : int or None
        None for a collective mark or the errors.
    name : str
        Name of a collective mark, else empty.
    mark : Decimal or None
        None where it was left blank.
    coefficient : int
    remark, underlined : str
        The judge's words; the words of the sheet that were underlined.
    felt : Decimal or None
        The rider's own mark, entered before looking.
    adds : str
        What the phone may add to the remark, or that it cannot; empty without a remark.
    """

    movement: int | None
    mark: Decimal | None
    name: str = ""
    coefficient: int = 1
    remark: str = ""
    underlined: str = ""
    felt: Decimal | None = None
    adds: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgeSheet:
    """All marks of one sheet, in its order, and their percentage when it can be reckoned."""

    rows: tuple[JudgeMark, ...]
    percent: Decimal | None = None

    def of(self, movement: int) -> tuple[JudgeMark, ...]:
        """The marks for one movement, one per judge."""
        return tuple(row for row in self.rows if row.movement == movement)
