"""The index behind the search page: plain scripts that a page opened from a disk can load.

A page opened from a folder may not fetch files, but it may add scripts. So the index is cut
into parts, each a script that hands its part to the page, and none much larger than a page
can read at once. Below `BUNDLED_BELOW` records all parts lie in one file.

    root          the facets with their counts, what words each part begins with
    terms0 …      words and where they stand
    starts0 …     beginnings of words that very many records have, and where they stand
    words         all words, to guess a mistyped one from
    facet-kind-0 …   which records have each value of a facet
    number-pairs …   a column to filter and sort by
    records0 …    what a result shows of a record

What a part holds is documented at the function that makes it, how lists of numbers are written
in `index_coding`.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from archive.records import Entry
from archive.site.collected import Collected
from archive.site.index_coding import (
    Numbers,
    front_coded,
    packed,
    record_set,
    varint_lengths,
    weighted_sets,
)
from archive.site.links import NO_LEVEL, level_name, technique_path
from archive.site.postings import Postings, words_of
from archive.site.remembering import OfRecord
from archive.threads import estimate_wraps_per_cm, systems
from archive.vocabulary import Term, Terms, families, kinds, levels, rights, techniques
from archive.wording import fold

FORMAT = 2
BUNDLED_BELOW = 2000
PART_BYTES = 32_000
"""What a part of words, beginnings or a facet may hold before the next one begins."""
MANY_BYTES = 32_000
"""Where the words with one beginning fill more than this, the beginning gets a set of its own."""
LONGEST_START = 6
"""Letters of the longest beginning that gets one."""
RECORDS_PER_PART = 64
UNKNOWN_NUMBER = 0
_QUALIFIER = re.compile(r"\s*\([^)]*\)")

T = TypeVar("T", bound=Term)


class Part(NamedTuple):
    """A file of the index: its path, what it is made from, and how."""

    path: str
    made_from: str
    make: Callable[[], bytes]


class Value(NamedTuple):
    """One value of a facet; `broader` is the place of the broader one, or -1."""

    id: str
    name: str
    broader: int = -1
    page: str = ""


@dataclass(frozen=True)
class Facet:
    """A closed list to choose from, and for each value the records that have it."""

    id: str
    values: tuple[Value, ...]
    records: tuple[tuple[int, ...], ...]


def parts(collected: Collected, records: Sequence[OfRecord], postings: Postings) -> Iterator[Part]:
    """The scripts of the index; `records` are what was worked out of each, in shelf order."""
    lists = list(_parts(collected, postings))
    shown = [
        (f"records{start // RECORDS_PER_PART}", slice(start, start + RECORDS_PER_PART))
        for start in range(0, len(records), RECORDS_PER_PART)
    ]
    if len(records) < BUNDLED_BELOW:
        lists += [(name, _records(collected, own)) for name, own in shown]
        yield _part("all", b"".join(_script(name, part) for name, part in lists))
        return
    for name, part in lists:
        yield _part(name, _script(name, part))
    for name, own in shown:
        yield Part(
            f"data/{name}.js",
            "\n".join(record.card for record in records[own]),
            lambda name=name, own=own: _script(name, _records(collected, own)),  # type: ignore[misc]
        )


def _part(name: str, data: bytes) -> Part:
    return Part(f"data/{name}.js", hashlib.sha256(data).hexdigest(), lambda: data)


def _script(name: str, part: object) -> bytes:
    told = json.dumps(part, ensure_ascii=False, separators=(",", ":"))
    # Both would end a line or a script where the text of a record holds them.
    told = told.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029").replace("</", "<\\/")
    return f'takePart("{name}",{told});\n'.encode()


def _parts(collected: Collected, postings: Postings) -> Iterator[tuple[str, object]]:
    """All but the records, by name; the root is made last of all but comes first."""
    entries = collected.entries
    total = len(entries)
    lists: list[tuple[str, object]] = [("words", _dictionary(postings.terms))]
    terms = _shards(postings.terms, _coded(postings, postings.starts, total))
    lists += [(f"terms{n}", [front_coded(own), coded]) for n, (own, coded) in enumerate(terms)]
    many, sets = _starts(postings, total)
    starts = _shards(many, sets)
    lists += [(f"starts{n}", coded) for n, (_, coded) in enumerate(starts)]
    facets = [facet for facet in _facets(collected) if facet.values]
    told = []
    for facet in facets:
        sets = [record_set(np.array(found, np.int64), total) for found in facet.records]
        names = [value.id for value in facet.values]
        shards = _shards(names, sets)
        lists += [(f"facet-{facet.id}-{n}", coded) for n, (_, coded) in enumerate(shards)]
        values = [
            [value.id, value.name, value.broader, value.page, len(found)]
            for value, found in zip(facet.values, facet.records, strict=True)
        ]
        told.append({"id": facet.id, "values": values, "parts": [len(own) for own, _ in shards]})
    lists += [(f"number-{name}", packed(column)) for name, column in _numbers(entries).items()]
    root = {
        "format": FORMAT,
        "records": total,
        "perPart": RECORDS_PER_PART,
        "firstTerms": [own[0] for own, _ in terms],
        "starts": [" ".join(own) for own, _ in starts],
        "facets": told,
        "names": list(_names(facets)),
        "threads": _threads(),
    }
    yield "root", root
    yield from lists


def _shards(names: Sequence[str], coded: Sequence[str]) -> list[tuple[list[str], list[str]]]:
    """Names and what is coded of each, cut where a part is full."""
    shards: list[tuple[list[str], list[str]]] = []
    size = PART_BYTES
    for name, text in zip(names, coded, strict=True):
        if size + len(text) > PART_BYTES:
            shards.append(([], []))
            size = 0
        shards[-1][0].append(name)
        shards[-1][1].append(text)
        size += len(name) + len(text)
    return shards


def _coded(postings: Postings, starts: Numbers, total: int) -> list[str]:
    return list(
        weighted_sets(
            postings.record.astype(np.int64), postings.weight.astype(np.int64), starts, total
        )
    )


def _starts(postings: Postings, total: int) -> tuple[list[str], list[str]]:
    """Beginnings of words whose postings would be much to read, each with its own set.

    A record counts with its greatest weight. Beginnings of one word alone need no set.
    """
    found: dict[str, str] = {}
    bounds = postings.starts
    bytes_before = np.concatenate(([0], np.cumsum(varint_lengths(_steps(postings, bounds)))))[
        bounds
    ]
    for length in range(1, LONGEST_START + 1):
        first = 0
        while first < len(postings.terms):
            start = postings.terms[first][:length]
            behind = _behind(postings.terms, first, start)
            size = 4 * int(bytes_before[behind] - bytes_before[first]) // 3
            if behind > first + 1 and size > MANY_BYTES:
                own = slice(int(bounds[first]), int(bounds[behind]))
                found[start] = _union(postings.record[own], postings.weight[own], total)
            first = behind
    ordered = sorted(found)
    return ordered, [found[start] for start in ordered]


def _steps(postings: Postings, bounds: Numbers) -> Numbers:
    """The postings as a thin set would write them."""
    record = postings.record.astype(np.int64)
    apart = np.diff(record, prepend=0)
    begins = bounds[:-1]
    apart[begins] = record[begins]
    return np.asarray(apart << 3)


def _behind(terms: Sequence[str], first: int, start: str) -> int:
    """The place behind the last word that has this beginning, found by halving."""
    low, high = first + 1, len(terms)
    while low < high:
        middle = (low + high) // 2
        if terms[middle].startswith(start):
            low = middle + 1
        else:
            high = middle
    return low


def _union(record: NDArray[np.int32], weight: NDArray[np.uint8], total: int) -> str:
    best = np.zeros(total, dtype=np.int64)
    np.maximum.at(best, record, weight)
    records = np.flatnonzero(best)
    (coded,) = weighted_sets(records, best[records], np.array([0, len(records)]), total)
    return coded


def _dictionary(terms: Sequence[str]) -> str:
    """All words without figures in them, from which a mistyped word is guessed."""
    return front_coded(
        [term for term in terms if len(term) > 2 and not any(sign.isdigit() for sign in term)]
    )


def _threads() -> dict[str, object]:
    """How the page works out the wraps of a thread from its number."""
    of_one = estimate_wraps_per_cm(1)
    return {
        "systems": [
            [system.id, system.name, system.kind == "direct", system.tex_of_one]
            for system in systems()
        ],
        # Wraps per cm of a thread of 1 tex, by the root of which they fall: (likely, low, high).
        "wraps": [of_one.value, of_one.low, of_one.high],
    }


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
            Value(term.id, term.name, place.get(term.broader or "", -1), page(term.id))
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
        tuple(Value(value, name) for value, name in kept),
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
        for place, (term_id, *_) in enumerate(facet.values):
            told = set()
            for language, name in term_of[facet.id](term_id).names:
                words = " ".join(words_of(_QUALIFIER.sub("", name)))
                if words and words not in told:
                    told.add(words)
                    yield [words, facet.id, place, language, name]


def _records(collected: Collected, own: slice) -> list[list[object]]:
    return [_record(collected, entry) for entry in collected.entries[own]]


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
