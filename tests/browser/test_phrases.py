"""Words typed into the search that mean a filter."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from archive.records import Entry
from archive.threads import estimate_wraps_per_cm, linear_density_tex, read_label
from tests.browser.conftest import Opened
from tests.integration.site.invented import Shelf, publish

AMOUNTS: list[tuple[str, str, list[float | None]]] = [
    ("18 pairs", "pairs", [18, 18]),
    ("18 Pair", "pairs", [18, 18]),
    ("18prs", "pairs", [18, 18]),
    ("pairs: 18", "pairs", [18, 18]),
    ("up to 20 pairs", "pairs", [None, 20]),
    ("max. 20 pairs", "pairs", [None, 20]),
    ("20 pairs or fewer", "pairs", [None, 20]),
    ("-20 pairs", "pairs", [None, 20]),
    ("under 20 pairs", "pairs", [None, 19]),
    ("fewer than 20 pairs", "pairs", [None, 19]),
    ("at least 20 pairs", "pairs", [20, None]),
    ("pairs at least 20", "pairs", [20, None]),
    ("20+ pairs", "pairs", [20, None]),
    ("more than 20 pairs", "pairs", [21, None]),
    ("10–20 pairs", "pairs", [10, 20]),
    ("20 to 10 pairs", "pairs", [10, 20]),
    ("between 10 and 20 pairs", "pairs", [10, 20]),
    ("over 10 pairs, under 20 pairs", "pairs", [11, 19]),
    ("c. 20 pairs", "pairs", [18, 22]),
    ("36 bobbins", "pairs", [18, 18]),
    ("18 Paare", "pairs", [18, 18]),
    ("60 wraps", "wraps", [54, 66]),
    ("25-32 wraps per cm", "wraps", [25, 32]),
    ("at least 60 wraps/cm", "wraps", [60, None]),
    # 2.54 cm are one inch.
    ("50.8-76.2 wpi", "wraps", [20, 30]),
    ("30 mm", "width", [27, 33]),
    ("width 30 mm", "width", [27, 33]),
    ("width: up to 30", "width", [None, 30]),
    ("3 cm wide", "width", [27, 33]),
    ("2,5-3 cm", "width", [25, 30]),
    ("1 to 2 inches", "width", [25.5, 51]),
]  # fmt: skip
"""What is typed, the filter it means and the range; widths and wraps in halves."""

FILTERS_IN = """
async (typed) => filtersIn(typed, () => [], new Threads((await index.need("root")).threads))
"""


@pytest.mark.parametrize(("typed", "key", "expected"), AMOUNTS, ids=[one[0] for one in AMOUNTS])
def test_an_amount_is_understood(
    opened: Opened, typed: str, key: str, expected: list[float | None]
) -> None:
    page = opened.go("index.html")
    for words in (typed, f"dewpond {typed}", f"{typed}, dewpond"):
        found = page.evaluate(FILTERS_IN, words)
        assert found["ranges"] == {key: expected}
        assert found["rest"] == (["dewpond"] if "dewpond" in words else [])


@pytest.mark.parametrize(
    "typed",
    ["18", "P-18", "pairs", "B 10 pairs10", "1.2.3", "no", "with", "-", "cm", "linen", "Nm",
     "P 80/2", "E 50", "cotton 50", "80/2 and 60/2"],
)  # fmt: skip
def test_other_words_are_left_as_they_are(opened: Opened, typed: str) -> None:
    page = opened.go("index.html")
    assert page.evaluate(FILTERS_IN, typed)["taken"] == []


@pytest.mark.parametrize(
    "typed",
    ["80/2", "80 / 2", "80/2 linen", "Leinen 80/2", "60/2 cotton", "30/3 silk", "Nm 60/2",
     "60/2 Nm", "nm60/2", "Nm 60.5/2", "NeL 80/2", "100/3 Ne", "Ne C 50/2", "worsted 30/2",
     "Ne 60/2 linen", "12 tex x 2", "2/60", "80/25", "60.5/2", "24 tex/2", "0/2", "80/0"],
)  # fmt: skip
def test_a_thread_number_means_what_it_means_as_a_label(opened: Opened, typed: str) -> None:
    """As on a thread's label, what is left open is not guessed."""
    page = opened.go("index.html")
    label = read_label(typed)
    systems = label.candidates or (label.system,)
    choices = [
        {"count": label.count, "plies": label.plies, "system": system}
        for system in systems
        if label.count and label.plies
    ]
    assert page.evaluate(FILTERS_IN, typed)["threads"] == choices
    found = page.evaluate(FILTERS_IN, f"{typed}, dewpond up to 20 pairs")
    assert found["threads"] == choices
    assert found["ranges"] == {"pairs": [None, 20]}


@pytest.mark.parametrize(
    ("typed", "choices"),
    [
        ("Ne 120", [(120, 2, "Ne"), (120, 3, "Ne")]),
        ("12 tex", [(12, 1, "tex")]),
        ("200 dtex", [(200, 1, "dtex")]),
    ],
)
def test_plies_are_a_choice_unless_the_number_is_a_weight(
    opened: Opened, typed: str, choices: list[tuple[float, int, str]]
) -> None:
    """A weight is that of the whole thread; threads of lace have mostly two plies or three.

    Common practice, no source.
    """
    page = opened.go("index.html")
    threads = page.evaluate(FILTERS_IN, typed)["threads"]
    assert [(one["count"], one["plies"], one["system"]) for one in threads] == choices


def test_a_typed_thread_is_offered_by_the_wraps_it_may_have(opened: Opened) -> None:
    """Source: textileschool.com, thread numbering system: linen 80/2 winds 30 to the cm."""
    page = opened.search("q=NeL+80/2")
    wraps = estimate_wraps_per_cm(linear_density_tex(80, 2, "NeL"))
    assert wraps.low < 30 < wraps.high
    told = f"{wraps.value:.0f} wraps per cm (estimate, {wraps.low:.0f} to {wraps.high:.0f})"
    offer = f"By filter: for NeL 80/2, about {told} – 2 patterns"
    page.get_by_role("button", name=offer).click()
    page.wait_for_url("**/index.html#own=80,2,NeL")
    expect(page.locator("#results")).to_have_text("2 patterns")
    assert sorted(opened.titles()) == ["Dewpond Edge", "Dewpond Insertion"]


def test_of_what_a_thread_number_may_mean_one_is_chosen(opened: Opened) -> None:
    """60/2 is a thread of 55, 33 or 20 tex, by its system, which Enter does not decide."""
    page = opened.search("")
    page.fill("#asked", "dewpond 60/2")
    offered = page.locator(".offered > *")
    expect(offered).to_have_count(4)
    expect(page.locator(".nothing")).to_have_text(
        "These words can also mean filters. To search by them, press one of the buttons above."
    )
    told = [one.split(",")[1].split(" ", 2)[2] for one in offered.all_inner_texts()]
    assert told == ["Ne 60/2", "NeL 60/2", "worsted 60/2", "Nm 60/2"]
    page.locator("#asked").press("Enter")
    expect(page.locator("#results")).to_have_text("No pattern has these words")
    page.locator(".offered button").first.click()
    page.wait_for_url(re.compile(r"#q=dewpond\+&own=60,2,\w+$"))


@pytest.mark.parametrize(
    ("typed", "offer", "fragment"),
    [
        ("24 pairs", "24 pairs – 1 pattern", "pairs=24-24"),
        ("up to 20 pairs", "at most 20 pairs – 3 patterns", "pairs=-20"),
        (
            "dewpond up to 20 pairs",
            "“dewpond”, at most 20 pairs – 1 pattern",
            "q=dewpond+&pairs=-20",
        ),
        ("35 wraps", "thread: 31.5 to 38.5 wraps per cm – 1 pattern", "wraps=31.5-38.5"),
        ("without gimps", "gimp: no – 1 pattern", "gimp=no"),
        ("with a corner", "corner: yes – 1 pattern", "corner=yes"),
        ("no Halbschlag", "without half stitch – 4 patterns", "not=half_stitch"),
        (
            "with picot and no honeycomb rings",
            "with picot, without honeycomb ring – no pattern",
            None,
        ),
        (
            "with picots but no half stitch, under 20 pairs",
            "with picot, without half stitch, at most 19 pairs – 1 pattern",
            "all=picot&not=half_stitch&pairs=-19",
        ),
    ],
)
def test_words_that_mean_filters_are_offered_as_such(
    opened: Opened, typed: str, offer: str, fragment: str | None
) -> None:
    page = opened.search("")
    page.fill("#asked", typed)
    expect(page.locator(".offered")).to_have_text(f"By filter: {offer}")
    if fragment is None:
        assert page.locator(".offered button").count() == 0
        return
    page.locator(".offered button").click()
    page.wait_for_url(f"**/index.html#{fragment}")
    expect(page.locator("#results")).to_have_text(offer.split(" – ")[1])
    expect(page.locator(".offered")).to_have_text("")
    assert page.evaluate("document.activeElement.id") == "results"
    page.go_back()
    expect(page.locator("#asked")).to_have_value(typed)


def test_an_offer_keeps_the_filters_that_are_in_force(opened: Opened) -> None:
    page = opened.search("q=no+spider&all=half_stitch&pairs=-30&sort=pairs")
    page.get_by_role("button", name="By filter: without spider – 1 pattern").click()
    page.wait_for_url("**/index.html#all=half_stitch&not=spider&pairs=-30&sort=pairs")


def test_enter_takes_the_filter_where_the_words_find_nothing(opened: Opened) -> None:
    """And with the keys alone it is reached behind the search box."""
    page = opened.search("")
    page.locator("#asked").focus()
    page.keyboard.type("24 pairs")
    expect(page.locator("#results")).to_have_text("No pattern has these words")
    assert "By filter: 24 pairs – 1 pattern" in page.get_by_role("status").inner_text()
    page.keyboard.press("Enter")
    page.wait_for_url("**/index.html#pairs=24-24")
    expect(page.locator("#results")).to_have_text("1 pattern")
    assert opened.titles() == ["Dewpond Insertion"]

    page.locator("#asked").focus()
    page.keyboard.type("with gimp")
    expect(page.locator(".offered")).to_have_text(re.compile("with gimp|gimp: yes"))
    for _ in range(2):
        page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.closest('.offered') !== null")
    page.keyboard.press("Enter")
    page.wait_for_url("**/index.html#gimp=yes&pairs=24-24")


def test_where_results_would_stand_it_is_said_how_to_take_the_words_as_filters(
    opened: Opened,
) -> None:
    """Seen once, announced once; the offer's own button stays the one control."""
    advice = (
        "These words can also mean filters. To search by them, press Enter in the search box, "
        "or the button above."
    )
    page = opened.search("q=24+pairs")
    nothing = page.locator(".nothing")
    expect(nothing).to_have_text(advice)
    assert nothing.is_visible()
    assert nothing.locator("button, a").count() == 0
    assert nothing.locator("xpath=ancestor-or-self::*[@role='status' or @aria-live]").count() == 0
    said = "No pattern has these words. By filter: 24 pairs – 1 pattern. "
    expect(page.get_by_role("status")).to_have_text(said + advice)
    page.get_by_role("button", name="By filter: 24 pairs").click()
    expect(page.get_by_role("status")).to_have_text("1 pattern found")
    expect(nothing).to_have_text("")


@pytest.mark.parametrize("typed", ["", "dewpond", "zzzz", "no picot and 99 pairs"])
def test_nothing_is_said_of_filters_where_they_would_not_help(opened: Opened, typed: str) -> None:
    page = opened.search(f"q={typed.replace(' ', '+')}")
    assert "also mean filters" not in page.locator("#search").inner_text()


def test_nothing_is_said_of_filters_in_place_of_results(browser: Browser, tmp_path: Path) -> None:
    """A note has the words, and the offer stands beside what they find."""
    told = {"shelfmark": "A 1", "pairs": {"counted": {"start": 18}}}
    note = {"about": "start", "text": "Wind 18 pairs."}
    entry = Entry.model_validate({**told, "working_notes": [note]})
    publish(Shelf(tmp_path / "shelf", [entry]), tmp_path / "site")
    context = browser.new_context()
    tab = Opened(tmp_path / "site", context.new_page())
    page = tab.search("q=18+pairs")
    assert page.locator("#results").inner_text() == "1 pattern"
    assert page.get_by_role("button", name="By filter: 18 pairs – 1 pattern").is_visible()
    assert "also mean filters" not in page.locator("#search").inner_text()
    context.close()
    assert tab.complaints == []


def test_enter_leaves_words_that_find_something(opened: Opened) -> None:
    page = opened.search("")
    page.fill("#asked", "dewpond")
    page.keyboard.press("Enter")
    page.wait_for_url("**/index.html#q=dewpond")
    expect(page.locator("#results")).to_have_text("2 patterns")


def test_what_no_pattern_is_known_to_have_is_said_and_not_offered(
    browser: Browser, tmp_path: Path
) -> None:
    shelf = Shelf(tmp_path / "shelf", [Entry.model_validate({"shelfmark": "A 1", "corner": True})])
    publish(shelf, tmp_path / "site")
    context = browser.new_context()
    tab = Opened(tmp_path / "site", context.new_page())
    offered = tab.search("q=no+corner").locator(".offered")
    assert offered.inner_text() == "By filter: corner: no – no pattern"
    assert offered.get_by_role("button").count() == 0
    context.close()
    assert tab.complaints == []
