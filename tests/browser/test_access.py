"""Every template under the checkers for access and for HTML, in every state it can be in."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from archive.records.settings import CollectionSettings
from tests.browser.conftest import Opened
from tests.fetching import AXE, NO_AXE, NO_NU, NU, find_java
from tests.integration.site.invented import OPEN_RIGHTS, SETTINGS, Shelf, publish, small_shelf

STATES = ("a few", "none", "one", "500", "long words", "right to left")
LONG = "Klöppelspitzenmusterbriefsammlung" * 6
RIGHT_TO_LEFT = "רצועת תחרה עם פיקו"
FRAGMENTS = (
    "q=",
    "q=hald+stich",
    "all=picot&not=gimp&pairs=-20&own=80,2,NeL",
    "kind=mat&corner=yes",
)


def _worded(shelf: Shelf, mark: str, words: str) -> None:
    """A pattern with the same words in every field that people fill."""
    shelf.add(
        mark,
        title=words,
        other_titles=[words],
        families=["bucks"],
        kind="edging",
        techniques=[{"technique": "picot", "role": "taught"}, {"technique": "gimp"}],
        pairs={"stated": {"start": 12, "words": words}, "counted": {"start": 14}},
        threads=[{"label": words, "fibre": words, "use": words}],
        difficulty={"stated": words, "level": 3},
        designer={"status": "named", "name": words, "evidence": words},
        source={"title": words, "page": "3"},
        period=words,
        material=words,
        related=[{"kind": "see also", "shelfmark": mark}],
        corrections=[{"fault": words, "remedy": words}],
        working_notes=[{"about": "tip", "text": words}],
        rights={part: {**told, "holder": words} for part, told in OPEN_RIGHTS.items()},
    )


def _shelf(folder: Path, state: str) -> tuple[Shelf, CollectionSettings]:
    if state == "a few":
        return small_shelf(folder), SETTINGS
    shelf = Shelf(folder)
    if state == "one":
        _worded(shelf, "B 1", "Dewpond Edge")
    elif state == "500":
        for number in range(500):
            shelf.add(
                f"B {number}",
                title=f"Dewpond Edge {number}",
                families=["bucks"],
                kind="edging",
                techniques=[{"technique": "picot", "role": ("taught", "practised")[number % 2]}],
                difficulty={"level": 1 + number % 5},
            )
    elif state != "none":
        words = LONG if state == "long words" else RIGHT_TO_LEFT
        for number in range(3):
            _worded(shelf, f"B {number}", words)
        language = "he" if words == RIGHT_TO_LEFT else "de"
        return shelf, CollectionSettings(name=words, holder=words, language=language)
    return shelf, SETTINGS


@dataclass(frozen=True)
class Published:
    """A site in one of its states, and a page of every template."""

    site: Path
    paths: tuple[str, ...]


@pytest.fixture(scope="module")
def sites(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Published]:
    """The site in all its states."""
    return {state: _publish(tmp_path_factory.mktemp("state"), state) for state in STATES}


def _publish(folder: Path, state: str) -> Published:
    shelf, settings = _shelf(folder / "shelf", state)
    site = folder / "site"
    publish(shelf, site, settings=settings, about=settings.name)
    patterns = [f"patterns/{path.name}" for path in sorted((site / "patterns").glob("*.html"))]
    top = sorted(path.name for path in site.glob("*.html"))
    return Published(site, (*top, *patterns[:3], "techniques/picot.html", "families/bucks.html"))


@pytest.fixture(scope="module")
def checked(browser: Browser) -> Iterator[Opened]:
    """A tab in which every page brings axe-core with it."""
    context = browser.new_context(viewport={"width": 360, "height": 800}, color_scheme="dark")
    context.add_init_script(path=AXE)
    yield Opened(Path(), context.new_page())
    context.close()


def _barriers(page: Page) -> list[str]:
    page.evaluate("document.querySelectorAll('details').forEach((one) => (one.open = true))")
    told = page.evaluate("axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{told['url']}: {found['id']}: {found['nodes'][0]['html'][:300]}"
        for found in told["violations"]
    ]


@pytest.mark.skipif(not AXE.is_file(), reason=NO_AXE)
@pytest.mark.parametrize("state", STATES)
def test_axe_finds_no_barrier_on_any_page(
    checked: Opened, sites: dict[str, Published], state: str
) -> None:
    checked.site = sites[state].site
    for path in sites[state].paths:
        assert _barriers(checked.go(path)) == []
    for fragment in FRAGMENTS:
        assert _barriers(checked.search(fragment)) == []


@pytest.mark.skipif(not AXE.is_file(), reason=NO_AXE)
def test_axe_would_find_a_barrier(checked: Opened, sites: dict[str, Published]) -> None:
    """What the check above finds empty can be filled."""
    checked.site = sites["one"].site
    page = checked.go("about.html")
    page.evaluate("document.querySelector('main').append(document.createElement('input'))")
    assert "label" in " ".join(_barriers(page))


@pytest.mark.skipif(not NU.is_file() or find_java() is None, reason=NO_NU)
def test_the_html_checker_finds_no_fault_on_any_page(
    sites: dict[str, Published], tmp_path: Path
) -> None:
    bad = tmp_path / "bad.html"
    bad.write_text("<!doctype html><title>bad</title><p><div></p>", encoding="utf-8")
    pages = [str(one.site / path) for one in sites.values() for path in one.paths]
    told = subprocess.run(
        [str(find_java()), "-jar", str(NU), "--format", "json", "--stdout",
         "--exit-zero-always", str(bad), *pages],
        check=True, capture_output=True,
    )  # fmt: skip
    messages = json.loads(told.stdout)["messages"]
    # It takes a file for a page of another origin, and thinks its own folder forbidden to it.
    messages = [one for one in messages if "Content Security Policy" not in one["message"]]
    assert {Path(one["url"]).name for one in messages} == {"bad.html"}
