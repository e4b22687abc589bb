"""The closed lists that the search page can filter by, and which records have which value."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar

from archive.site.collected import Collected
from archive.site.links import NO_LEVEL, level_name, technique_path
from archive.site.postings import words_of
from archive.vocabulary import Term, Terms, families, kinds, levels, techniques
from archive.wording import fold

_QUALIFIER = re.compile(r"\s*\([^)]*\)")

T = TypeVar("T", bound=Term)


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


def facets_of(collected: Collected) -> Iterator[Facet]:
    """Every facet, in the order in which the page shows them; values that none has are left out."""
    patterns = collected.patterns
    yield _term_facet("technique", techniques(), collected.by_technique, technique_path)
    yield _term_facet("family", families(), collected.by_family)
    made: defaultdict[str, list[int]] = defaultdict(list)
    for record, pattern in enumerate(patterns):
        for kind in kinds().with_broader(pattern.kind) if pattern.kind else ():
            made[kind].append(record)
    yield _term_facet("kind", kinds(), made)
    grades = [str(pattern.level or NO_LEVEL) for pattern in patterns]
    yield _plain_facet(
        "level",
        [*((str(one.level), one.name) for one in levels()), (str(NO_LEVEL), level_name(NO_LEVEL))],
        grades,
    )
    yes_no = {True: "yes", False: "no", None: ""}
    answers = [("yes", "yes"), ("no", "no")]
    yield _plain_facet("gimp", answers, [yes_no[pattern.has_gimp] for pattern in patterns])
    yield _plain_facet("corner", answers, [yes_no[pattern.corner] for pattern in patterns])
    yield _plain_facet(
        "sheet", answers, ["yes" if pattern.has_pricking else "no" for pattern in patterns]
    )
    yield _plain_facet(
        "copying",
        [
            ("free", "yes, on its terms"),
            ("ask", "ask the holder first"),
            ("open", "nobody has looked into it"),
        ],
        [pattern.copying for pattern in patterns],
    )


def _term_facet(
    facet_id: str,
    terms: Terms[T],
    found: Mapping[str, Sequence[int]],
    page: Callable[[str], str] = lambda _: "",
) -> Facet:
    """A facet over vocabulary terms, each with the records that have it or a narrower one."""
    kept = sorted((term for term in terms if term.id in found), key=lambda term: fold(term.name))
    place = {term.id: number for number, term in enumerate(kept)}
    return Facet(
        facet_id,
        tuple(
            Value(term.id, term.name, place.get(term.broader or "", -1), page(term.id))
            for term in kept
        ),
        tuple(tuple(sorted(found[term.id])) for term in kept),
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


def names_of(facets: Sequence[Facet]) -> Iterator[list[object]]:
    """What a technique, family, kind or level is called in any language.

    Each is [folded words, facet, number of the value, language, the name as written].
    """
    term_of: dict[str, Callable[[str], Term]] = {
        "technique": lambda term_id: techniques()[term_id],
        "family": lambda term_id: families()[term_id],
        "kind": lambda term_id: kinds()[term_id],
        "level": lambda term_id: levels()[term_id],
    }
    for facet in facets:
        if facet.id not in term_of:
            continue
        for place, (term_id, *_) in enumerate(facet.values):
            if (facet.id, term_id) == ("level", str(NO_LEVEL)):
                continue
            told = set()
            for language, name in term_of[facet.id](term_id).names:
                words = " ".join(words_of(_QUALIFIER.sub("", name)))
                if words and words not in told:
                    told.add(words)
                    yield [words, facet.id, place, language, name]
