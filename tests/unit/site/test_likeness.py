from __future__ import annotations

import math
import random
from collections import Counter

from archive.records import Entry
from archive.site.likeness import BLOCK, CONSIDERED, Likeness
from archive.site.shelved import shelve


def _likeness(entries: list[Entry]) -> Likeness:
    return Likeness([shelve(entry, "") for entry in entries])


def find_alike(entries: list[Entry]) -> dict[str, tuple[str, ...]]:
    """The shelfmarks like each one."""
    return {
        entry.shelfmark: tuple(entries[other].shelfmark for other in others if other >= 0)
        for entry, others in zip(entries, _likeness(entries).find_alike().tolist(), strict=True)
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


def _measured(mark: str, angle: float, pitch: float, width: float, repeat: float | None) -> Entry:
    figures = {
        "sha256": "0" * 64,
        "analyser": "1",
        "pins": 100,
        "ground_angle_deg": angle,
        "foot_pitch_mm": pitch,
        "width_mm": width,
        "repeat_mm": repeat,
    }
    return Entry.model_validate({"shelfmark": mark, "measured": figures})


def find_measured_alike(entries: list[Entry]) -> dict[str, tuple[str, ...]]:
    """The shelfmarks of the sheets that measure nearly as each one."""
    found = _likeness(entries).find_measured_alike().tolist()
    return {
        entry.shelfmark: tuple(entries[other].shelfmark for other in others if other >= 0)
        for entry, others in zip(entries, found, strict=True)
    }


def test_sheets_with_nearly_the_same_net_are_alike_the_nearest_first() -> None:
    entries = [
        _measured("A", 60, 2.4, 28, 15),
        _measured("another angle", 56, 2.4, 28, 15),
        _measured("near", 60.5, 2.45, 30, 16),
        _measured("nearer", 60.2, 2.4, 28, 15),
        _measured("coarser", 60, 3.0, 28, 15),
        _measured("much wider", 60, 2.4, 60, 15),
        _measured("without a repeat", 60, 2.4, 28, None),
        Entry.model_validate({"shelfmark": "not measured"}),
    ]
    found = find_measured_alike(entries)
    assert found["A"] == ("nearer", "near", "without a repeat")
    assert found["not measured"] == ()
    assert "A" in found["nearer"]


def test_a_net_without_a_known_scale_is_like_no_other() -> None:
    entries = [_measured("A", 60, 2.4, 28, 15), _measured("B", 60, 2.4, 28, 15)]
    unscaled = entries[1].model_dump()
    unscaled["measured"].update(foot_pitch_mm=None, width_mm=None, repeat_mm=None)
    assert find_measured_alike([entries[0], Entry.model_validate(unscaled)])["A"] == ()


def test_of_many_sheets_the_nearest_are_those_of_the_plain_formula() -> None:
    chance = random.Random(11)
    entries = [
        _measured(f"S {n}", chance.uniform(44, 66), chance.uniform(2, 4), chance.uniform(15, 60),
                  chance.choice([None, chance.uniform(8, 40)]))
        for n in range(2 * BLOCK + 40)
    ]  # fmt: skip

    def far(one: Entry, other: Entry) -> float:
        a, b = one.measured, other.measured
        assert a is not None
        assert b is not None
        parts = [
            abs((a.ground_angle_deg or 0) - (b.ground_angle_deg or 0)) / 2,
            abs(math.log((a.foot_pitch_mm or 1) / (b.foot_pitch_mm or 1))) / math.log(1.08),
            abs(math.log((a.width_mm or 1) / (b.width_mm or 1))) / math.log(1.5),
        ]
        repeats = 1.0
        if a.repeat_mm and b.repeat_mm:
            repeats = min(1.0, abs(math.log(a.repeat_mm / b.repeat_mm)) / math.log(1.5))
        return sum(parts) + repeats if max(parts) <= 1 else math.inf

    found = find_measured_alike(entries)
    for entry in entries:
        ranked = sorted(
            (far(entry, other), n) for n, other in enumerate(entries) if other is not entry
        )
        nearest = tuple(entries[n].shelfmark for distance, n in ranked[:4] if distance < math.inf)
        assert found[entry.shelfmark] == nearest
