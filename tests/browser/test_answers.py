"""What the search page answers, against a plain reading of the records."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from archive.records import Entry
from archive.site import search_index
from archive.site.addresses import shelf_order
from archive.site.postings import words_of
from archive.vocabulary import families, kinds, techniques
from tests.browser.conftest import Opened
from tests.integration.site.invented import Shelf, publish


def _entries(count: int) -> list[Entry]:
    """Many invented patterns with few words, so that words and filters meet often."""
    chance = random.Random(7)
    used = ["gimp", "picot", "point_ground", "honeycomb_ground", "honeycomb_ring", "plait",
            "spider", "rose_ground", "tally", "leaf_tally"]  # fmt: skip
    named = ["willow", "wicket", "dewpond", "lantern", "latch", "heron", "harrow", "barley"]
    return [
        Entry.model_validate(
            {
                "shelfmark": f"S {number}",
                "title": " ".join(chance.sample(named, 2)),
                "families": [chance.choice(["torchon", "bucks", "cluny", "point_ground"])],
                "kind": chance.choice(["edging", "insertion", "mat"]),
                "techniques": [
                    {"technique": one} for one in chance.sample(used, chance.randint(0, 4))
                ],
                "pairs": {"stated": {"start": chance.randint(6, 60)}}
                if chance.random() < 0.9
                else {},
                "difficulty": {"level": chance.choice([None, 1, 2, 3, 4, 5])},
                "size": {"width_mm": chance.choice([None, 12.5, 20, 31])},
                "working_notes": [{"text": " ".join(chance.sample(named, 3))}],
            }
        )
        for number in range(count)
    ]


def _has_word(entry: Entry, word: str, *, beginning: bool) -> bool:
    texts = [entry.title, entry.shelfmark, *(note.text for note in entry.working_notes)]
    for one in entry.technique_ids:
        texts.extend((techniques()[one].name, *techniques()[one].also))
    texts.append(kinds()[entry.kind].name if entry.kind else "")
    for family in entry.families:
        texts.extend(families()[above].name for above in families().with_broader(family))
    found = {one for text in texts for one in words_of(text)}
    return any(one.startswith(word) if beginning else one == word for one in found)


def _expected(entries: list[Entry], asked: dict[str, Any]) -> set[str]:
    """The shelfmarks that a plain reading of the records gives."""
    found = set()
    for entry in entries:
        own = {above for one in entry.technique_ids for above in techniques().with_broader(one)}
        words = asked.get("q", "").split()
        fits = (
            all(
                _has_word(entry, word, beginning=place == len(words) - 1)
                for place, word in enumerate(words)
            )
            and set(asked.get("all", ())) <= own
            and (not asked.get("any") or bool(set(asked["any"]) & own))
            and not set(asked.get("not", ())) & own
            and (not asked.get("kind") or entry.kind in asked["kind"])
        )
        if fits and "pairs" in asked:
            low, high = asked["pairs"]
            fits = entry.pairs.best is not None and low <= entry.pairs.best <= high
        if fits:
            found.add(entry.shelfmark)
    return found


ASKED: list[dict[str, Any]] = [
    {},
    {"q": "willow"},
    {"q": "dewpond lant"},
    {"q": "la"},
    {"q": "heron harrow", "not": ["gimp"]},
    {"all": ["ground"], "pairs": (10, 20)},
    {"all": ["gimp", "picot"]},
    {"any": ["tally", "plait"], "not": ["leaf_tally"], "kind": ["mat"]},
    {"q": "barley", "kind": ["edging", "insertion"], "pairs": (0, 30)},
]


def _fragment(asked: dict[str, Any]) -> str:
    told = []
    for key, value in asked.items():
        if key == "pairs":
            told.append(f"pairs={value[0]}-{value[1]}")
        else:
            told.append(f"{key}={value if isinstance(value, str) else ','.join(value)}")
    return "&".join(told)


@pytest.fixture(scope="module", params=["one file", "shards"])
def many(
    request: pytest.FixtureRequest, browser: Browser, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[Opened, list[Entry]]]:
    """200 patterns, with the index in one file and cut into many small shards."""
    folder = tmp_path_factory.mktemp("many")
    shelf = Shelf(folder / "shelf", entries=_entries(200))
    with pytest.MonkeyPatch.context() as patch:
        if request.param == "shards":
            patch.setattr(search_index, "BUNDLED_BELOW", 0)
            patch.setattr(search_index, "PART_BYTES", 600)
            patch.setattr(search_index, "MANY_BYTES", 60)
            patch.setattr(search_index, "RECORDS_PER_PART", 16)
            patch.setattr(search_index, "TITLES_PER_PART", 12)
        publish(shelf, folder / "site")
    if request.param == "shards":
        assert len(list((folder / "site" / "data").iterdir())) > 30
    context = browser.new_context()
    tab = Opened(folder / "site", context.new_page())
    yield tab, shelf.entries
    context.close()
    assert tab.complaints == []


@pytest.mark.parametrize("asked", ASKED, ids=[_fragment(one) or "all" for one in ASKED])
def test_the_page_finds_what_a_plain_reading_of_the_records_finds(
    many: tuple[Opened, list[Entry]], asked: dict[str, Any]
) -> None:
    tab, entries = many
    page = tab.search(_fragment(asked))
    expected = _expected(entries, asked)
    assert tab.total() == len(expected)
    while page.locator(".more").is_visible():
        shown = page.locator("#search .card").count()
        page.locator(".more").click()
        expect(page.locator("#search .card")).not_to_have_count(shown)
    marks = page.locator("#search .card .mark").all_inner_texts()
    assert len(marks) == len(set(marks))
    assert set(marks) == expected


@pytest.mark.parametrize(
    ("typed", "asked"),
    [
        ("10 to 20 pairs", {"pairs": (10, 20)}),
        ("willow under 31 pairs", {"q": "willow ", "pairs": (0, 30)}),
        ("with tallies but no picot", {"all": ["tally"], "not": ["picot"]}),
    ],
)
def test_the_count_of_an_offered_filter_is_that_of_a_plain_reading(
    many: tuple[Opened, list[Entry]], typed: str, asked: dict[str, Any]
) -> None:
    """Words that mean a filter are searched as words until the offer is taken."""
    tab, entries = many
    page = tab.search(f"q={typed.replace(' ', '+')}")
    assert tab.total() == 0
    page.locator(".offered button").click()
    expected = _expected(entries, asked)
    expect(page.locator("#results")).to_have_text(f"{len(expected)} patterns")


@pytest.mark.parametrize("words", ["", "barley"])
def test_titles_stand_in_their_order_equals_in_that_of_the_shelf(
    many: tuple[Opened, list[Entry]], words: str
) -> None:
    tab, entries = many
    page = tab.search(f"q={words}&sort=title")
    page.locator(".more").click()
    expect(page.locator("#search .card")).to_have_count(48)
    found = _expected(entries, {"q": words} if words else {})
    ordered = sorted(
        (entry for entry in entries if entry.shelfmark in found),
        key=lambda entry: (entry.title, shelf_order(entry.shelfmark)),
    )
    marks = page.locator("#search .card .mark").all_inner_texts()
    assert marks == [entry.shelfmark for entry in ordered[:48]]


@pytest.mark.parametrize("typed", ["willwo", "xillow", "iwllow", "wilow", "willlow", "wyllow"])
def test_a_slip_anywhere_in_a_word_finds_what_was_meant(
    many: tuple[Opened, list[Entry]], typed: str
) -> None:
    tab, entries = many
    page = tab.search(f"q={typed}+")
    assert "Did you mean willow?" in page.locator(".means").inner_text()
    assert tab.total() == len(_expected(entries, {"q": "willow"}))


def test_the_counts_beside_the_filters_are_those_of_a_plain_reading(
    many: tuple[Opened, list[Entry]],
) -> None:
    tab, entries = many
    page = tab.search("q=willow&all=gimp&kind=mat")
    rows = page.get_by_role("radiogroup").all()
    assert len(rows) > 8
    for row in rows:
        name = str(row.get_attribute("aria-label"))
        term = techniques().get(name).id
        count = int(row.locator(".count").inner_text())
        asked = {"q": "willow", "all": ["gimp", term], "kind": ["mat"]}
        assert count == len(_expected(entries, asked)), name
    for kind in ("edging", "insertion", "mat"):
        label = page.locator("label.choice", has_text=kind).first
        count = int(str(label.locator(".count").text_content()))
        asked = {"q": "willow", "all": ["gimp"], "kind": [kind]}
        assert count == len(_expected(entries, asked)), kind


def test_who_comes_back_from_a_pattern_stands_where_they_left(
    many: tuple[Opened, list[Entry]],
) -> None:
    tab, _ = many
    page = tab.search("sort=title")
    for shown in (24, 48):
        expect(page.locator("#search .card")).to_have_count(shown)
        expect(page.locator(".part")).to_have_text(f"The first {shown} of 200 patterns.")
        page.locator(".more").click()
    card = page.locator("#search .card a").nth(60)
    card.scroll_into_view_if_needed()
    href, top = card.get_attribute("href"), page.evaluate("scrollY")
    assert top > 1000
    card.click()
    page.wait_for_url("**/patterns/*.html")
    page.go_back()
    expect(page.locator("#search .card")).to_have_count(72)
    expect(card).to_be_focused()
    assert card.get_attribute("href") == href
    assert page.evaluate("scrollY") == pytest.approx(top, abs=2)
    page.fill("#asked", "willow")
    expect(page.locator("#search .card")).to_have_count(24)
