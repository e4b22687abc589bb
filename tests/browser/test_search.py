from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from archive.site import search_index
from archive.threads import estimate_wraps_per_cm, linear_density_tex
from tests.browser.conftest import Opened
from tests.integration.site.invented import Shelf, publish


def test_a_word_of_another_language_finds_its_technique(opened: Opened) -> None:
    page = opened.search("q=Halbschlag")
    assert sorted(opened.titles()) == ["Dærnsted Strip", "Gatepost"]
    assert "is German for half stitch" in page.locator(".means").inner_text()


def test_words_are_found_while_they_are_typed(opened: Opened) -> None:
    page = opened.search("")
    assert opened.total() == 6
    page.locator("#asked").press_sequentially("dewp")
    expect(page.locator("#results")).to_have_text(re.compile(r"^2 "))
    assert sorted(opened.titles()) == ["Dewpond Edge", "Dewpond Insertion"]


@pytest.mark.parametrize(
    "typed", ["Gatepsot", "Gatpost", "Gatewpost", "Gatexost", "Hatepost", "Gtaepost", "Gatepostt"]
)
def test_a_word_with_one_slip_is_guessed_and_said(opened: Opened, typed: str) -> None:
    page = opened.search(f"q={typed}")
    assert opened.titles() == ["Gatepost"]
    assert "Did you mean gatepost? Its patterns are shown." in page.locator(".means").inner_text()
    page.get_by_role("button", name="gatepost", exact=True).click()
    page.wait_for_url("**/index.html#q=gatepost")
    expect(page.locator(".means")).to_have_text("")
    assert opened.titles() == ["Gatepost"]


def test_accents_do_not_matter(opened: Opened) -> None:
    opened.search("q=daernsted")
    assert opened.titles() == ["Dærnsted Strip"]
    opened.search("q=רצועת")
    assert opened.titles() == ["רצועת תחרה"]


def test_picots_without_gimp_under_twenty_pairs(opened: Opened) -> None:
    """A question that members ask."""
    page = opened.search("all=picot&not=gimp&pairs=-20")
    assert opened.titles() == ["Dewpond Edge"]
    active = page.locator(".active").inner_text()
    assert "with picot" in active
    assert "without gimp" in active
    assert "at most 20" in active


def test_filters_can_be_chosen_with_the_mouse_and_the_address_follows(opened: Opened) -> None:
    page = opened.search("")
    row = page.get_by_role("radiogroup", name="gimp", exact=True)
    row.get_by_label("without").check()
    page.wait_for_url("**/index.html#not=gimp")
    expect(page.locator("#results")).to_have_text(re.compile(r"^4 "))
    row.get_by_label("with", exact=True).check()
    page.wait_for_url("**/index.html#all=gimp")
    expect(page.locator("#results")).to_have_text(re.compile(r"^2 "))
    assert sorted(opened.titles()) == ["Dewpond Insertion", "Dærnsted Strip"]


def test_on_a_phone_the_filters_lead_to_the_results_they_leave(opened: Opened) -> None:
    opened.page.set_viewport_size({"width": 360, "height": 700})
    page = opened.search("")
    page.locator("summary", has_text="Filters").click()
    page.get_by_role("radiogroup", name="gimp", exact=True).get_by_label("without").check()
    done = page.get_by_role("button", name="Show 4 patterns")
    box = done.bounding_box()
    assert box is not None
    assert box["y"] + box["height"] <= 700
    done.click()
    expect(page.locator("#results")).to_be_in_viewport()
    assert page.evaluate("document.activeElement.id") == "results"


def test_back_takes_the_last_filter_away(opened: Opened) -> None:
    page = opened.search("")
    page.get_by_role("radiogroup", name="gimp", exact=True).get_by_label("without").check()
    expect(page.locator("#results")).to_have_text(re.compile(r"^4 "))
    page.go_back()
    expect(page.locator("#results")).to_have_text(re.compile(r"^6 "))


def test_back_leads_through_a_state_that_comes_twice(opened: Opened) -> None:
    page = opened.search("")
    row = page.get_by_role("radiogroup", name="gimp", exact=True)
    for said, found in (("without", 4), ("either way", 6), ("with", 2), ("either way", 6)):
        row.get_by_label(said, exact=True).check()
        expect(page.locator("#results")).to_have_text(re.compile(f"^{found} "))
    for found in (2, 6, 4, 6):
        page.go_back()
        expect(page.locator("#results")).to_have_text(re.compile(f"^{found} "))


def test_patterns_are_found_by_a_thread_one_has(opened: Opened) -> None:
    """Source: textileschool.com, thread numbering system: linen 80/2 winds 30 to the cm."""
    page = opened.search("")
    page.locator("summary", has_text="Thread").click()
    page.get_by_label("Number", exact=True).fill("80")
    page.get_by_label("Numbered in").select_option("NeL")
    page.wait_for_url("**/index.html#own=80,2,NeL")
    expect(page.locator("#results")).to_have_text(re.compile(r"^2 "))
    # B 2 states 30 wraps; the pins of B 10 ask for 33 to 42.
    assert sorted(opened.titles()) == ["Dewpond Edge", "Dewpond Insertion"]
    told = page.locator(".active").inner_text()
    said = re.search(r"about (\d+) wraps per cm \(estimate, (\d+) to (\d+)\)", told)
    assert said is not None
    likely, low, high = map(int, said.groups())
    expected = estimate_wraps_per_cm(linear_density_tex(80, 2, "NeL"))
    assert (likely, low, high) == tuple(map(round, (expected.value, expected.low, expected.high)))
    assert low < 30 < high
    page.get_by_role("button", name="NeL 80/2").click()
    expect(page.locator("#results")).to_have_text(re.compile(r"^6 "))


def test_a_thread_in_a_direct_system_is_understood_too(opened: Opened) -> None:
    opened.search("own=12,2,tex")
    # 24 tex may wind 33 to 45 to the cm.
    assert sorted(opened.titles()) == ["Dewpond Insertion"]


def test_words_about_rights_are_found(opened: Opened) -> None:
    opened.search("q=copyright")
    assert opened.titles() == ["Dewpond Insertion"]


def test_a_broader_technique_includes_the_narrower_ones(opened: Opened) -> None:
    opened.search("all=ground")
    assert sorted(opened.titles()) == ["Dewpond Edge", "Dewpond Insertion", "Gatepost"]


def test_any_of_several_techniques(opened: Opened) -> None:
    opened.search("any=spider,plait")
    assert sorted(opened.titles()) == ["Gatepost", "Untitled"]


def test_when_nothing_fits_it_is_said_which_filter_to_loosen(opened: Opened) -> None:
    page = opened.search("all=picot&corner=yes")
    assert opened.total() == 0
    assert page.get_by_role("button", name="Take away “with picot”: 1 pattern").is_visible()
    page.get_by_role("button", name="Take away “corner: yes”: 1 pattern").click()
    expect(page.locator("#results")).to_have_text(re.compile(r"^1 "))
    assert opened.titles() == ["Dewpond Edge"]
    assert page.evaluate("document.activeElement.id") == "results"


@pytest.mark.parametrize(
    ("fragment", "offer", "left"),
    [
        ("q=gatepost+dewp", "Take away “gatepost”: 2 patterns", "q=dewp"),
        ("q=gatepost+dewp", "Take away “dewp”: 1 pattern", "q=gatepost+"),
        ("q=zzzz&all=picot", "Take away “zzzz”: 1 pattern", "all=picot"),
        ("all=gimp&corner=yes&pairs=-5", "Keep only “corner: yes”: 1 pattern", "corner=yes"),
        (
            "q=gatepost+dewp&all=picot&pairs=-1",
            "Take away “gatepost” and “at most 1 pair”: 1 pattern",
            "q=dewp&all=picot",
        ),
        (
            "q=gatepost+daernsted+dewp&pairs=-1",
            "Keep only “gatepost”: 1 pattern",
            "q=gatepost+",
        ),
    ],
)
def test_words_and_several_filters_can_be_loosened_too(
    opened: Opened, fragment: str, offer: str, left: str
) -> None:
    """Where no single one is to blame two are offered, and one by itself where even that fails."""
    page = opened.search(fragment)
    assert opened.total() == 0
    page.get_by_role("button", name=offer, exact=True).click()
    page.wait_for_url(f"**/index.html#{left}")
    expect(page.locator("#results")).to_have_text(re.compile(rf"^{offer.split()[-2]} "))


def test_an_empty_collection_says_so_and_offers_no_filters(
    browser: Browser, tmp_path: Path
) -> None:
    publish(Shelf(tmp_path / "shelf"), tmp_path / "site")
    context = browser.new_context()
    tab = Opened(tmp_path / "site", context.new_page())
    page = tab.search("")
    assert "The collection has no patterns yet." in page.locator("#search").inner_text()
    assert not page.locator(".filters").is_visible()
    context.close()
    assert tab.complaints == []


def test_results_are_sorted_as_asked_with_the_unknown_last(opened: Opened) -> None:
    opened.search("sort=pairs")
    assert opened.titles()[:4] == [
        "Dærnsted Strip",
        "Gatepost",
        "Dewpond Edge",
        "Dewpond Insertion",
    ]
    opened.search("sort=title")
    assert opened.titles()[0] == "Dærnsted Strip"


@pytest.mark.parametrize("typed", ["B-10", "b 10", "b10", "B10 "])
def test_a_shelfmark_is_found_however_it_is_typed(opened: Opened, typed: str) -> None:
    page = opened.search(f"q={typed}")
    assert opened.titles() == ["Dewpond Insertion"]
    assert page.locator(".means").inner_text() == ""


def test_a_word_for_a_level_finds_its_patterns(opened: Opened) -> None:
    page = opened.search("q=advanced")
    assert opened.total() == 0
    page = opened.search("q=beginners torchon")
    assert opened.titles() == ["Gatepost"]
    assert "“beginners” is another word for first steps" in page.locator(".means").inner_text()
    opened.search("q=simple")
    assert opened.titles() == ["Dewpond Edge"]


def test_a_word_that_is_nowhere_is_said_to_be_nowhere(opened: Opened) -> None:
    page = opened.search("q=zzzzqqq")
    assert opened.total() == 0
    assert "No pattern has the word “zzzzqqq”" in page.locator(".means").inner_text()
    assert page.get_by_role("link", name="shelf list", exact=True).is_visible()


def test_a_lacemaker_finds_and_opens_a_pattern_with_the_keyboard_alone(opened: Opened) -> None:
    page = opened.go("index.html")
    page.wait_for_selector("#search:not([hidden])")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "asked"
    page.keyboard.type("gatepost")
    expect(page.locator("#results")).to_have_text(re.compile(r"^1 "))
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip the filters"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.matches('.card a')")
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.keyboard.press("Enter")
    page.wait_for_url("**/patterns/t-1.html")
    assert page.locator("h1").inner_text() == "Gatepost"


def test_without_scripts_there_is_no_dead_control_and_every_list_is_there(
    browser: Browser, site: Path
) -> None:
    context = browser.new_context(java_script_enabled=False)
    tab = Opened(site, context.new_page())
    page = tab.go("index.html")
    assert page.locator("button:visible, input:visible, select:visible").count() == 0
    assert "switched off" in page.locator("noscript").inner_text()
    page.get_by_role("link", name="picot", exact=True).click()
    page.get_by_role("link", name="Dewpond Edge").first.click()
    assert page.locator("h1").inner_text() == "Dewpond Edge"
    assert page.locator("button:visible, input:visible, select:visible").count() == 0
    assert tab.complaints == []
    context.close()


def test_a_missing_part_of_the_index_is_told_in_a_sentence(
    browser: Browser, shelf: Shelf, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search_index, "BUNDLED_BELOW", 0)
    publish(shelf, tmp_path / "site")
    (tmp_path / "site" / "data" / "facet-family-0.js").unlink()
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{(tmp_path / 'site').as_uri()}/index.html#family=torchon")
    expect(page.get_by_role("alert")).to_contain_text("data/facet-family-0.js” is missing")
    assert page.locator("#browse").is_visible()
    context.close()


@pytest.mark.parametrize("missing", ["scripts/search.js", "data/all.js"])
def test_where_the_search_cannot_begin_every_list_is_there(
    browser: Browser, shelf: Shelf, tmp_path: Path, missing: str
) -> None:
    site = tmp_path / "data" / "site"
    site.parent.mkdir()
    publish(shelf, site)
    (site / missing).unlink()
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{site.as_uri()}/index.html#q=dewpond")
    assert page.get_by_role("link", name="picot", exact=True).is_visible()
    assert page.locator("button:visible, input:visible, select:visible").count() == 0
    said = page.get_by_role("alert").all_inner_texts()
    assert [missing in one for one in said] == ([True] if missing.startswith("data") else [])
    context.close()
