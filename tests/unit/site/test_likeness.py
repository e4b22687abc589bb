from __future__ import annotations

import math
import random
from collections import Counter

from archive.records import Entry
from archive.site.likeness import BLOCK, CONSIDERED, Likeness


def find_alike(entries: list[Entry]) -> dict[str, tuple[str, ...]]:
    """The shelfmarks like each one."""
    return {
        entry.shelfmark: tuple(entries[other].shelfmark for other in others if other >= 0)
        for entry, others in zip(entries, Likeness(entries).find_alike().tolist(), strict=True)
    }


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


def test_in_a_large_collection_the_most_alike_are_those_of_the_plain_formula() -> None:
    """The quick way looks at few of the pairs; it must find what looking at all of them finds."""
    chance = random.Random(5)
    used = ["gimp", "picot", "plait", "spider", "tally", "point_ground", "honeycomb_ground"]
    entries = [
        _entry(f"S {n}", *chance.sample(used, chance.randint(0, 4)), pairs=chance.randint(6, 40))
        for n in range(3 * BLOCK + 7)
    ]
    often = Counter(one for entry in entries for one in entry.technique_ids)
    rarity = {one: math.log(1 + len(entries) / count) for one, count in often.items()}
    length = [math.sqrt(sum(rarity[t] ** 2 for t in e.technique_ids)) for e in entries]
    found = find_alike(entries)
    for row in range(0, len(entries), 37):
        entry = entries[row]
        near = []
        for place, other in enumerate(entries):
            shared = set(entry.technique_ids) & set(other.technique_ids)
            if shared:
                cosine = sum(rarity[t] ** 2 for t in shared) / length[row] / length[place]
                near.append((-round(cosine, 4), place))
        ranked = []
        for minus, place in sorted(near)[:CONSIDERED]:
            few, many = sorted((entry.pairs.best or 0, entries[place].pairs.best or 0))
            if place != row and -minus > 0.35:
                ranked.append((round(minus - 0.1 * few / many, 6), place))
        likest = tuple(entries[place].shelfmark for _, place in sorted(ranked)[:4])
        assert found[entry.shelfmark] == likest
