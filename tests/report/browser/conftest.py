"""Pages of every state, opened in the system's Chromium with the network shut."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import (
    Browser,
    BrowserContext,
    Error,
    Page,
    Request,
    ViewportSize,
    sync_playwright,
)

from report.card_page import render_card
from report.page import render_report
from report.page_coach import render_coach
from tests.report.invented_line import layout
from tests.report.invented_result import STATES

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run",
]  # fmt: skip


def chromium_path() -> str | None:
    """The system's Chromium; None where there is none."""
    return shutil.which("chromium") or shutil.which("chromium-browser")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    found = chromium_path()
    if found is None:
        pytest.skip("no Chromium on this machine: install the system's package 'chromium'")
    with sync_playwright() as playwright:
        try:
            browser = playwright.chromium.launch(executable_path=found, args=FLAGS)
        except Error as fault:
            pytest.skip(f"Chromium does not start here: {fault}")
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def address(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], str]:
    """Where a state's page lies on disk: ``"whole"``, ``"whole-coach"`` or ``"card"``."""
    folder = tmp_path_factory.mktemp("pages")

    def of(name: str) -> str:
        file: Path = folder / f"{name}.html"
        if not file.exists():
            file.write_text(rendered(name), encoding="utf-8")
        return file.as_uri()

    return of


def rendered(name: str) -> str:
    """The page of a name."""
    if name == "card":
        return render_card([layout(), layout()], [640, 662], [STATES["whole"]()])
    state = name.removesuffix("-coach")
    result = STATES[state]()
    plan = layout() if result.sheet is not None else None
    return (render_report if state == name else render_coach)(result, plan)


class Opened:
    """A page with all that it said and asked for."""

    def __init__(self, context: BrowserContext) -> None:
        self.page: Page = context.new_page()
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda fault: self.said.append(str(fault)))
        self.page.on("request", self._note)

    def _note(self, request: Request) -> None:
        if not request.url.startswith(("file:", "data:", "blob:")):
            self.asked.append(request.url)


WIDE: ViewportSize = {"width": 1280, "height": 900}


@pytest.fixture(scope="session")
def _offline(chromium: Browser) -> Iterator[BrowserContext]:
    """One for all tests of a worker: making one takes as long as a test."""
    context = chromium.new_context(viewport=WIDE, offline=True)
    yield context
    context.close()


@pytest.fixture(scope="session")
def _unchecked(chromium: Browser) -> Iterator[BrowserContext]:
    context = chromium.new_context(viewport=WIDE, bypass_csp=True)
    yield context
    context.close()


@pytest.fixture
def opened(_offline: BrowserContext) -> Iterator[Opened]:
    opened = Opened(_offline)
    yield opened
    opened.page.close()


@pytest.fixture
def plain(chromium: Browser) -> Iterator[Opened]:
    """Without JavaScript."""
    context = chromium.new_context(viewport=WIDE, java_script_enabled=False, offline=True)
    yield Opened(context)
    context.close()


@pytest.fixture
def examined(_unchecked: BrowserContext) -> Iterator[Opened]:
    """With the policy off, so that the accessibility checker may run inside the page."""
    opened = Opened(_unchecked)
    yield opened
    opened.page.close()
