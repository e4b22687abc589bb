"""Which words of a record are searched, and how much each part of it counts.

Internal fields are not searched by words. Techniques, families and kinds count under every
name that the vocabulary knows, in every language, and under those of every broader one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import cache
from typing import Any, NamedTuple

from archive.records import Entry
from archive.search.wordforms import words_to_find
from archive.vocabulary import Terms, families, kinds, techniques
from archive.wording import without_qualifier


class Part(NamedTuple):
    """A part of the record; `weight` is how much a word in it counts towards the fit."""

    name: str
    weight: float
    words: Callable[[Entry], Iterable[str]]


def techniques_used(entry: Entry) -> tuple[str, ...]:
    """The ids of the techniques known to be used; a counted gimp is one."""
    stated = entry.technique_ids
    if entry.has_gimp and not techniques().with_narrower("gimp").intersection(stated):
        return (*stated, "gimp")
    return stated


@cache
def _names_of(terms: Callable[[], Terms[Any]], term_id: str) -> tuple[str, ...]:
    """Every word by which a term or a broader one is known, each once."""
    names = [
        name for broader in terms().with_broader(term_id) for _, name in terms()[broader].names
    ]
    return tuple(
        dict.fromkeys(word for name in names for word in words_to_find(without_qualifier(name)))
    )


def _named(terms: Callable[[], Terms[Any]], ids: Iterable[str]) -> Iterable[str]:
    return dict.fromkeys(word for term_id in ids for word in _names_of(terms, term_id))


def _texts(*texts: str) -> list[str]:
    return [word for text in texts if text for word in words_to_find(text)]


def _designer(entry: Entry) -> list[str]:
    designer = entry.designer
    return _texts(designer.name, "traditional" if designer.status == "traditional" else "")


def _source(entry: Entry) -> list[str]:
    source = entry.source
    return _texts(source.title, source.edition, source.page, source.issue)


def _threads(entry: Entry) -> list[str]:
    return _texts(
        *(
            text or ""
            for thread in entry.threads
            for text in (thread.label, thread.fibre, thread.use)
        )
    )


def _corrections(entry: Entry) -> list[str]:
    return _texts(*(text for one in entry.corrections for text in (one.fault, one.remedy)))


# The weights are common practice, no source: what names a pattern counts before what
# describes it.
PARTS = (
    Part("shelfmark", 8, lambda entry: _texts(entry.shelfmark)),
    Part("title", 6, lambda entry: _texts(entry.title, *entry.other_titles)),
    Part("technique", 4, lambda entry: _named(techniques, techniques_used(entry))),
    Part("family", 4, lambda entry: _named(families, entry.families)),
    Part("kind", 4, lambda entry: _named(kinds, [entry.kind] if entry.kind else [])),
    Part("designer", 5, _designer),
    Part("source", 3, _source),
    Part("thread", 2, _threads),
    Part("period", 2, lambda entry: _texts(entry.period)),
    Part("material", 2, lambda entry: _texts(entry.material)),
    Part("notes", 1, lambda entry: _texts(*(note.text for note in entry.working_notes))),
    Part("corrections", 1, _corrections),
    Part("not understood", 1, lambda entry: _texts(*(note.words for note in entry.unparsed))),
)
