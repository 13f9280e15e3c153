"""``python -m report.pictures``: the README's pictures, made from the bundled sample ride.

They are photographs of the pages as Chromium shows them, so they never say more than the tool
does. Needs the test extra (playwright) and the system's Chromium.
"""

from __future__ import annotations

import argparse
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from ingest.errors import TanbarkError

if TYPE_CHECKING:
    from playwright.sync_api import Page

FLAGS: Final = (
    "--no-sandbox", "--disable-gpu", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run",
)  # fmt: skip
FOLDER: Final = Path("sample_rides/pictures")
RIDE: Final = "juniper"


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One photograph of a page.

    Attributes
    ----------
    name : str
        File name without its ending.
    page : str
        ``"report"`` or ``"coach"``.
    of : tuple of str
        Selectors; the picture reaches from the first to the last.
    width_px : int
    """

    name: str
    page: str
    of: tuple[str, ...]
    width_px: int


PICTURES: Final = (
    Picture(name="words", page="report", of=(".titleblock", ".words"), width_px=1200),
    Picture(name="rows", page="report", of=("#m11", "#m12"), width_px=1000),
    Picture(name="phone", page="report", of=("#m12",), width_px=360),
    Picture(name="circles", page="report", of=("#circles figure",), width_px=1000),
)
AIR_PX: Final = 12.0


def take(pages: dict[str, str], folder: Path) -> list[Path]:
    """Photograph pages.

    Parameters
    ----------
    pages : dict of str to str
        ``"report"`` and ``"coach"`` to their HTML.
    folder : Path
        Where the PNG files go; made when it does not exist.

    Returns
    -------
    list of Path
        The files written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as room:
        for name, page in pages.items():
            (Path(room) / f"{name}.html").write_text(page, encoding="utf-8")
        return [_photograph(Path(room), picture, folder) for picture in PICTURES]


def _photograph(room: Path, picture: Picture, folder: Path) -> Path:
    file = folder / f"{picture.name}.png"
    with _opened(picture.width_px) as page:
        page.goto((room / f"{picture.page}.html").as_uri())
        page.screenshot(path=file, clip=_clip(page, picture), full_page=True)  # type: ignore[arg-type]
    return file


def _clip(page: Page, picture: Picture) -> dict[str, float]:
    """The ground between the first and the last of what is shown, with a little air."""
    boxes = [page.locator(selector).first.bounding_box() for selector in picture.of]
    found = [box for box in boxes if box is not None]
    if len(found) < len(picture.of):
        raise TanbarkError(f"{picture.name}: the page has no {' or '.join(picture.of)}")
    left = min(box["x"] for box in found) - AIR_PX
    top = min(box["y"] for box in found) - AIR_PX
    right = max(box["x"] + box["width"] for box in found) + AIR_PX
    bottom = max(box["y"] + box["height"] for box in found) + AIR_PX
    return {
        "x": max(0.0, left), "y": max(0.0, top), "height": bottom - max(0.0, top),
        "width": min(right, picture.width_px) - max(0.0, left),
    }  # fmt: skip


@contextmanager
def _opened(width_px: int) -> Iterator[Page]:
    from playwright.sync_api import sync_playwright

    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        raise TanbarkError("no Chromium on this machine: install the system's package 'chromium'")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=list(FLAGS))
        yield browser.new_page(viewport={"width": width_px, "height": 900})
        browser.close()


def main() -> None:
    """Analyse the sample ride and photograph its pages."""
    from report.demo import analyse_demo
    from report.page import render_coach, render_report

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=FOLDER)
    folder: Path = parser.parse_args().out
    made, _ = analyse_demo(RIDE)
    pages = {
        "report": render_report(made.result, made.layout, marks=made.marks),
        "coach": render_coach(made.result, made.layout, marks=made.marks),
    }
    for file in take(pages, folder):
        print(f"{file}: {file.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
