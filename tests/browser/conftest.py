"""A real browser on pages opened from the disk."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.integration.site.invented import Shelf, publish, small_shelf
from tests.need_chromium import MISSING, find_chromium


@dataclass
class Opened:
    """A site opened in a tab, and everything it did that a page from a stick must not do."""

    site: Path
    page: Page
    complaints: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.page.on("console", lambda told: self.complaints.append(f"console: {told.text}"))
        self.page.on("pageerror", lambda fault: self.complaints.append(f"error: {fault}"))
        self.page.on("dialog", self._dialog)
        self.page.on("requestfailed", self._failed)
        self.page.on("request", self._request)

    def _dialog(self, dialog: Any) -> None:
        self.complaints.append(f"dialog: {dialog.message}")
        dialog.dismiss()

    def _failed(self, request: Any) -> None:
        if request.failure != "net::ERR_ABORTED":  # the tab went on to another page
            self.complaints.append(f"failed: {request.url}")

    def _request(self, request: Any) -> None:
        inside = request.url.startswith(self.site.as_uri())
        if not inside and not request.url.startswith("data:"):
            self.complaints.append(f"left the folder: {request.url}")

    def go(self, path: str) -> Page:
        """Open a page of the site by its path, with a fragment where there is one."""
        self.page.goto(f"{self.site.as_uri()}/{path}")
        return self.page

    def search(self, fragment: str) -> Page:
        """Open the search page in the state of a fragment and wait for its answer."""
        self.page.goto("about:blank")
        self.go(f"index.html#{fragment}")
        self.page.wait_for_selector("#search:not([hidden]) #results:not(:empty)")
        self.page.wait_for_selector(".filters:not([aria-busy])", state="attached")
        return self.page

    def total(self) -> int:
        """How many patterns the search page says it has found."""
        told = self.page.locator("#results").inner_text()
        return 0 if told.startswith("No pattern") else int(told.split()[0])

    def titles(self) -> list[str]:
        """The titles of the results, in their order."""
        return self.page.locator("#search .card h3").all_inner_texts()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium or Chrome as it is installed; the tests fail where there is none."""
    path = find_chromium()
    if path is None:
        pytest.fail(MISSING, pytrace=False)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=path, args=["--no-sandbox", "--disable-gpu"]
        )
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Shelf:
    """The invented collection."""
    return small_shelf(tmp_path_factory.mktemp("browser") / "shelf")


@pytest.fixture(scope="session")
def site(shelf: Shelf) -> Path:
    """The invented collection, published."""
    publish(shelf, shelf.folder.parent / "site")
    return shelf.folder.parent / "site"


@pytest.fixture
def opened(browser: Browser, site: Path) -> Iterator[Opened]:
    """A tab on the site; whatever it complains about fails the test."""
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    tab = Opened(site, context.new_page())
    yield tab
    context.close()
    assert tab.complaints == []
