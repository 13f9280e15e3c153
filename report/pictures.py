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
    from playwright.sync_api import Browser, Page

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


def take(pages: dict[str, str], folder: Path, browser: Browser) -> list[Path]:
    """Photograph pages.

    Parameters
    ----------
    pages : dict of str to str
        ``"report"`` and ``"coach"`` to their HTML.
    folder : Path
        Where the PNG files go; made when it does not exist.
    browser : Browser

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    TanbarkError
        A page has not the part that a picture shows.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as room:
        for name, page in pages.items():
            (Path(room) / f"{name}.html").write_text(page, encoding="utf-8")
        return [_photograph(browser, Path(room), picture, folder) for picture in PICTURES]


def _photograph(browser: Browser, room: Path, picture: Picture, folder: Path) -> Path:
    file = folder / f"{picture.name}.png"
    page = browser.new_page(viewport={"width": picture.width_px, "height": 900})
    page.goto((room / f"{picture.page}.html").as_uri())
    page.screenshot(path=file, clip=_clip(page, picture), full_page=True)  # type: ignore[arg-type]
    page.close()
    return file


def _clip(page: Page, picture: Picture) -> dict[str, float]:
    """The ground between the first and the last of what is shown, with a little air."""
    parts = [page.locator(selector) for selector in picture.of]
    if not all(part.count() for part in parts):
        raise TanbarkError(f"{picture.name}: the page has no {' or '.join(picture.of)}")
    found = [box for part in parts if (box := part.first.bounding_box()) is not None]
    left = min(box["x"] for box in found) - AIR_PX
    top = min(box["y"] for box in found) - AIR_PX
    right = max(box["x"] + box["width"] for box in found) + AIR_PX
    bottom = max(box["y"] + box["height"] for box in found) + AIR_PX
    return {
        "x": max(0.0, left), "y": max(0.0, top), "height": bottom - max(0.0, top),
        "width": min(right, picture.width_px) - max(0.0, left),
    }  # fmt: skip


@contextmanager
def _chromium() -> Iterator[Browser]:
    from playwright.sync_api import sync_playwright

    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        raise TanbarkError("no Chromium on this machine: install the system's package 'chromium'")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=list(FLAGS))
        yield browser
        browser.close()


def main() -> None:
    """Analyse the sample ride and photograph its pages."""
    from report.demo import analyse_demo
    from report.page import render_report
    from report.page_coach import render_coach

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=FOLDER)
    folder: Path = parser.parse_args().out
    made, _ = analyse_demo(RIDE)
    pages = {
        "report": render_report(made.result, made.layout, marks=made.marks),
        "coach": render_coach(made.result, made.layout, marks=made.marks),
    }
    with _chromium() as browser:
        for file in take(pages, folder, browser):
            print(f"{file}: {file.stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
