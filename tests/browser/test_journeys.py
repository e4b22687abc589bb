from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opened
from tests.integration.site.invented import Shelf


def _tab_to(page: Page, selector: str) -> None:
    """Press Tab until the focus stands on what is meant."""
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("(meant) => document.activeElement.matches(meant)", selector):
            return
    pytest.fail(f"Tab does not lead to {selector}")


def test_search_filter_pattern_zoom_and_back_need_no_mouse(opened: Opened) -> None:
    page = opened.search("")
    _tab_to(page, "a.skip")
    page.keyboard.press("Enter")
    _tab_to(page, "#asked")
    page.keyboard.type("dewpond")
    expect(page.locator("#results")).to_have_text(re.compile(r"^2 "))
    _tab_to(page, "[name='technique-picot']")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#results")).to_have_text(re.compile(r"^1 "))
    assert page.evaluate("document.activeElement.value") == "with"
    _tab_to(page, ".card a")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    page.keyboard.press("Enter")
    page.wait_for_url("**/patterns/b-2.html")
    _tab_to(page, "svg.view")
    view = page.locator("svg.view")
    whole = view.get_attribute("viewBox")
    page.keyboard.press("+")
    page.keyboard.press("ArrowDown")
    assert view.get_attribute("viewBox") != whole
    _tab_to(page, ".tools input")
    page.keyboard.press("Space")
    assert page.locator(".layer:not(.off)").count() == 1
    page.go_back()
    page.wait_for_url("**/index.html#q=dewpond&all=picot")
    expect(page.locator("#results")).to_have_text(re.compile(r"^1 "))
    assert page.locator("#asked").input_value() == "dewpond"
    assert page.locator("[name='technique-picot'][value='with']").is_checked()


@pytest.mark.parametrize("terms", ["techniques", "families", "difficulty", "shelf"])
def test_without_scripts_every_pattern_is_three_clicks_away(
    site: Path, shelf: Shelf, terms: str
) -> None:
    """From the first page: a list, a term of it where it has terms, the pattern."""
    assert f"{terms}.html" in _links(site / "index.html")
    listed = _links(site / f"{terms}.html")
    on_terms = [_links(site / path) for path in listed if path.startswith(f"{terms}/")]
    reached = {
        path.removeprefix("../")
        for path in listed.union(*on_terms)
        if path.removeprefix("../").startswith("patterns/")
    }
    expected = [entry for entry in shelf.entries if getattr(entry, terms, True)]
    assert len(reached) == len(expected) >= 5


def _links(page: Path) -> set[str]:
    """Where the links of a page lead, read without a browser."""
    return set(re.findall(r'<a [^>]*?href="([^"]+)"', page.read_text(encoding="utf-8")))
