"""The index behind the search page: plain scripts that a page opened from a disk can load.

A page opened from a folder may not fetch files, but it may add scripts. So the index is cut
into parts, each a script that hands its part to the page: a root with the facets and the
first term of each term shard; term shards with front-coded sorted terms and their postings;
a dictionary for words that are found nowhere; one part for each facet and each number; and
shards of short records. Below `BUNDLED_BELOW` records all parts lie in one file.

Words are folded here as the page folds what is typed. Postings are varints of
(distance from the record before << 3 | weight from 0 to 7), as base64. Sets of records are a
bitmap or, where that is shorter, such distances. What a part holds is documented at the
function that makes it.
"""

from __future__ import annotations

import base64
import json
import re
import unicodedata
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from archive.records import Entry
from archive.site.collected import Collected
from archive.site.index_coding import front_coded, packed, record_set, varints
from archive.site.links import NO_LEVEL, level_name, technique_path
from archive.vocabulary import Term, Terms, families, kinds, levels, rights, techniques
from archive.wording import fold

FORMAT = 1
BUNDLED_BELOW = 2000
TERM_SHARD_BYTES = 64_000
RECORDS_PER_SHARD = 256
UNKNOWN_NUMBER = 0
_WORD = re.compile(r"[^\W_]+")
_QUALIFIER = re.compile(r"\s*\([^)]*\)")

T = TypeVar("T", bound=Term)

_WEIGHTS = {
    "title": 7, "shelfmark": 7, "techniques": 6, "other titles": 5, "kind": 5, "families": 5,
    "designer": 5, "source": 3, "threads": 3, "notes": 1, "corrections": 1, "rest": 2,
}  # fmt: skip
"""How much a word counts by where it stands; chosen by looking at the answers."""


@dataclass(frozen=True)
class Facet:
    """A closed list to choose from. `values` are (id, name, number of the broader or -1, page)."""

    id: str
    values: tuple[tuple[str, str, int, str], ...]
    records: tuple[tuple[int, ...], ...]


def words_of(text: str) -> list[str]:
    """The folded words of a text, without marks that the page drops as well."""
    if text.isascii():  # most texts, and much faster
        return _WORD.findall(text.lower().replace("'", "").replace("`", ""))
    folded = fold(text)
    folded = "".join(mark for mark in folded if not unicodedata.category(mark).startswith("M"))
    return _WORD.findall(folded)


def search_files(collected: Collected) -> dict[str, bytes]:
    """The scripts of the index by their path in the site."""
    parts = list(_parts(collected))
    if len(collected.entries) < BUNDLED_BELOW:
        return {"data/all.js": b"".join(_script(name, part) for name, part in parts)}
    return {f"data/{name}.js": _script(name, part) for name, part in parts}


def _script(name: str, part: object) -> bytes:
    told = json.dumps(part, ensure_ascii=False, separators=(",", ":"))
    # Both would end a line or a script where the text of a record holds them.
    told = told.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029").replace("</", "<\\/")
    return f'takePart("{name}",{told});\n'.encode()


def _parts(collected: Collected) -> Iterator[tuple[str, object]]:
    entries = collected.entries
    shards = list(_term_shards(_postings(entries)))
    facets = [facet for facet in _facets(collected) if facet.values]
    numbers = _numbers(entries)
    yield (
        "root",
        {
            "format": FORMAT,
            "records": len(entries),
            "perShard": RECORDS_PER_SHARD,
            "firstTerms": [first for first, _, _ in shards],
            "facets": [
                {
                    "id": facet.id,
                    "values": [
                        [value_id, name, broader, page, len(records)]
                        for (value_id, name, broader, page), records in zip(
                            facet.values, facet.records, strict=True
                        )
                    ],
                }
                for facet in facets
            ],
            "numbers": {name: [max(column, default=0)] for name, column in numbers.items()},
            "names": list(_names(facets)),
        },
    )
    yield "words", _dictionary(shards)
    for place, (_, terms, postings) in enumerate(shards):
        yield f"terms{place}", [front_coded(terms), postings]
    for facet in facets:
        yield f"facet-{facet.id}", [record_set(found, len(entries)) for found in facet.records]
    for name, column in numbers.items():
        yield f"number-{name}", packed(column)
    for start in range(0, len(entries), RECORDS_PER_SHARD):
        yield (
            f"records{start // RECORDS_PER_SHARD}",
            [_record(collected, one) for one in entries[start : start + RECORDS_PER_SHARD]],
        )


def _texts(entry: Entry) -> Iterator[tuple[str, str]]:
    yield "title", entry.title
    yield "shelfmark", entry.shelfmark
    for title in entry.other_titles:
        yield "other titles", title
    for technique in entry.technique_ids:
        term = techniques()[technique]
        for name in (term.name, *term.also):
            yield "techniques", name
    if entry.kind:
        yield "kind", kinds()[entry.kind].name
    for family in entry.families:
        for term_id in families().with_broader(family):
            yield "families", families()[term_id].name
    yield "designer", entry.designer.name
    yield "source", entry.source.title
    for thread in entry.threads:
        yield "threads", f"{thread.label} {thread.fibre or ''}"
    for note in entry.working_notes:
        yield "notes", note.text
    for correction in entry.corrections:
        yield "corrections", f"{correction.fault} {correction.remedy}"
    yield "rest", f"{entry.period} {entry.material} {entry.difficulty.stated}"


def _postings(entries: Sequence[Entry]) -> dict[str, list[tuple[int, int]]]:
    """For each word the records that have it, with the weight of its best place."""
    found: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    for record, entry in enumerate(entries):
        weights: dict[str, int] = {}
        for place, text in _texts(entry):
            weight = _WEIGHTS[place]
            for word in words_of(text):
                if weights.get(word, -1) < weight:
                    weights[word] = weight
        for word, weight in weights.items():
            found[word].append((record, weight))
    return found


def _term_shards(
    postings: Mapping[str, list[tuple[int, int]]],
) -> Iterator[tuple[str, list[str], list[str]]]:
    """Terms and postings in sorted shards: (first term, terms, postings as base64)."""
    terms: list[str] = []
    coded: list[str] = []
    size = 0
    for term in sorted(postings):
        data = varints(_with_distances(postings[term]))
        terms.append(term)
        coded.append(base64.b64encode(data).decode())
        size += len(term) + len(coded[-1])
        if size > TERM_SHARD_BYTES:
            yield terms[0], terms, coded
            terms, coded, size = [], [], 0
    if terms:
        yield terms[0], terms, coded


def _with_distances(postings: Iterable[tuple[int, int]]) -> Iterator[int]:
    before = 0
    for record, weight in postings:
        yield (record - before) << 3 | weight
        before = record


def _dictionary(shards: Sequence[tuple[str, list[str], list[str]]]) -> str:
    """All words without figures in them, from which a mistyped word is guessed."""
    return front_coded(
        [
            term
            for _, terms, _ in shards
            for term in terms
            if len(term) > 2 and not any(sign.isdigit() for sign in term)
        ]
    )


def _numbers(entries: Sequence[Entry]) -> dict[str, list[int]]:
    """Columns to filter and sort by; 0 is not known. Lengths and wraps are in tenths."""
    titles = sorted(range(len(entries)), key=lambda one: (fold(entries[one].heading), one))
    ranks = [0] * len(entries)
    for rank, record in enumerate(titles):
        ranks[record] = rank
    wraps = [_wraps(entry) for entry in entries]
    return {
        "pairs": [entry.pairs.best or UNKNOWN_NUMBER for entry in entries],
        "width": [round(10 * (_width(entry) or 0)) for entry in entries],
        "wrapsfrom": [round(10 * low) for low, _ in wraps],
        "wrapsto": [round(10 * high) for _, high in wraps],
        "level": [entry.difficulty.level or UNKNOWN_NUMBER for entry in entries],
        "title": ranks,
    }


def _width(entry: Entry) -> float | None:
    measured = entry.measured.width_mm if entry.measured else None
    return entry.size.width_mm if entry.size.width_mm is not None else measured


def _wraps(entry: Entry) -> tuple[float, float]:
    """The range of wraps per cm that suits: as a thread states, else as the pins suggest."""
    stated = [thread.wraps_per_cm for thread in entry.threads if thread.wraps_per_cm]
    if stated:
        return min(stated), max(stated)
    found = entry.measured
    if found and found.wraps_per_cm_low is not None and found.wraps_per_cm_high is not None:
        return found.wraps_per_cm_low, found.wraps_per_cm_high
    return 0.0, 0.0


def _facets(collected: Collected) -> Iterator[Facet]:
    entries = collected.entries
    yield _term_facet("technique", techniques(), [entry.technique_ids for entry in entries],
                      technique_path)  # fmt: skip
    yield _term_facet("family", families(), [entry.families for entry in entries])
    yield _term_facet("kind", kinds(), [(entry.kind,) if entry.kind else () for entry in entries])
    grades = [str(entry.difficulty.level or NO_LEVEL) for entry in entries]
    yield _plain_facet(
        "level",
        [*((str(one.level), one.name) for one in levels()), (str(NO_LEVEL), level_name(NO_LEVEL))],
        grades,
    )
    yes_no = {True: "yes", False: "no", None: ""}
    answers = [("yes", "yes"), ("no", "no")]
    yield _plain_facet("gimp", answers, [yes_no[entry.has_gimp] for entry in entries])
    yield _plain_facet("corner", answers, [yes_no[entry.corner] for entry in entries])
    yield _plain_facet(
        "sheet", answers, ["yes" if entry.has_pricking else "no" for entry in entries]
    )
    yield _plain_facet(
        "copying",
        [
            ("free", "yes, on its terms"),
            ("ask", "ask the holder first"),
            ("open", "nobody has looked into it"),
        ],
        [_copying(entry) for entry in entries],
    )


def _copying(entry: Entry) -> str:
    """What the rights in design and pricking together say about copying the sheet."""
    found = [
        "no" if right is None else rights()[right.statement].pictures
        for right in (entry.rights.design, entry.rights.pricking)
    ]
    if "no" in found:
        return "open"
    return "ask" if "with_permission" in found else "free"


def _term_facet(
    facet_id: str,
    terms: Terms[T],
    used: Sequence[Sequence[str]],
    page: Callable[[str], str] = lambda _: "",
) -> Facet:
    """A facet over vocabulary terms; a broader term holds the records of its narrower ones."""
    found: defaultdict[str, list[int]] = defaultdict(list)
    for record, own in enumerate(used):
        for term_id in dict.fromkeys(above for one in own for above in terms.with_broader(one)):
            found[term_id].append(record)
    kept = sorted((term for term in terms if term.id in found), key=lambda term: fold(term.name))
    place = {term.id: number for number, term in enumerate(kept)}
    return Facet(
        facet_id,
        tuple(
            (
                term.id,
                term.name,
                place.get(term.broader or "", -1),
                page(term.id),
            )
            for term in kept
        ),
        tuple(tuple(found[term.id]) for term in kept),
    )


def _plain_facet(facet_id: str, values: Sequence[tuple[str, str]], own: Sequence[str]) -> Facet:
    found: defaultdict[str, list[int]] = defaultdict(list)
    for record, value in enumerate(own):
        found[value].append(record)
    kept = [(value, name) for value, name in values if value in found]
    return Facet(
        facet_id,
        tuple((value, name, -1, "") for value, name in kept),
        tuple(tuple(found[value]) for value, _ in kept),
    )


def _names(facets: Sequence[Facet]) -> Iterator[list[object]]:
    """What a technique, family or kind is called in any language.

    Each is [folded words, facet, number of the value, language, the name as written].
    """
    term_of: dict[str, Callable[[str], Term]] = {
        "technique": lambda term_id: techniques()[term_id],
        "family": lambda term_id: families()[term_id],
        "kind": lambda term_id: kinds()[term_id],
    }
    for facet in facets:
        if facet.id not in term_of:
            continue
        for place, (term_id, _, _, _) in enumerate(facet.values):
            told = set()
            for language, name in term_of[facet.id](term_id).names:
                words = " ".join(words_of(_QUALIFIER.sub("", name)))
                if words and words not in told:
                    told.add(words)
                    yield [words, facet.id, place, language, name]


def _record(collected: Collected, entry: Entry) -> list[object]:
    """A record as a result shows it.

    Path, shelfmark, title, kind, families, pairs, level, width, small picture, whether that is
    a stand-in, whether the sheet has corrections, names of techniques.
    """
    card = collected.card(entry)
    return [
        card.path.removeprefix("patterns/").removesuffix(".html"),
        card.shelfmark,
        card.title,
        card.kind,
        card.families,
        card.pairs,
        card.level,
        card.width,
        card.thumbnail.path.removeprefix("pictures/"),
        int(card.thumbnail.stand_in),
        int(card.corrected),
        [techniques()[one].name for one in dict.fromkeys(entry.technique_ids)],
    ]
