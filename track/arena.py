"""The arena: its letters, its boards, and where on the earth it lies.

Letters after the FEI Dressage Rules, arena article 429 [recalled]; national rule books
KNHS art. 120 and USEF DR126 give the same distances.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

Size = Literal["20x40", "20x60"]
SIZES: Final[tuple[Size, ...]] = ("20x40", "20x60")

HALF_WIDTH_M: Final = 10.0
HALF_LENGTH_M: Final[Mapping[Size, float]] = MappingProxyType({"20x40": 20.0, "20x60": 30.0})

_LETTERS_20X40: Final = {
    "A": (0.0, -20.0), "C": (0.0, 20.0),
    "K": (-10.0, -14.0), "F": (10.0, -14.0),
    "H": (-10.0, 14.0), "M": (10.0, 14.0),
    "E": (-10.0, 0.0), "B": (10.0, 0.0),
    "D": (0.0, -14.0), "X": (0.0, 0.0), "G": (0.0, 14.0),
}  # fmt: skip
_LETTERS_20X60: Final = {
    "A": (0.0, -30.0), "C": (0.0, 30.0),
    "K": (-10.0, -24.0), "F": (10.0, -24.0),
    "V": (-10.0, -12.0), "P": (10.0, -12.0),
    "E": (-10.0, 0.0), "B": (10.0, 0.0),
    "S": (-10.0, 12.0), "R": (10.0, 12.0),
    "H": (-10.0, 24.0), "M": (10.0, 24.0),
    "D": (0.0, -24.0), "L": (0.0, -12.0), "X": (0.0, 0.0), "I": (0.0, 12.0), "G": (0.0, 24.0),
}  # fmt: skip
LETTERS: Final[Mapping[Size, Mapping[str, tuple[float, float]]]] = MappingProxyType(
    {"20x40": MappingProxyType(_LETTERS_20X40), "20x60": MappingProxyType(_LETTERS_20X60)}
)
"""x and y in metres of every letter, in the arena frame: origin X, y from A towards C."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Arena:
    """Where an arena lies: the contents of an arena file, or a placement told as one.

    Attributes
    ----------
    size : {"20x40", "20x60"}
    x_lat_deg, x_lon_deg : float, degrees
        WGS84 position of X.
    bearing_deg : float, degrees
        Direction from A to C, clockwise from true north.
    sd_m : float, m
        Standard uncertainty of X, per axis.
    bearing_sd_deg : float, degrees
    name : str
    """

    size: Size
    x_lat_deg: float
    x_lon_deg: float
    bearing_deg: float
    sd_m: float
    bearing_sd_deg: float
    name: str = ""

    @property
    def half_length_m(self) -> float:
        """Half the length of the long side, metres."""
        return HALF_LENGTH_M[self.size]
