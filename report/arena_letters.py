"""The letters round the school, or numbered sides where the ends are not known."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

from markupsafe import Markup

from report.arena_svg import Frame, ground_shown_m, number, text
from track.arena import HALF_LENGTH_M, HALF_WIDTH_M, LETTERS, Size

LETTER_GAP_M: Final = 1.7
LEAST_GAP_PX: Final = 13.0
CLEAR_OF_CUT_M: Final = 1.0


def letters(
    frame: Frame, size: Size, *, asked: Collection[str] = (), middle: bool = True,
    ends_known: bool = True,
) -> Markup:  # fmt: skip
    """The letters outside the boards and, if wanted, on the centre line.

    Parameters
    ----------
    asked : collection of str
        Letters that the movement names: drawn in bold.
    middle : bool
        Whether letters on the centre line are drawn; those asked for always are.
    ends_known : bool
        False names no letter: the sides are numbered instead.
    """
    if not ends_known:
        return _numbered_sides(frame, size)
    shown = letters_shown(frame, size, asked=asked, middle=middle)
    spots = {name: letter_spot(frame, size, name) for name in shown}
    return Markup("").join(
        letter(frame, size, name, *spots[name], bold=name in asked) for name in shown
    )


def letters_shown(
    frame: Frame, size: Size, *, asked: Collection[str] = (), middle: bool = True
) -> list[str]:
    """The letters that :func:`letters` draws: those clear of a break line."""
    low, high = ground_shown_m(frame, size)
    end = HALF_LENGTH_M[size]
    out = []
    for name, (x, y) in LETTERS[size].items():
        on_edge = abs(x) == HALF_WIDTH_M or abs(y) == end
        clear = abs(y) == end or low + CLEAR_OF_CUT_M <= y <= high - CLEAR_OF_CUT_M
        if frame.shows(y) and clear and (on_edge or middle or name in asked):
            out.append(name)
    return out


def letter(frame: Frame, size: Size, name: str, x_px: float, y_px: float, *, bold: bool) -> Markup:
    """One letter about a spot, with a dot at its place unless that is on a long side."""
    kind = "letter asked" if bold else "letter"
    dot = Markup("") if abs(LETTERS[size][name][0]) == HALF_WIDTH_M else _dot(frame, size, name)
    return dot + text(x_px, y_px + 5, name, kind)


def _dot(frame: Frame, size: Size, name: str) -> Markup:
    px, py = frame.px(*LETTERS[size][name])
    return Markup('<circle class="place" cx="{}" cy="{}" r="1.6"/>').format(number(px), number(py))


def letter_spot(frame: Frame, size: Size, name: str) -> tuple[float, float]:
    """The same in pixels, never so near that a small drawing's letter meets the boards."""
    gap = max(LETTER_GAP_M, LEAST_GAP_PX / frame.px_per_m) - LETTER_GAP_M
    x, y = letter_label_m(size, name)
    if abs(x) > HALF_WIDTH_M:
        return frame.px(x + (gap if x > 0 else -gap), y)
    if abs(y) > HALF_LENGTH_M[size]:
        return frame.px(x, y + (gap if y > 0 else -gap))
    return frame.px(x, y)


def letter_label_m(size: Size, name: str) -> tuple[float, float]:
    """Where the middle of a letter is written, in metres: outside the boards, or beside X."""
    x, y = LETTERS[size][name]
    if abs(x) == HALF_WIDTH_M:
        return x + (LETTER_GAP_M if x > 0 else -LETTER_GAP_M), y
    if abs(y) == HALF_LENGTH_M[size]:
        return x, y + (LETTER_GAP_M if y > 0 else -LETTER_GAP_M)
    return x + 1.5, y


def _numbered_sides(frame: Frame, size: Size) -> Markup:
    end = HALF_LENGTH_M[size]
    places = {1: (0.0, -end - LETTER_GAP_M), 2: (0.0, end + LETTER_GAP_M)}
    return Markup("").join(
        text(*_shifted(frame.px(x, y), 4), f"short side {number}", "side")
        for number, (x, y) in places.items() if frame.shows(y)
    )  # fmt: skip


def _shifted(px: tuple[float, float], down: float) -> tuple[float, float]:
    return px[0], px[1] + down
