from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.firefox import Firefox, running_firefox
from tests.fetching import NO_FIREFOX, find_firefox

TAB, ENTER, RIGHT, DOWN, SPACE = "\ue004", "\ue007", "\ue014", "\ue015", " "
"""Source: W3C, WebDriver, keyboard actions: the values of keys without a sign."""
pytestmark = pytest.mark.skipif(find_firefox() is None, reason=NO_FIREFOX)

ANSWERED = (
    "document.querySelector('#results')?.textContent"
    " && !document.querySelector('.filters[aria-busy]')"
)
TITLES = "[...document.querySelectorAll('#search .card h3')].map((one) => one.textContent)"


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Firefox]:
    with running_firefox(str(find_firefox()), tmp_path_factory.mktemp("profile")) as firefox:
        yield firefox


@pytest.fixture
def firefox(running: Firefox) -> Iterator[Firefox]:
    """A tab; whatever its pages complain about or ask of a network fails the test."""
    running.messages.clear()
    running.addresses.clear()
    yield running
    assert running.messages == []
    assert running.addresses == []


def test_what_a_page_says_and_asks_for_is_seen(running: Firefox, tmp_path: Path) -> None:
    """The two lists that the other tests find empty would not be empty."""
    page = tmp_path / "bad.html"
    page.write_text(
        "<!doctype html><title>bad</title><img src='http://127.0.0.1:65500/canary.png'>"
        "<script>console.warn('seen')</script><script>throw new Error('heard')</script>",
        encoding="utf-8",
    )
    running.go(page.as_uri())
    assert running.ask("1 + 1") == 2
    assert {"warn: seen", "error: Error: heard"} <= set(running.messages)
    assert running.addresses == ["http://127.0.0.1:65500/canary.png"]


def test_every_page_opens_in_firefox_from_a_disk_without_a_complaint(
    firefox: Firefox, site: Path
) -> None:
    pages = sorted(site.rglob("*.html"))
    pages = [page for page in pages if page.parent.name not in ("techniques", "families")]
    pages += [site / "techniques" / "picot.html", site / "families" / "torchon.html"]
    for page in pages:
        firefox.go(page.as_uri())
        assert firefox.ask("document.querySelectorAll('h1').length") == 1, page
        wide = firefox.ask("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, page


def test_firefox_answers_words_filters_and_a_slip(firefox: Firefox, site: Path) -> None:
    for fragment, titles in (
        ("q=Halbschlag", ["Dærnsted Strip", "Gatepost"]),
        ("all=picot&not=gimp&pairs=-20", ["Dewpond Edge"]),
        ("q=Gatepsot", ["Gatepost"]),
        ("own=80,2,NeL", ["Dewpond Edge", "Dewpond Insertion"]),
    ):
        firefox.go("about:blank")
        firefox.go(f"{site.as_uri()}/index.html#{fragment}")
        firefox.wait_for(ANSWERED)
        assert sorted(firefox.ask(TITLES)) == titles, fragment


def _tab_to(firefox: Firefox, selector: str) -> None:
    """Press Tab until the focus stands on what is meant."""
    for _ in range(80):
        firefox.press(TAB)
        if firefox.ask(f"document.activeElement.matches({selector!r})"):
            return
    pytest.fail(f"Tab does not lead to {selector}")


def test_search_filter_pattern_zoom_and_back_need_no_mouse(firefox: Firefox, site: Path) -> None:
    firefox.go("about:blank")
    firefox.go(f"{site.as_uri()}/index.html")
    firefox.wait_for(ANSWERED)
    _tab_to(firefox, "#asked")
    firefox.press("dewpond")
    firefox.wait_for("document.querySelector('#results').textContent.startsWith('2 ')")
    _tab_to(firefox, "[name='technique-picot']")
    firefox.press(RIGHT)
    firefox.wait_for("document.querySelector('#results').textContent.startsWith('1 ')")
    assert firefox.ask("document.activeElement.value") == "with"
    firefox.ask("document.getElementById('asked').focus()")
    _tab_to(firefox, "button.skip")
    firefox.press(ENTER)
    assert firefox.ask("document.activeElement.matches('.card a')")
    assert firefox.ask("getComputedStyle(document.activeElement).outlineStyle") == "solid"
    firefox.press(ENTER)
    firefox.wait_for("document.querySelector('svg.view[tabindex]')")
    assert "/patterns/b-2.html" in firefox.ask("location.pathname")
    _tab_to(firefox, "svg.view")
    box = "document.querySelector('svg.view').getAttribute('viewBox')"
    whole = firefox.ask(box)
    firefox.press("++")
    near = firefox.ask(box)
    assert float(near.split()[2]) == pytest.approx(float(whole.split()[2]) / 2.25)
    firefox.press(DOWN)
    assert firefox.ask(box) != near
    firefox.press("0")
    assert firefox.ask(box) == whole
    _tab_to(firefox, ".tools input")
    firefox.press(SPACE)
    assert firefox.ask("document.querySelectorAll('.layer:not(.off)').length") == 1
    firefox.go_back()
    firefox.wait_for(ANSWERED)
    assert firefox.ask("location.hash") == "#q=dewpond&all=picot"
    assert firefox.ask("document.getElementById('asked').value") == "dewpond"
    assert firefox.ask("document.querySelector('[name=technique-picot][value=with]').checked")
