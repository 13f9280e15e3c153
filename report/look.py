"""The look that all pages share: ink, paper, one accent, and the door that text passes through.

Every page is one file that loads nothing: style inside, scripts named by their hash, and a policy
that forbids the rest. Text reaches a page only through a template that escapes it.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from jinja2.utils import htmlsafe_json_dumps
from markupsafe import Markup

PAPER: Final = "#f6f5ef"
INK: Final = "#1f2a30"
INK_SOFT: Final = "#55606a"
HAIRLINE: Final = "#b9bdb6"
ACCENT: Final = "#8a3b12"
"""Oak bark, what riding schools were floored with: where the horse went, and nothing else."""
LONG_COMMAND: Final = 90
"""Letters of a command above which it is set smaller."""
BAND: Final = "#e6d8c6"
"""The band of doubt round a ridden line."""


@cache
def environment() -> Environment:
    """The one template environment: escaping always on, an unknown name is an error."""
    env = Environment(
        loader=PackageLoader("report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.globals.update(base_css=base_css(), LONG_COMMAND=LONG_COMMAND)
    env.filters["figure"] = figure
    env.filters["sentence"] = sentence
    return env


def figure(value: float | None, missing: str = "") -> str:
    """A number for a table: three decimals at most, no trailing noughts, a true minus.

    Examples
    --------
    >>> figure(18.40), figure(-0.6), figure(None, "…")
    ('18.4', '−0.6', '…')
    """
    if value is None:
        return missing
    return f"{round(value, 3) + 0.0:.3f}".rstrip("0").rstrip(".").replace("-", "−")


def sentence(text: str) -> str:
    """A clause as a sentence.

    Examples
    --------
    >>> sentence("the line went straight on at C")
    'The line went straight on at C.'
    """
    return f"{text[:1].upper()}{text[1:]}".rstrip(".") + "." if text else ""


def base_css() -> str:
    """The style sheet of all pages, with the palette filled in."""
    text = files("report").joinpath("templates/look.css").read_text(encoding="utf-8")
    palette = {
        "PAPER": PAPER, "INK_SOFT": INK_SOFT, "INK": INK,
        "HAIRLINE": HAIRLINE, "ACCENT": ACCENT, "BAND": BAND,
    }  # fmt: skip
    for name, colour in palette.items():
        text = text.replace(f"@{name}@", colour)
    return text


def script_hash(script: str) -> str:
    """Source expression that lets one inline script run (Content Security Policy, level 3).

    Examples
    --------
    >>> script_hash("")
    "'sha256-47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU='"
    """
    digest = hashlib.sha256(script.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def security_policy(scripts: Sequence[str] = ()) -> str:
    """Contents of a page's Content-Security-Policy: nothing is loaded, only these scripts run.

    Parameters
    ----------
    scripts : sequence of str
        The exact text of every inline script the page may run.
    """
    rules = [
        "default-src 'none'",
        "style-src 'unsafe-inline'",
        "img-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    if scripts:
        rules.append("script-src " + " ".join(script_hash(script) for script in scripts))
    return "; ".join(rules)


def json_block(data: object) -> Markup:
    r"""Data as the contents of a ``<script type="application/json">`` block.

    ``<``, ``>``, ``&`` and ``'`` are written as escapes, so that no text inside can end the block.

    Examples
    --------
    >>> print(json_block({"remark": "</script>"}))
    {"remark":"\u003c/script\u003e"}
    """
    return htmlsafe_json_dumps(data, dumps=_compact_json)


def _compact_json(data: object, **options: Any) -> str:
    return json.dumps(data, allow_nan=False, separators=(",", ":"), **options)
