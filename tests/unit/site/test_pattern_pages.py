from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

from archive.records import Entry
from archive.site.likeness import Likeness
from archive.site.pages import PatternPage
from archive.site.pattern_pages import NextPattern, PatternPages
from archive.site.pictures import PicturesOfPattern
from archive.threads import estimate_wraps_per_cm, linear_density_tex
from tests.integration.site.invented import collected, in_order, small_shelf


def _pages(entries: list[Entry], **told: Any) -> dict[str, PatternPage]:
    shelf = collected(entries)
    likeness = Likeness(shelf.patterns)
    pages = PatternPages(
        shelf,
        "The Dewpond Lacemakers",
        likeness.find_alike(),
        likeness.find_measured_alike(),
    )
    return {
        entry.shelfmark: pages.page(
            place, entry, PicturesOfPattern(), told.get("comes_next", {}).get(entry.shelfmark, [])
        )
        for place, entry in enumerate(in_order(entries))
    }


def _page(**told: Any) -> PatternPage:
    return _pages([Entry.model_validate({"shelfmark": "A 1", **told})])["A 1"]


def _fact(page: PatternPage, label: str) -> str:
    return next(fact.value for fact in (*page.needed, *page.shape) if fact.label == label).replace(
        "\u00a0", " "
    )


def test_what_is_not_known_is_said_to_be_not_known() -> None:
    page = _page()
    assert page.title == "Untitled"
    assert _fact(page, "Pairs") == _fact(page, "Thread") == _fact(page, "Width") == "not known"
    assert page.level_name == "not yet graded"
    assert page.compared == ()


def test_a_right_nobody_has_looked_into_is_told_as_protected() -> None:
    (right,) = _page().rights
    assert right.part == "The design, the working-up, the pricking and the photograph"
    assert "treat it as protected" in right.plain


def test_parts_with_the_same_right_are_told_together() -> None:
    page = _page(rights={"design": {"statement": "cc0"}, "pricking": {"statement": "cc0"}})
    assert [right.part for right in page.rights] == [
        "The design and the pricking",
        "The working-up and the photograph",
    ]


def test_a_letter_of_permission_is_told_without_its_number() -> None:
    right = {"statement": "inc", "holder": "B. Invented", "permission_letter": "letter-77"}
    page = _page(rights={"design": right})
    assert page.rights[0].by_permission
    assert "letter-77" not in repr(page)


def test_stated_pairs_outside_the_estimate_are_marked(tmp_path: Path) -> None:
    pages = _pages(small_shelf(tmp_path).entries)
    rows = {row.what: row for row in pages["B 2"].compared}
    assert rows["Pairs"].differs  # 18 stated, 19 to 22 estimated
    assert rows["Width"].differs  # 20 mm stated, 24 mm from pin to pin
    assert rows["Thread, wraps per cm"].differs  # 30 stated, 33 to 42 by the pins
    assert "(estimate)" in rows["Pairs"].measured
    assert rows["Pins in 10 cm of lace"].measured == "417"


def test_what_was_only_measured_is_told_once(tmp_path: Path) -> None:
    """Among the facts a maker looks for, and not again in the comparison with what is stated."""
    page = _pages(small_shelf(tmp_path).entries)["B 10"]
    assert {"Width", "One repeat"} <= {fact.label for fact in page.shape}
    (thread,) = [fact for fact in page.needed if fact.label == "Thread"]
    assert "33–42 wraps per cm (estimate)" in thread.note
    told = {row.what for row in page.compared}
    assert told.isdisjoint({"Width", "One repeat", "Thread, wraps per cm"})
    assert {"Angle of the ground", "Pinholes on the sheet", "Places to look at"} <= told


def test_the_shape_of_a_repeat_is_told_where_its_size_stands(tmp_path: Path) -> None:
    page = _pages(small_shelf(tmp_path).entries)["B 2"]
    labels = ["Width", "One repeat", "Symmetry", "Headside", "Corner"]
    assert [fact.label for fact in page.shape] == labels
    assert _fact(page, "Symmetry").startswith("mirrored across the lace")
    assert _fact(page, "Headside") == ("1 scallop in each repeat, with 9 pins outside the ground")
    assert {fact.note for fact in page.shape if fact.label in ("Symmetry", "Headside")} == {
        "measured on the sheet"
    }


def test_the_wraps_of_a_thread_are_estimated_only_where_they_are_not_stated() -> None:
    label = {"label": "linen NeL 80/2"}
    expected = estimate_wraps_per_cm(linear_density_tex(80, 2, "NeL"))
    (fact,) = [fact for fact in _page(threads=[label]).needed if fact.label == "Thread"]
    span = f"{expected.low:.0f}–{expected.high:.0f}"
    assert fact.note == f"{span} wraps per cm, estimated from its number"
    stated = _page(threads=[{**label, "wraps_per_cm": 30}]).needed
    assert [fact.note for fact in stated if fact.label == "Thread"] == [""]


def test_a_mat_tells_its_like_parts() -> None:
    page = _page(measured={"sha256": "0" * 64, "analyser": "1", "pins": 96, "like_parts": 8})
    assert _fact(page, "About its centre") == "8 like parts"


def test_a_relation_is_told_on_both_pages(tmp_path: Path) -> None:
    pages = _pages(small_shelf(tmp_path).entries)
    assert [words for words, _ in pages["B 2"].related] == ["Its companion insertion"]
    assert [words for words, _ in pages["B 10"].related] == ["Companion to"]


def test_a_copy_warns_of_the_corrections_of_the_other_sheet() -> None:
    faulty = {"shelfmark": "A 1", "corrections": [{"fault": "A pin too many."}]}
    others = [
        {"shelfmark": "A 2", "related": [{"kind": "copy of", "shelfmark": "A 1"}]},
        {"shelfmark": "A 3", "related": [{"kind": "see also", "shelfmark": "A 1"}]},
    ]
    pages = _pages([Entry.model_validate(told) for told in (faulty, *others)])
    assert [link.note for _, link in pages["A 2"].related] == [
        "has corrections: look whether they hold here too"
    ]
    assert [link.note for page in ("A 1", "A 3") for _, link in pages[page].related] == [""] * 3


def test_a_relation_to_a_sheet_that_is_not_there_is_words_without_a_link() -> None:
    page = _page(related=[{"kind": "copy of", "shelfmark": "Lost 9"}])
    ((_, link),) = page.related
    assert (link.words, link.path) == ("Lost 9", "")


def test_what_to_know_first_leaves_out_what_the_pattern_itself_uses() -> None:
    page = _page(
        techniques=[
            {"technique": "honeycomb_ground"},
            {"technique": "point_ground"},
            {"technique": "mayflower", "role": "optional"},
        ]
    )
    assert [link.words for link in page.know_first] == ["half stitch", "closing the pin"]


def test_what_comes_next_says_what_is_new(tmp_path: Path) -> None:
    told = {"B 2": [NextPattern("B 10", ("gimp", "honeycomb_ground")), NextPattern("T 1")]}
    pages = _pages(small_shelf(tmp_path).entries, comes_next=told)
    assert [link.note for link in pages["B 2"].comes_next] == [
        "new: gimp and honeycomb",
        "nothing new, more practice",
    ]


def test_a_page_says_how_to_cite_its_pattern(tmp_path: Path) -> None:
    assert _pages(small_shelf(tmp_path).entries)["B 2"].cite == (
        "A. Invented, “Dewpond Edge”, Leaves of a Notebook, p. 12. The Dewpond Lacemakers"
    )


def test_neighbours_on_the_shelf_lead_to_one_another(tmp_path: Path) -> None:
    pages = list(_pages(small_shelf(tmp_path).entries).values())
    assert pages[0].previous is None
    assert pages[-1].following is None
    for before, after in pairwise(pages):
        assert before.following is not None
        assert before.following.path == after.path
        assert after.previous is not None
        assert after.previous.path == before.path


def test_no_internal_field_has_a_place_on_a_page() -> None:
    """The page's own fields are the whitelist; none of them is an internal one."""
    names = set(PatternPage._fields)
    assert not names & {"internal", "unparsed", "condition", "donor", "location", "valuation"}


def test_what_makes_others_alike_is_said_beside_them(tmp_path: Path) -> None:
    entries = small_shelf(tmp_path).entries
    twin = entries[0].model_copy(update={"shelfmark": "B 3"})
    page = _pages([*entries, twin])["B 2"]
    assert page.alike[0].card.shelfmark == page.measured_alike[0].card.shelfmark == "B 3"
    assert page.alike[0].note == "shares honeycomb ring, point ground and picot"
    assert page.net == page.measured_alike[0].note == "60°, pins 2.4\u00a0mm apart"
