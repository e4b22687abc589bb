"""The catalogue's search beside Whoosh as it comes, on 10,000 made-up records of 80 words.

Goals: the index is built in at most half the time of Whoosh's defaults, and facets are counted
in at most a tenth of the time of Whoosh's own. Totals and counts of both must be equal.
Run: python -m benchmarks.searching
"""

from __future__ import annotations

import random
import statistics
import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple

from whoosh import fields, index
from whoosh.qparser import MultifieldParser
from whoosh.query import Term
from whoosh.searching import Searcher
from whoosh.sorting import FieldFacet

from archive.records import Entry
from archive.search import Index, Question, build_index, open_index
from archive.vocabulary import families, kinds, techniques
from archive.wording import fold

RECORDS = 10_000
ROUNDS = 11
FACETS = ("technique", "family", "kind", "level")

SCHEMA = fields.Schema(
    shelfmark=fields.ID(stored=True),
    title=fields.TEXT(stored=True),
    designer=fields.TEXT,
    source=fields.TEXT,
    notes=fields.TEXT,
    corrections=fields.TEXT,
    names=fields.TEXT,
    technique=fields.KEYWORD(stored=True, commas=True),
    family=fields.KEYWORD(stored=True, commas=True),
    kind=fields.KEYWORD(commas=True),
    level=fields.KEYWORD(stored=True),
    pairs=fields.NUMERIC(stored=True, sortable=True),
    width=fields.NUMERIC(float, sortable=True),
)
TEXT_FIELDS = ["shelfmark", "title", "designer", "source", "notes", "corrections", "names"]


def records(lot: random.Random) -> list[Entry]:
    """Records of made-up words, a few of them frequent and most of them rare."""
    syllables = [consonant + vowel for consonant in "bdfgklmnprtvw" for vowel in "aeiou"]
    lexicon = list({"".join(lot.choices(syllables, k=lot.randint(2, 4))): 0 for _ in range(6000)})
    weights = [1 / (rank + 1) for rank in range(len(lexicon))]

    def words(count: int) -> str:
        return " ".join(lot.choices(lexicon, weights, k=count))

    ids = [[term.id for term in terms()] for terms in (techniques, families, kinds)]
    return [
        Entry.model_validate(
            {
                "shelfmark": f"P {number}",
                "title": words(4),
                "designer": {"status": "named", "name": words(2)},
                "source": {"title": words(4)},
                "working_notes": [{"text": words(45)}],
                "corrections": [{"fault": words(15), "remedy": words(10)}],
                "techniques": [{"technique": one} for one in lot.sample(ids[0], 4)],
                "families": [lot.choice(ids[1])],
                "kind": lot.choice(ids[2]),
                "pairs": {"stated": {"most": lot.randint(4, 80)}},
                "difficulty": {"level": lot.randint(1, 5)},
                "size": {"width_mm": lot.randint(8, 200)},
            }
        )
        for number in range(RECORDS)
    ]


def documents(entries: list[Entry]) -> Iterator[dict[str, Any]]:
    """The same records as Whoosh is given them, broader terms and other names included."""
    for entry in entries:
        ids = {
            group: {up for one in used for up in terms.with_broader(one)}
            for group, terms, used in (
                ("technique", techniques(), entry.technique_ids),
                ("family", families(), entry.families),
                ("kind", kinds(), [entry.kind]),
            )
        }
        ids["technique"] |= {"gimp"} if entry.has_gimp else set()
        names = [
            name
            for group, terms in (
                ("technique", techniques()),
                ("family", families()),
                ("kind", kinds()),
            )
            for one in sorted(ids[group])
            for _, name in terms[one].names
        ]
        yield {
            "shelfmark": entry.shelfmark,
            "title": entry.title,
            "designer": entry.designer.name,
            "source": entry.source.title,
            "notes": " ".join(note.text for note in entry.working_notes),
            "corrections": " ".join(f"{one.fault} {one.remedy}" for one in entry.corrections),
            "names": fold(" ".join(names)),  # Whoosh's own analyser keeps accents
            **{group: ",".join(sorted(used)) for group, used in ids.items()},
            "level": str(entry.difficulty.level),
            "pairs": entry.pairs.best,
            "width": entry.size.width_mm,
        }


def build_with_whoosh(folder: Path, entries: list[Entry], **options: Any) -> index.FileIndex:
    """An index as Whoosh writes it."""
    folder.mkdir()
    made = index.create_in(folder, SCHEMA)
    writer = made.writer(**options)
    for document in documents(entries):
        writer.add_document(**document)
    writer.commit()
    return made


class Spent(NamedTuple):
    """What doing something took; processor time is not disturbed by other programs."""

    wall_s: float
    processor_s: float


def spent(action: Callable[[], object]) -> Spent:
    """The time it takes to do something once."""
    begun = time.perf_counter(), time.process_time()
    action()
    return Spent(time.perf_counter() - begun[0], time.process_time() - begun[1])


def median_ms(action: Callable[[], object]) -> float:
    """The median processor time of doing something again and again, after a first time."""
    action()
    return 1000 * statistics.median(spent(action).processor_s for _ in range(ROUNDS))


def size_mb(folder: Path) -> float:
    """What a folder takes on the disk."""
    return sum(file.stat().st_size for file in folder.iterdir()) / 1e6


def compare_building(entries: list[Entry], folder: Path) -> None:
    """Print how long building takes; leaves both indexes in `folder`."""
    theirs = spent(lambda: build_with_whoosh(folder / "whoosh", entries))
    two = {"procs": 2, "multisegment": True, "limitmb": 256}
    both = spent(lambda: build_with_whoosh(folder / "two", entries, **two))
    ours = spent(lambda: build_index(folder / "ours", entries, state="now"))
    print("build                    wall s  processor s     MB")
    for name, took, made in (
        ("Whoosh's defaults", theirs, "whoosh"),
        ("Whoosh, two processes", both, "two"),
        ("ours, one process", ours, "ours"),
    ):
        processor = "-" if took is both else f"{took.processor_s:.2f}"  # of its parent alone
        print(f"{name:23} {took.wall_s:7.2f} {processor:>12} {size_mb(folder / made):6.1f}")
    ratio = ours.processor_s / theirs.processor_s
    print(f"ratio of processor time, ours to Whoosh's defaults: {ratio:.2f} (goal: at most 0.5)\n")


def compare_words(ours: Index, theirs: Searcher, words: list[str]) -> None:
    """Print how long the first ten hits take; both must find as many records."""
    parser = MultifieldParser(TEXT_FIELDS, SCHEMA)
    for name, asked in (
        ("a word", words[0]),
        ("two words", f"{words[0]} {words[1]}"),
        ("a beginning", f"{words[2][:3]}*"),
    ):
        question = Question(words=asked.rstrip("*"), limit=10)
        query = parser.parse(asked)
        if not asked.endswith("*"):  # our last word may always be the beginning of one
            *whole, last = asked.split()
            query = parser.parse(" ".join([*whole, f"({last} OR {last}*)"]))
        total = ours.ask(question).total
        assert total == len(theirs.search(query, limit=None)), asked
        their_ms = median_ms(lambda query=query: theirs.search(query, limit=10))
        our_ms = median_ms(lambda question=question: ours.ask(question))
        print(f"{name:12} {total:6} found: Whoosh {their_ms:6.1f} ms, ours {our_ms:6.1f} ms")


def compare_facets(ours: Index, theirs: Searcher) -> None:
    """Print how long counting takes; both must count the same."""
    question = Question(techniques=("ground",), limit=10)
    query = Term("technique", "ground")
    grouped = {name: FieldFacet(name, allow_overlap=True) for name in FACETS}
    facets = ours.ask(question, facets=True).facets or {}
    groups = theirs.search(query, limit=None, groupedby=grouped)
    counts = {name: Counter({one: n for one, _, n in facets[name]}) for name in FACETS}
    for name in FACETS:
        expected = {one: len(found) for one, found in groups.groups(name).items() if one}
        assert counts[name] == expected, name
    their_ms = median_ms(lambda: theirs.search(query, limit=None, groupedby=grouped)) - median_ms(
        lambda: theirs.search(query, limit=None)
    )
    our_ms = median_ms(lambda: ours.ask(question, facets=True))
    number = sum(len(counted) for counted in counts.values())
    print(f"{number} facet counts: Whoosh {their_ms:.2f} ms, without finding the records;")
    print(f"ours {our_ms:.2f} ms, finding {sum(counts['level'].values())} records included")
    print(f"ratio, ours to Whoosh's: {our_ms / their_ms:.2f} (goal: at most 0.1)\n")


def ask_once(folder: Path, word: str) -> None:
    """What one run of `prickings find` asks of the index."""
    with open_index(folder, state="now") as ours:
        ours.ask(Question(words=word, limit=10))


def main() -> None:
    """Build both indexes, ask both the same and print the ratios."""
    entries = records(random.Random(1))
    often = Counter(word for entry in entries for word in entry.title.casefold().split())
    words = [word for word, _ in often.most_common()][9::10]
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        compare_building(entries, folder)
        with (
            open_index(folder / "ours", state="now") as ours,
            index.open_dir(folder / "whoosh").searcher() as theirs,
        ):
            compare_words(ours, theirs, words)
            compare_facets(ours, theirs)
        first = median_ms(lambda: ask_once(folder / "ours", words[0]))
        print(f"open the index and ask one question: {first:.0f} ms")


if __name__ == "__main__":
    main()
