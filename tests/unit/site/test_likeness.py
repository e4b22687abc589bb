from __future__ import annotations

from archive.records import Entry
from archive.site.likeness import find_alike


def _entry(mark: str, *techniques: str, pairs: int | None = None) -> Entry:
    return Entry.model_validate(
        {
            "shelfmark": mark,
            "techniques": [{"technique": one} for one in techniques],
            "pairs": {"stated": {"start": pairs}} if pairs else {},
        }
    )


def test_the_same_techniques_are_more_alike_than_some_of_them() -> None:
    entries = [
        _entry("A", "gimp", "picot", "honeycomb_ground"),
        _entry("B", "gimp", "picot", "honeycomb_ground"),
        _entry("C", "gimp", "picot"),
        _entry("D", "plait"),
    ]
    assert find_alike(entries)["A"] == ("B", "C")


def test_of_two_with_the_same_techniques_the_one_with_nearer_pairs_comes_first() -> None:
    entries = [
        _entry("A", "gimp", pairs=20),
        _entry("B", "gimp", pairs=80),
        _entry("C", "gimp", pairs=22),
    ]
    assert find_alike(entries)["A"] == ("C", "B")


def test_nothing_is_like_a_pattern_without_techniques() -> None:
    found = find_alike([_entry("A"), _entry("B"), _entry("C", "gimp")])
    assert found == {"A": (), "B": (), "C": ()}


def test_an_empty_collection_has_no_likenesses() -> None:
    assert find_alike([]) == {}
