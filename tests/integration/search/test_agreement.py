"""The index agrees with the records, and its totals with a general-purpose search engine."""

import random
import re
import sqlite3
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from archive.records import Entry
from archive.search import Question, Range
from archive.vocabulary import families, kinds, techniques
from archive.wording import fold
from tests.integration.search.conftest import Ask, Indexed
from tests.strategies import attachments, patterns

# Few values, so that questions often meet records; broader and narrower ones among them.
TECHNIQUES = ("ground", "honeycomb_ground", "honeycomb_ring", "gimp", "paired_gimps", "picot")
FAMILIES = ("point_ground", "bucks", "torchon")
KINDS = ("edging", "corner_edging", "mat")
WORDS = ("fern", "ferns", "fernery", "Føhn", "rose", "c")
PLACES = ("box 1", "box 12", "Box 1, shelf 2", "")

texts = st.lists(st.sampled_from(WORDS), max_size=3).map(" ".join)
few_numbers = st.none() | st.integers(1, 6)


def some(values: tuple[str, ...]) -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(values), max_size=2).map(tuple)


@st.composite
def entries(draw: st.DrawFn) -> list[Entry]:
    """Some records, each of which says or leaves open every figure."""
    return [
        Entry.model_validate(
            {
                "shelfmark": f"N {number}",
                "title": draw(texts),
                "working_notes": [{"text": draw(texts)}],
                "techniques": [{"technique": one} for one in draw(some(TECHNIQUES))],
                "families": draw(some(FAMILIES)),
                "kind": draw(st.none() | st.sampled_from(KINDS)),
                "pairs": {"stated": {"most": draw(few_numbers)}},
                "difficulty": {"level": draw(st.none() | st.integers(1, 5))},
                "size": {"width_mm": draw(few_numbers)},
                "gimps": draw(st.none() | st.fixed_dictionaries({"singles": st.integers(0, 1)})),
                "corner": draw(st.none() | st.booleans()),
                "threads": [{"label": "x", "wraps_per_cm": draw(few_numbers)}],
                "internal": {"location": draw(st.sampled_from(PLACES))},
                "attachments": draw(st.lists(attachments(), max_size=1)),
            }
        )
        for number in range(draw(st.integers(0, 8)))
    ]


ranges = st.none() | st.tuples(few_numbers, few_numbers).map(lambda ends: Range(*ends))
questions = st.builds(
    Question,
    words=st.lists(st.sampled_from((*WORDS, "fer", "FOHN", "missing")), max_size=2).map(" ".join),
    techniques=some(TECHNIQUES),
    any_techniques=some(TECHNIQUES),
    without_techniques=some(TECHNIQUES),
    families=some(FAMILIES),
    kinds=some(KINDS),
    pairs=ranges,
    wraps=ranges,
    difficulty=ranges,
    width_mm=ranges,
    corner=st.none() | st.booleans(),
    gimp=st.none() | st.booleans(),
    with_pricking=st.none() | st.booleans(),
    place=st.sampled_from((*PLACES, "shelf 2")),
)


def within(asked: Range | None, value: float | None) -> bool:
    """Whether a figure lies in a range, read off record by record."""
    if asked is None:
        return True
    if value is None:
        return False
    return (asked.low is None or asked.low <= value) and (asked.high is None or value <= asked.high)


def uses(entry: Entry, technique: str) -> bool:
    """Whether a record says that it uses a technique or a narrower one."""
    if technique == "gimp" and entry.has_gimp:
        return True
    return any(technique in techniques().with_broader(one) for one in entry.technique_ids)


def stands(entry: Entry, word: str, *, last: bool) -> bool:
    """Whether a folded word stands in the title or the notes, or in the name of a term."""
    names = [entry.title, *(note.text for note in entry.working_notes), entry.shelfmark]
    used = [*entry.technique_ids, *(["gimp"] if entry.has_gimp else [])]
    for terms, ids in (
        (techniques(), used),
        (families(), entry.families),
        (kinds(), [entry.kind] if entry.kind else []),
    ):
        for broader in {up for one in ids for up in terms.with_broader(one)}:
            names += [name for _, name in terms[broader].names]
    names += [thread.label for thread in entry.threads]
    found = {part for name in names for part in re.findall(r"\w+", fold(name))}
    same = {"fern": "ferns", "ferns": "fern"}.get(word, word)
    return bool({word, same} & found) or (
        last and len(word) > 1 and any(part.startswith(word) for part in found)
    )


def meets(entry: Entry, question: Question) -> bool:
    """Whether a record meets a question, by looking at that record alone."""
    words = [fold(word) for word in question.words.split()]
    corner = True if entry.corner is None and entry.kind == "corner_edging" else entry.corner
    wraps = [thread.wraps_per_cm for thread in entry.threads]
    place = fold(question.place)
    return all(
        (
            all(
                stands(entry, word, last=word == words[-1] and words.count(word) == 1)
                for word in words
            ),
            all(uses(entry, one) for one in question.techniques),
            not question.any_techniques or any(uses(entry, o) for o in question.any_techniques),
            not any(uses(entry, one) for one in question.without_techniques),
            not question.families
            or any(
                one in families().with_broader(family)
                for one in question.families
                for family in entry.families
            ),
            not question.kinds
            or (
                entry.kind is not None
                and not set(question.kinds).isdisjoint(kinds().with_broader(entry.kind))
            ),
            within(question.pairs, entry.pairs.best),
            any(within(question.wraps, one) for one in wraps),
            within(question.difficulty, entry.difficulty.level),
            within(question.width_mm, entry.size.width_mm),
            question.corner in (None, corner),
            question.gimp in (None, entry.has_gimp),
            question.with_pricking in (None, entry.has_pricking),
            not place or re.search(rf"\b{place}\b", fold(entry.internal.location)) is not None,
        )
    )


@settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow])
@given(entries(), questions)
def test_the_index_finds_what_a_look_at_every_record_finds(
    ask: Ask, records: list[Entry], question: Question
) -> None:
    answer = ask(records, **vars(question))
    expected = [entry.shelfmark for entry in records if meets(entry, question)]
    assert sorted(hit.shelfmark for hit in answer.hits) == expected
    assert answer.total == len(expected)


@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(entries(), questions)
def test_the_number_beside_a_choice_is_the_total_when_it_is_chosen(
    indexed: Indexed, records: list[Entry], question: Question
) -> None:
    index = indexed(records)
    facets = index.ask(question, facets=True).facets
    assert facets is not None
    for group, choose in CHOICES.items():
        counted = {choice: count for choice, _, count in facets[group]}
        for choice in CHOICE_IDS[group]:
            total = index.ask(replace(question, **choose(choice, question))).total
            assert total == counted.get(choice, 0), (group, choice)


CHOICES: dict[str, Any] = {
    "technique": lambda one, question: {"techniques": (*question.techniques, one)},
    "family": lambda one, _: {"families": (one,)},
    "kind": lambda one, _: {"kinds": (one,)},
    "level": lambda one, _: {"difficulty": Range(int(one), int(one))},
    "pairs": lambda _, __: {"pairs": Range(None, 10)},
    "corner": lambda one, _: {"corner": one == "yes"},
    "gimp": lambda one, _: {"gimp": one == "yes"},
    "pricking": lambda one, _: {"with_pricking": one == "yes"},
}
CHOICE_IDS: dict[str, Iterable[str]] = {
    "technique": TECHNIQUES,
    "family": FAMILIES,
    "kind": KINDS,
    "level": "135",
    "pairs": ["-10"],
    "corner": ["yes", "no"],
    "gimp": ["yes", "no"],
    "pricking": ["yes", "no"],
}


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(patterns(), max_size=3, unique_by=lambda one: one.shelfmark))
def test_any_valid_record_can_be_indexed_and_is_found_by_its_title(
    ask: Ask, records: list[Any]
) -> None:
    indexed = [Entry.model_validate(one.model_dump()) for one in records]
    assert {hit.shelfmark for hit in ask(indexed).hits} == {one.shelfmark for one in indexed}
    for entry in indexed:
        if re.search(r"\w", fold(entry.title)):
            found = ask(indexed, words=entry.title, limit=None)
            assert entry.shelfmark in {hit.shelfmark for hit in found.hits}


def test_totals_of_words_equal_those_of_sqlite_fts5(indexed: Indexed) -> None:
    """SQLite's FTS5 with its unicode61 tokenizer, a general-purpose reference.

    The made-up words end in a vowel, so that none is the plural of another.
    """
    lot = random.Random(7)
    syllables = [consonant + vowel for consonant in "bdgklmnprt" for vowel in "aeiouéüñ"]
    lexicon = ["".join(lot.choices(syllables, k=lot.randint(1, 3))) for _ in range(300)]
    rows = [
        (" ".join(lot.choices(lexicon, k=3)), " ".join(lot.choices(lexicon, k=25)))
        for _ in range(400)
    ]
    records = [
        Entry.model_validate(
            {"shelfmark": f"9{number}", "title": title, "working_notes": [{"text": notes}]}
        )
        for number, (title, notes) in enumerate(rows)
    ]
    database = sqlite3.connect(":memory:")
    database.execute(
        "CREATE VIRTUAL TABLE sheet USING fts5(title, notes,"
        " tokenize = 'unicode61 remove_diacritics 2')"
    )
    database.executemany("INSERT INTO sheet VALUES (?, ?)", rows)

    def total_of_fts5(query: str) -> int:
        found = database.execute("SELECT count(*) FROM sheet WHERE sheet MATCH ?", (query,))
        return int(found.fetchone()[0])

    index = indexed(records)
    for first, last in (lot.sample(lexicon, 2) for _ in range(40)):
        for words, query in (
            (f"{first} {first}", f'"{first}"'),
            (
                f"{first} {last}",
                f'"{first}" "{last}" *' if len(last) > 1 else f'"{first}" "{last}"',
            ),
            (last[:2], f'"{last[:2]}" *'),
        ):
            assert index.ask(Question(words=words)).total == total_of_fts5(query), words
    database.close()
