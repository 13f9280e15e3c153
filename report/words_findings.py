"""The sentence of every measure, found by its name."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from report.measured import Wording
from report.words_change import CHANGE_WORDINGS
from report.words_line import LINE_WORDINGS
from report.words_rhythm import RHYTHM_WORDINGS
from report.words_shape import SHAPE_WORDINGS

WORDINGS: Final[Mapping[str, Wording]] = MappingProxyType(
    {**SHAPE_WORDINGS, **LINE_WORDINGS, **CHANGE_WORDINGS, **RHYTHM_WORDINGS}
)
