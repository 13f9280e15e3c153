"""A GPX file as a tree that is safe to walk: no document type, no depth, no broken end."""

from __future__ import annotations

import re
from typing import Final
from xml.etree import ElementTree
from xml.parsers import expat

from ingest.archive import Source
from ingest.dialect import encoding_of
from ingest.errors import RecordingError
from ingest.limits import MAX_GPX_BYTES, MAX_XML_DEPTH

_POINT_END: Final = b"</trkpt>"
_MENDED: Final = b"</trkseg></trk></gpx>"
_DEFAULT_NAMESPACE: Final = re.compile(r"""\sxmlns=("[^"]*"|'[^']*')""")


def looks_like_xml(head: bytes) -> bool:
    """Whether a file begins as XML does.

    Examples
    --------
    >>> looks_like_xml(b"<gpx>"), looks_like_xml(b"time,x")
    (True, False)
    """
    text = head[:200].decode(encoding_of(head[:64]), errors="replace")
    return text.lstrip("\ufeff \t\r\n").startswith("<")


def safe_tree(source: Source) -> tuple[ElementTree.Element, bool]:
    """The root element of a GPX file, names without the default namespace.

    A text that breaks off, or is broken, is closed after its last whole point before that.

    Returns
    -------
    root : Element
    mended : bool
        True when its end had to be put in its place.

    Raises
    ------
    RecordingError
        Too large, a document type, elements nested too deep, or no XML at all. A document type is
        refused before anything is parsed, so that no entity is ever expanded.
    """
    text = _decoded(source.whole(MAX_GPX_BYTES))
    if "<!doctype" in text.lower():
        raise RecordingError(
            f"{source.name}: has a document type (DOCTYPE), which is refused; export plain GPX"
        )
    text = _DEFAULT_NAMESPACE.sub("", text, count=1)
    try:
        return _shallow(source.name, text), False
    except ElementTree.ParseError as fault:
        return _mended(source.name, text, str(fault)), True


def _decoded(content: bytes) -> str:
    text = content.decode(encoding_of(content), errors="replace").removeprefix("\ufeff").lstrip()
    if text.startswith("<?xml") and "?>" in text:
        return text[text.find("?>") + 2 :]
    return text


def _shallow(name: str, text: str | bytes) -> ElementTree.Element:
    """The tree of a text, unless its elements are nested deeper than anybody writes them."""
    root = ElementTree.fromstring(text)  # noqa: S314, nothing to expand
    level = [root]
    for _ in range(MAX_XML_DEPTH):
        level = [child for element in level if len(element) for child in element]
        if not level:
            return root
    raise RecordingError(f"{name}: elements nested deeper than {MAX_XML_DEPTH}; not a GPX file")


def _mended(name: str, text: str, why: str) -> ElementTree.Element:
    """The text up to its last whole point before the first fault, closed."""
    content = text.encode("utf-8", errors="replace")
    end = content.rfind(_POINT_END, 0, _first_fault(content))
    closed = content[: end + len(_POINT_END)] + _MENDED
    try:
        if end < 0:
            raise not_gpx(name, why)
        return _shallow(name, closed)
    except ElementTree.ParseError:
        raise not_gpx(name, why) from None


def _first_fault(content: bytes) -> int:
    """Byte at which the text stops being well-formed XML."""
    parser = expat.ParserCreate("utf-8")
    try:
        parser.Parse(content, True)
    except expat.ExpatError:
        return parser.ErrorByteIndex
    return len(content)


def not_gpx(name: str, why: str) -> RecordingError:
    """The fault of a file that cannot be parsed."""
    return RecordingError(f"{name}: not readable as GPX ({why[:80]}); export it again")
