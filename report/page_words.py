"""The words of the pages behind one name, as templates ask for them."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

from report import words_labels, words_page, words_said, words_tables


@cache
def words_of_pages() -> SimpleNamespace:
    """Every word and sentence of the pages by its name."""
    modules = (words_labels, words_tables, words_said, words_page)
    named = {name: value for module in modules for name, value in vars(module).items()}
    return SimpleNamespace(**{n: v for n, v in named.items() if not n.startswith("_")})
