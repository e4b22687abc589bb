from __future__ import annotations

import re
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from archive.records import Entry
from archive.records.settings import CollectionSettings
from archive.site.ladder import all_before, builds_on
from tests.browser.conftest import Opened
from tests.browser.hostile import HOSTILE, INJECTED
from tests.integration.site.invented import OPEN_RIGHTS, Shelf, draw_strip, publish

KINDS = (
    "index.html", "patterns/b-2.html", "patterns/b-10.html", "patterns/k-3-?.html",
    "techniques.html", "techniques/picot.html", "families.html", "families/torchon.html",
    "ladder.html", "difficulty.html", "shelf.html", "about.html",
)  # fmt: skip


def _kinds(site: Path) -> list[str]:
    odd = next(path for path in (site / "patterns").glob("k-3-*.html"))
    return [path if "k-3" not in path else f"patterns/{odd.name}" for path in KINDS]


@pytest.mark.parametrize(("width", "scheme"), [(360, "light"), (768, "dark"), (1280, "light")])
def test_every_kind_of_page_opens_from_a_disk_without_a_complaint(
    browser: Browser, site: Path, width: int, scheme: str
) -> None:
    context = browser.new_context(
        viewport={"width": width, "height": 800},
        color_scheme=scheme,  # type: ignore[arg-type]
    )
    tab = Opened(site, context.new_page())
    for path in _kinds(site):
        page = tab.go(path)
        wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert wide <= 0, f"{path} is wider than {width} px"
        assert page.locator("h1").count() == 1
    assert tab.complaints == []
    context.close()


def test_the_typeface_of_the_site_is_loaded_from_the_disk(opened: Opened) -> None:
    page = opened.go("index.html")
    assert page.evaluate(
        "document.fonts.ready.then(() => document.fonts.check('1em Hyperlegible'))"
    )
    loaded = page.evaluate("[...document.fonts].filter((one) => one.status === 'loaded').length")
    assert loaded >= 1


def _luminance(colour: str) -> float:
    """Relative luminance. Source: WCAG 2.2, definition of relative luminance."""
    parts = [int(one) / 255 for one in re.findall(r"\d+", colour)[:3]]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


_TEXTS = """
() => {
  const found = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const element = walk.currentNode.parentElement;
    if (!walk.currentNode.textContent.trim() || !element.checkVisibility()) continue;
    if (element.closest('.unseen, .skip, svg, noscript')) continue;
    let behind = element, colour = 'rgba(0, 0, 0, 0)';
    while (behind && colour === 'rgba(0, 0, 0, 0)') {
      colour = getComputedStyle(behind).backgroundColor;
      behind = behind.parentElement;
    }
    found.push([element.textContent.slice(0, 40), getComputedStyle(element).color, colour]);
  }
  return found;
}
"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_word_stands_out_from_what_is_behind_it(
    browser: Browser, site: Path, scheme: str
) -> None:
    """Source: WCAG 2.2, success criterion 1.4.3: a contrast of at least 4.5 to 1."""
    context = browser.new_context(color_scheme=scheme)  # type: ignore[arg-type]
    tab = Opened(site, context.new_page())
    for path in _kinds(site):
        page = tab.go(path)
        for words, ink, paper in page.evaluate(_TEXTS):
            light, dark = sorted((_luminance(ink), _luminance(paper)), reverse=True)
            assert (light + 0.05) / (dark + 0.05) >= 4.5, f"{path}: {words!r} {ink} on {paper}"
    context.close()


def test_a_sheet_can_be_zoomed_and_moved_by_keys_and_its_layers_switched(opened: Opened) -> None:
    page = opened.go("patterns/b-2.html")
    view = page.locator("svg.view")
    whole = view.get_attribute("viewBox")
    view.focus()
    page.keyboard.press("+")
    page.keyboard.press("+")
    near = view.get_attribute("viewBox")
    assert float(str(near).split()[2]) == pytest.approx(float(str(whole).split()[2]) / 2.25)
    page.keyboard.press("ArrowDown")
    moved = str(view.get_attribute("viewBox")).split()
    assert float(moved[1]) > float(str(near).split()[1])
    page.keyboard.press("0")
    assert view.get_attribute("viewBox") == whole
    holes = page.locator(".layer.holes")
    assert not holes.is_visible()
    page.get_by_label(re.compile("Pinholes")).check()
    assert holes.is_visible()


def test_a_click_looks_nearer_and_a_drag_moves_the_sheet(opened: Opened) -> None:
    page = opened.go("patterns/b-2.html")
    view = page.locator("svg.view")
    view.scroll_into_view_if_needed()
    box = view.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + 150
    before = [float(one) for one in str(view.get_attribute("viewBox")).split()]
    page.mouse.click(x, y)
    near = [float(one) for one in str(view.get_attribute("viewBox")).split()]
    assert near[2] == pytest.approx(before[2] / 1.5)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 60, y, steps=5)
    page.mouse.up()
    moved = [float(one) for one in str(view.get_attribute("viewBox")).split()]
    assert moved[0] == pytest.approx(near[0] + 60 * near[2] / box["width"], rel=0.02)
    assert moved[2] == near[2]


@pytest.mark.parametrize("size", [(120, 1440), (1440, 120)])
def test_of_a_slender_strip_one_end_is_shown_first(
    browser: Browser, tmp_path: Path, size: tuple[int, int]
) -> None:
    """Shown whole, a strip of one to twelve is a line in which no pinhole can be made out."""
    shelf = Shelf(tmp_path)
    Image.new("RGB", size, "#d9c7a0").save(tmp_path / "strip.png")
    shelf.add("A 1", tmp_path / "strip.png", rights=OPEN_RIGHTS)
    publish(shelf, tmp_path / "site")
    context = browser.new_context(
        viewport={"width": 360, "height": 800}, has_touch=True, is_mobile=True
    )
    tab = Opened(tmp_path / "site", context.new_page())
    page = tab.go("patterns/a-1.html")
    view = page.locator("svg.view")
    page.wait_for_selector(".tools")
    left, top, width, height = map(float, str(view.get_attribute("viewBox")).split())
    share = max(min(size[0] / width, 1), min(size[1] / height, 1))
    across = min(size[0] / width, size[1] / height)
    assert share == 1
    assert across == pytest.approx(0.5)
    if size[1] > size[0]:
        assert top == 0
        assert left + width / 2 == pytest.approx(size[0] / 2)
    else:
        assert left == 0
        assert top + height / 2 == pytest.approx(size[1] / 2)
    # A finger that goes down the page is not caught by it.
    assert view.evaluate("(view) => getComputedStyle(view).touchAction") == "pan-y"
    page.get_by_role("button", name="Whole sheet").click()
    whole = [float(one) for one in str(view.get_attribute("viewBox")).split()]
    assert whole[2] >= size[0]
    assert whole[3] >= size[1]
    page.get_by_role("button", name="Nearer").click()
    assert tab.complaints == []
    context.close()


def test_the_scale_bar_is_as_long_as_it_says(opened: Opened) -> None:
    page = opened.go("patterns/b-2.html")
    view = page.locator("svg.view")
    for _ in range(3):
        bar = page.locator(".scale span").bounding_box()
        box = view.bounding_box()
        assert bar is not None
        assert box is not None
        per_pixel = float(str(view.get_attribute("viewBox")).split()[2]) / (box["width"] - 2)
        mm = float(page.locator(".scale small").inner_text().split()[0])
        # The sheet is in pixels at 96 to the inch.
        assert bar["width"] * per_pixel / (96 / 25.4) == pytest.approx(mm, rel=0.02)
        page.get_by_role("button", name="Nearer").click()


def test_the_layers_lie_on_the_holes_of_the_sheet(opened: Opened) -> None:
    """The drawn sheet and the measured pins share one system of coordinates."""
    page = opened.go("patterns/b-2.html")
    page.get_by_label(re.compile("Pinholes")).check()
    sheet = page.locator("svg.view image").bounding_box()
    assert sheet is not None
    holes = page.locator(".layer.holes").bounding_box()
    assert holes is not None
    per_mm = sheet["height"] / 140
    # The footside of the strip lies at 35.5 mm, its first pin at 10 mm.
    right = (holes["x"] + holes["width"] - sheet["x"]) / per_mm
    top = (holes["y"] - sheet["y"]) / per_mm
    assert right == pytest.approx(35.5, abs=0.8)
    assert top == pytest.approx(10.0, abs=0.8)


def test_a_technique_on_the_ladder_lights_up_what_leads_to_it(opened: Opened) -> None:
    """Both under the mouse and with the focus; the words of the vocabulary decide what does."""
    page = opened.go("ladder.html")
    double_picot = page.locator("[data-technique='double_picot']")
    after = set(builds_on()["double_picot"])
    expected = {"double_picot"} | all_before("double_picot") | after
    lit = "[...document.querySelectorAll('.rung.lit')].map((one) => one.dataset.technique)"
    double_picot.hover()
    assert set(page.evaluate(lit)) == expected
    page.mouse.move(0, 0)
    assert page.evaluate(lit) == []
    double_picot.focus()
    assert set(page.evaluate(lit)) == expected


@pytest.mark.parametrize("path", ["ladder.html", "about.html"])
def test_words_in_a_drawing_grow_with_the_readers_letters(opened: Opened, path: str) -> None:
    page = opened.go(path)
    word = page.locator("main svg text").first
    usual = word.bounding_box()
    page.evaluate("document.documentElement.style.fontSize = '225%'")  # twice the usual
    large = word.bounding_box()
    assert usual is not None
    assert large is not None
    assert large["height"] == pytest.approx(2 * usual["height"], rel=0.1)


def test_the_tab_key_goes_down_the_steps_of_the_ladder(opened: Opened) -> None:
    page = opened.go("ladder.html")
    page.get_by_role("link", name="list of steps").focus()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "wide ladder"
    places = []
    for _ in range(page.locator(".rung").count()):
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.matches('.rung')")
        box = page.evaluate(
            "(({x, y}) => [x.baseVal.value, y.baseVal.value])"
            "(document.activeElement.querySelector('rect'))"
        )
        places.append(box)
    assert places == sorted(places)


def test_what_has_the_focus_beside_a_pattern_is_seen_in_a_low_window(opened: Opened) -> None:
    """The sheet stands still beside what is told of it; so does what lies below the sheet."""
    opened.page.set_viewport_size({"width": 1280, "height": 520})
    opened.page.emulate_media(reduced_motion="reduce")
    page = opened.go("patterns/b-2.html")
    stops = page.locator(".sheets").locator("a, button, input")
    assert stops.count() > 3
    for stop in stops.all():
        stop.focus()
        expect(stop).to_be_in_viewport(ratio=1)


def test_what_the_tab_key_reaches_is_seen_at_once(opened: Opened) -> None:
    """Who goes on before a slow movement of the page has ended would never see where they are."""
    opened.page.set_viewport_size({"width": 1280, "height": 700})
    page = opened.go("patterns/b-2.html")
    for _ in range(30):
        page.keyboard.press("Tab")
        seen = page.evaluate(
            "() => document.activeElement.getBoundingClientRect().top < innerHeight"
            " && document.activeElement.getBoundingClientRect().bottom > 0"
        )
        assert seen, page.evaluate("document.activeElement.outerHTML.slice(0, 80)")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_pattern_prints_on_one_page(opened: Opened, paper: str) -> None:
    page = opened.go("patterns/b-2.html")
    assert _printed_pages(page, paper) == 1


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_well_filled_record_prints_on_one_page(
    browser: Browser, tmp_path: Path, paper: str
) -> None:
    shelf = Shelf(tmp_path)
    technique = ("gimp", "honeycomb_ring", "picot", "catch_pin", "point_ground", "tally", "fan")
    shelf.add(
        "A 1",
        draw_strip(tmp_path / "a1.svg"),
        title="Dewpond Edge",
        families=["bucks"],
        kind="edging",
        techniques=[{"technique": one, "role": "practised"} for one in technique],
        pairs={
            "stated": {"start": 20, "most": 24},
            "estimated": {"value": 25, "low": 23, "high": 27},
        },
        gimps={"singles": 4},
        threads=[{"label": "cotton Ne 80/2", "use": "ground"}],
        difficulty={"stated": "4", "level": 4},
        size={"width_mm": 24, "repeat_mm": 24},
        corrections=[
            {"fault": "One hole too many in the middle of the second large ring.",
             "remedy": "Leave it empty.", "date": "2022-11-12"}
        ] * 2,
        working_notes=[
            {"text": "The waiting pairs gather in the hollow; lay them parallel, in order."}
        ] * 4,
        designer={"status": "named", "name": "A. Invented"},
        source={"title": "Leaves of a Notebook", "page": "12"},
        period="1990",
        material="brown card",
        rights=OPEN_RIGHTS,
    )  # fmt: skip
    publish(shelf, tmp_path / "site")
    page = browser.new_page()
    page.goto(f"{(tmp_path / 'site').as_uri()}/patterns/a-1.html")
    assert _printed_pages(page, paper) == 1
    page.close()


def _printed_pages(page: Page, paper: str) -> int:
    return len(re.findall(rb"/Type /Page\b(?!s)", page.pdf(format=paper)))


@pytest.mark.parametrize(("width", "height"), [(360, 800), (768, 1024), (1280, 900)])
def test_a_correction_is_seen_with_the_sheet_and_without_scrolling(
    opened: Opened, width: int, height: int
) -> None:
    """Before the sheet, or beside it where there is room for both."""
    opened.page.set_viewport_size({"width": width, "height": height})
    page = opened.go("patterns/b-2.html")
    box = page.locator(".corrections").bounding_box()
    sheet = page.locator(".sheet").first.bounding_box()
    assert box is not None
    assert sheet is not None
    assert box["y"] + box["height"] < height
    assert box["y"] + box["height"] < sheet["y"] or (
        box["x"] > sheet["x"] + sheet["width"] and box["y"] == pytest.approx(sheet["y"], abs=2)
    )


def _hostile(mark: str, text: str) -> Entry:
    right = {"statement": "cc0", "holder": text, "basis": text}
    printable = "".join(sign for sign in text if sign.isprintable())
    return Entry.model_validate(
        {
            "shelfmark": f"{mark} {printable}"[:80].strip(),
            "title": text,
            "other_titles": [text],
            "techniques": [{"technique": "gimp"}],
            "pairs": {"stated": {"start": 9, "words": text}},
            "threads": [{"label": text, "fibre": text, "use": text}],
            "difficulty": {"stated": text},
            "designer": {"status": "named", "name": text, "evidence": text},
            "source": {"title": text, "edition": text, "page": text, "issue": text},
            "period": text,
            "material": text,
            "related": [{"kind": "see also", "shelfmark": printable[:80].strip()}],
            "working_notes": [{"text": text}],
            "corrections": [{"fault": text, "remedy": text}],
            "rights": {"design": right, "photograph": right},
        }
    )


@pytest.mark.parametrize("word", ["w" * 400, "Klöppelspitzenmusterbriefsammlung" * 6, "אבג" * 60])
def test_words_without_an_end_do_not_widen_a_page(
    browser: Browser, tmp_path: Path, word: str
) -> None:
    shelf = Shelf(tmp_path / "shelf")
    shelf.entries.extend(_hostile(f"H{number}", word[:70]) for number in range(2))
    long = shelf.entries[0].model_dump()
    long.update(title=word, other_titles=[word], working_notes=[{"text": word}])
    shelf.entries[0] = Entry.model_validate(long)
    publish(shelf, tmp_path / "site", about=word)
    context = browser.new_context(viewport={"width": 360, "height": 800})
    tab = Opened(tmp_path / "site", context.new_page())
    paths = [f"patterns/{path.name}" for path in (tmp_path / "site" / "patterns").iterdir()]
    for path in (*paths, "shelf.html", "difficulty.html", "about.html", "techniques/gimp.html"):
        page = tab.go(path)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, path
    shelf_list = tab.go("shelf.html").locator(".wide")
    assert shelf_list.evaluate("(list) => list.scrollWidth - list.clientWidth") <= 0
    page = tab.search("")
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    assert tab.complaints == []
    context.close()


def test_a_collection_of_one_pattern_reads_well(browser: Browser, tmp_path: Path) -> None:
    settings = CollectionSettings(name="Lace of M. P.", holder="M. P.")
    shelf = Shelf(tmp_path / "shelf", [Entry.model_validate({"shelfmark": "1"})])
    publish(shelf, tmp_path / "site", settings=settings)
    context = browser.new_context()
    tab = Opened(tmp_path / "site", context.new_page())
    told = tab.search("").locator("body").inner_text()
    assert "1 pattern 0 techniques practised" in " ".join(told.split())
    assert "1 patterns" not in told
    page = tab.go("patterns/1.html")
    assert page.locator(".shelf-neighbours").count() == 0
    assert ".." not in page.locator("footer").inner_text()
    assert tab.complaints == []
    context.close()


BEGINS_AT = """(element) => {
  const words = document.createRange();
  words.selectNodeContents(element);
  return words.getBoundingClientRect().left;
}"""
DIRECTION = "(element) => getComputedStyle(element).direction"


def test_what_is_said_of_a_pattern_stays_in_the_direction_of_the_page(opened: Opened) -> None:
    """The titles of others may be written from right to left, what is said of them is not."""
    for path in sorted((opened.site / "patterns").glob("k-3*.html")):
        page = opened.go(f"patterns/{path.name}")
        assert page.locator(".cite").evaluate(DIRECTION) == "ltr"
        if page.locator("h1").inner_text() == "Untitled":
            link = page.locator(".shelf-neighbours a", has_text="רצועת")
            assert link.evaluate(DIRECTION) == "rtl"
            assert link.locator("xpath=..").evaluate(DIRECTION) == "ltr"
        else:
            title = page.locator("h1")
            assert title.evaluate(DIRECTION) == "rtl"
            words = title.evaluate(BEGINS_AT)
            assert words == pytest.approx(page.locator(".mark").first.evaluate(BEGINS_AT), abs=2)


def test_hostile_words_in_every_field_run_nothing(browser: Browser, tmp_path: Path) -> None:
    assert len(set(HOSTILE)) > 527
    texts = [" ".join(HOSTILE[start :: len(HOSTILE) // 6]) for start in range(len(HOSTILE) // 6)]
    assert all(any(one in text for text in texts) for one in HOSTILE)
    shelf = Shelf(tmp_path / "shelf")
    shelf.entries.extend(_hostile(f"H{n}", text) for n, text in enumerate(texts))
    publish(shelf, tmp_path / "site", about="\n\n".join(HOSTILE))
    context = browser.new_context()
    tab = Opened(tmp_path / "site", context.new_page())
    patterns = [f"patterns/{path.name}" for path in (tmp_path / "site" / "patterns").iterdir()]
    assert len(patterns) == len(texts)
    lists = ("shelf.html", "difficulty.html", "about.html", "techniques/gimp.html")
    for path in (*lists, *sorted(patterns)):
        assert tab.go(path).evaluate(INJECTED) == 0, path
    page = tab.search("sort=shelf")
    for _ in range((len(texts) - 1) // 24):
        page.locator(".more").click()
    expect(page.locator("#search .card")).to_have_count(len(texts))
    assert {" ".join(text.split()) for text in texts} == {
        " ".join(title.split()) for title in tab.titles()
    }
    for text in HOSTILE[:: len(HOSTILE) // 40]:
        page.fill("#asked", text)
        assert page.evaluate(INJECTED) == 0
    page.wait_for_timeout(100)
    assert page.evaluate(INJECTED) == 0
    assert tab.complaints == []
    context.close()


def test_an_injected_element_would_be_found(opened: Opened) -> None:
    """The question that the test above asks can be answered with more than none."""
    page = opened.go("about.html")
    page.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend', '<i data-injected>')"
    )
    assert page.evaluate(INJECTED) == 1
