"""Fingers on a tablet: what a mouse and keys can do with a sheet, they can."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.conftest import Opened

Spot = tuple[float, float]
STEPS = 12


class Fingers:
    """Fingers on the sheet of a pattern's page; places are told from its middle."""

    def __init__(self, tab: Opened) -> None:
        self.page = tab.go("patterns/b-2.html")
        self.page.wait_for_selector(".tools")
        self._session = self.page.context.new_cdp_session(self.page)

    @property
    def seen(self) -> list[float]:
        """Left, top, width and height of what is seen of the sheet, in its own pixels."""
        box = self.page.locator("svg.view").get_attribute("viewBox") or ""
        return [float(part) for part in box.split()]

    def move(self, *ways: tuple[Spot, Spot]) -> None:
        """Set fingers down, move each from one place to another, and lift them."""
        self._send("touchStart", [start for start, _ in ways])
        for step in range(1, STEPS + 1):
            self._send("touchMove", [_between(start, end, step / STEPS) for start, end in ways])
        self._send("touchEnd", [])
        self.page.wait_for_timeout(200)

    def _send(self, kind: str, spots: list[Spot]) -> None:
        box = self.page.locator("svg.view").bounding_box()
        assert box is not None
        middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        points = [
            {"x": middle[0] + x, "y": middle[1] + y, "id": finger}
            for finger, (x, y) in enumerate(spots)
        ]
        self._session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})


def _between(start: Spot, end: Spot, part: float) -> Spot:
    return (start[0] + part * (end[0] - start[0]), start[1] + part * (end[1] - start[1]))


@pytest.fixture
def fingers(browser: Browser, site: Path) -> Iterator[Fingers]:
    """A tablet with a pattern's page; whatever it complains about fails the test."""
    context = browser.new_context(
        viewport={"width": 820, "height": 1100}, has_touch=True, is_mobile=True
    )
    tab = Opened(site, context.new_page())
    yield Fingers(tab)
    context.close()
    assert tab.complaints == []


def _pinch(fingers: Fingers, before: float, after: float) -> None:
    fingers.move(((-before, 0), (-after, 0)), ((before, 0), (after, 0)))


def test_two_fingers_look_nearer_by_as_much_as_they_part(fingers: Fingers) -> None:
    whole = fingers.seen
    _pinch(fingers, 40, 120)
    near = fingers.seen
    assert near[2] == pytest.approx(whole[2] / 3, rel=0.02)
    # What was between the fingers stays there, and the browser enlarges nothing itself.
    assert near[0] + near[2] / 2 == pytest.approx(whole[0] + whole[2] / 2, rel=0.02)
    assert fingers.page.evaluate("visualViewport.scale") == 1
    _pinch(fingers, 150, 20)
    assert fingers.seen == pytest.approx(whole)


def test_one_finger_moves_a_sheet_looked_at_nearer_and_not_the_page(fingers: Fingers) -> None:
    _pinch(fingers, 40, 120)
    before = fingers.seen
    width = fingers.page.locator("svg.view").evaluate("(view) => view.clientWidth")
    fingers.move(((0, 0), (-90, -60)))
    moved = [after - at for after, at in zip(fingers.seen, before, strict=True)]
    per_pixel = before[2] / width
    assert moved == pytest.approx([90 * per_pixel, 60 * per_pixel, 0, 0], abs=2 * per_pixel)
    assert fingers.page.evaluate("scrollY") == 0


def test_on_a_whole_sheet_one_finger_moves_the_page(fingers: Fingers) -> None:
    whole = fingers.seen
    fingers.move(((0, 0), (0, -240)))
    assert fingers.page.evaluate("scrollY") > 50
    assert fingers.seen == whole


def test_a_tap_looks_nearer_at_its_place(fingers: Fingers) -> None:
    whole = fingers.seen
    fingers.move(((100, 0), (100, 0)))
    near = fingers.seen
    assert near[2] == pytest.approx(whole[2] / 1.5)
    assert near[0] + near[2] / 2 > whole[0] + whole[2] / 2
