"""The index behind the search page: plain scripts that a page opened from a disk can load.

A page opened from a folder may not fetch files, but it may add scripts. So the index is cut
into parts, each a script that hands its part to the page, and none much larger than a page
can read at once. Below `BUNDLED_BELOW` records all parts lie in one file.

    root          the facets with their counts, what words each part begins with
    terms0 …      words and where they stand
    starts0 …     beginnings of words that very many records have, and where they stand
    words0 …      all words, and from the back ends0 …, to guess a mistyped one from
    facet-kind-0 …   which records have each value of a facet
    number-pairs …   a column to filter and sort by
    titles0 …     the records in the order of their titles; number-title says in which part
    records0 …    what a result shows of a record

What a part holds is documented at the function that makes it, how lists of numbers are written
in `index_coding`.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from archive.site.collected import Collected
from archive.site.facets import facets_of, names_of
from archive.site.index_coding import front_coded, packed, record_set, weighted_sets
from archive.site.postings import Postings
from archive.site.remembering import OfRecord
from archive.site.shelved import Shelved
from archive.threads import estimate_wraps_per_cm, fibres, systems
from archive.vocabulary import techniques
from archive.wording import fold

FORMAT = 4
BUNDLED_BELOW = 400
"""Up to here the whole index is less than the 300 kB that a first answer may read."""
PART_BYTES = 32_000
"""What a part of words, beginnings or a facet may hold before the next one begins."""
MANY_BYTES = 64_000
"""Where the words with one beginning fill more than this, the beginning gets a set of its own."""
LONGEST_START = 6
"""Letters of the longest beginning that gets one."""
RECORDS_PER_PART = 48
"""Each of the first results may lie in another part: with 64 records in one, 100,000 patterns
sorted by width read 306 kB before the first result, of the 300 that they may."""
TITLES_PER_PART = 1024
"""Places of the order of titles in one part: to see the first results, few parts are read."""
UNKNOWN_NUMBER = 0


class Part(NamedTuple):
    """A file of the index: its path, what it is made from, and how."""

    path: str
    made_from: str
    make: Callable[[], bytes]


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
            "\n".join([record.listed for record in records[own]]),
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
    patterns = collected.patterns
    total = len(patterns)
    lists: list[tuple[str, object]] = []
    words = _dictionary(postings.terms)
    ends = _dictionary([term[::-1] for term in postings.terms])
    lists += [(f"words{n}", front_coded(own)) for n, own in enumerate(words)]
    lists += [(f"ends{n}", front_coded(own)) for n, own in enumerate(ends)]
    written = _coded(postings, total)
    terms = _shards(postings.terms, written)
    lists += [(f"terms{n}", [front_coded(own), coded]) for n, (own, coded) in enumerate(terms)]
    many, sets = _starts(postings, written, total)
    starts = _shards(many, sets)
    lists += [(f"starts{n}", coded) for n, (_, coded) in enumerate(starts)]
    facets = [facet for facet in facets_of(collected) if facet.values]
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
    lists += [(f"number-{name}", packed(column)) for name, column in _numbers(patterns).items()]
    by_title = sorted(range(total), key=lambda one: (fold(patterns[one].heading), one))
    part_of = [0] * total
    for start in range(0, total, TITLES_PER_PART):
        part = start // TITLES_PER_PART
        own = by_title[start : start + TITLES_PER_PART]
        lists.append((f"titles{part}", own))
        for record in own:
            part_of[record] = part
    lists.append(("number-title", packed(part_of)))
    root = {
        "format": FORMAT,
        "records": total,
        "perPart": RECORDS_PER_PART,
        "firstTerms": [own[0] for own, _ in terms],
        "words": [own[0] for own in words],
        "ends": [own[0] for own in ends],
        "starts": [" ".join(own) for own, _ in starts],
        "facets": told,
        "names": list(names_of(facets)),
        "threads": _threads(),
    }
    yield "root", root
    yield from lists


def _shards(names: Sequence[str], coded: Sequence[str]) -> list[tuple[list[str], list[str]]]:
    """Names and what is coded of each, cut where a part is full."""
    shards: list[tuple[list[str], list[str]]] = []
    size = 0
    for name, text in zip(names, coded, strict=True):
        if not shards or size + len(text) > PART_BYTES:
            shards.append(([], []))
            size = 0
        shards[-1][0].append(name)
        shards[-1][1].append(text)
        size += len(name) + len(text)
    return shards


def _coded(postings: Postings, total: int) -> list[str]:
    return list(
        weighted_sets(
            postings.record,
            postings.weight.astype(np.int32),
            postings.starts,
            total,
        )
    )


def _starts(postings: Postings, coded: Sequence[str], total: int) -> tuple[list[str], list[str]]:
    """Beginnings of words whose postings would be much to read, each with its own set.

    A record counts with its greatest weight. Beginnings of one word alone need no set.
    """
    found: dict[str, str] = {}
    bounds = postings.starts
    lengths = [len(term) + len(one) for term, one in zip(postings.terms, coded, strict=True)]
    before = [0, *accumulate(lengths)]
    for length in range(1, LONGEST_START + 1):
        first = 0
        while first < len(postings.terms):
            start = postings.terms[first][:length]
            # A shorter word begins nothing of this length; those after it may.
            whole = len(start) == length
            behind = _behind(postings.terms, first, start) if whole else first + 1
            if behind > first + 1 and before[behind] - before[first] > MANY_BYTES:
                own = slice(int(bounds[first]), int(bounds[behind]))
                found[start] = _union(postings.record[own], postings.weight[own], total)
            first = behind
    ordered = sorted(found)
    return ordered, [found[start] for start in ordered]


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


def _dictionary(terms: Sequence[str]) -> list[list[str]]:
    """All words without figures in them, sorted, in parts; from them mistyped words are guessed."""
    words = sorted(
        term for term in terms if len(term) > 2 and not any(sign.isdigit() for sign in term)
    )
    return [own for own, _ in _shards(words, [""] * len(words))]


def _threads() -> dict[str, object]:
    """How the page reads the number of a thread and works out its wraps."""
    of_one = estimate_wraps_per_cm(1)
    return {
        "systems": [
            [
                system.id,
                system.name,
                system.kind == "direct",
                system.tex_of_one,
                system.labels,
                system.fibres,
            ]
            for system in systems()
        ],
        "fibres": [[fibre.id, fibre.words] for fibre in fibres()],
        # Wraps per cm of a thread of 1 tex, by the root of which they fall: (likely, low, high).
        "wraps": [of_one.value, of_one.low, of_one.high],
    }


def _numbers(patterns: Sequence[Shelved]) -> dict[str, list[int]]:
    """Columns to filter and sort by; 0 is not known. Lengths and wraps are in tenths."""
    wraps = [pattern.wraps_per_cm for pattern in patterns]
    return {
        "pairs": [pattern.best_pairs or UNKNOWN_NUMBER for pattern in patterns],
        "width": [round(10 * (pattern.width_mm or 0)) for pattern in patterns],
        "wrapsfrom": [round(10 * low) for low, _ in wraps],
        "wrapsto": [round(10 * high) for _, high in wraps],
        "level": [pattern.level or UNKNOWN_NUMBER for pattern in patterns],
    }


def _records(collected: Collected, own: slice) -> list[list[object]]:
    return [_record(collected, pattern) for pattern in collected.patterns[own]]


def _record(collected: Collected, pattern: Shelved) -> list[object]:
    """A record as a result shows it.

    Path, shelfmark, title, kind, families, pairs, level, width, small picture, whether that is
    a stand-in, whether the sheet has corrections, names of techniques.
    """
    card = collected.card(pattern)
    return [
        pattern.stem,
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
        [techniques()[one].name for one in dict.fromkeys(pattern.technique_ids)],
    ]
