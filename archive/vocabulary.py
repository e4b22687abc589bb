"""The words of lace: techniques, families, kinds, levels and rights.

Reads `schema/vocabulary/*.yaml` once and answers questions about it: what a word means in
any language, what is broader or narrower, what to know first. Knows nothing of records.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache, cached_property
from typing import Any, Generic, TypeVar

import yaml

from archive.errors import UnknownTerm
from archive.resources import SCHEMA
from archive.wording import fold, nearest, without_qualifier

LANGUAGES = {"en": "English", "fr": "French", "de": "German", "nl": "Dutch", "da": "Danish",
             "it": "Italian"}  # fmt: skip
FROM_MEMORY = "M"


@dataclass(frozen=True)
class Term:
    """One thing the vocabulary names.

    `name` is the preferred English word, `also` other English words; `other_languages`
    maps a language code to words. A qualifier stands in brackets behind a word.
    """

    id: str
    name: str
    also: tuple[str, ...] = ()
    other_languages: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    broader: str | None = None

    @property
    def names(self) -> Iterator[tuple[str, str]]:
        """Every (language code, word) under which the term is known."""
        for word in (self.name, *self.also):
            yield "en", word
        for language, words in self.other_languages.items():
            for word in words:
                yield language, word


@dataclass(frozen=True)
class Technique(Term):
    """A technique or thing of lacemaking, with what must be known before it."""

    definition: str = ""
    moves: str | None = None
    part_of: str | None = None
    prerequisites: tuple[str, ...] = ()
    families: tuple[str, ...] = ("all",)
    source: tuple[str, ...] = ()
    other_languages_source: tuple[str, ...] = ()

    @property
    def other_languages_from_memory(self) -> bool:
        """Whether no source, or memory alone or in part, stands behind the foreign names."""
        return FROM_MEMORY in self.other_languages_source


@dataclass(frozen=True)
class Family(Term):
    """A family of lace; a `group` is an umbrella over several."""

    made: str = "continuous"
    group: bool = False
    note: str = ""


@dataclass(frozen=True)
class Kind(Term):
    """What a pattern makes: an edging, a mat, a bookmark."""


@dataclass(frozen=True)
class Level(Term):
    """One of the five levels of difficulty."""

    level: int = 0


@dataclass(frozen=True)
class RightsStatement(Term):
    """A statement about rights from a closed list.

    `pictures` says whether a picture may be published under it: yes, with_permission or no.
    """

    uri: str = ""
    pictures: str = "no"
    plain: str = ""


T = TypeVar("T", bound=Term)


class Terms(Generic[T]):
    """A list of terms that can be asked by id or by any of their words."""

    def __init__(self, called: str, terms: list[T]) -> None:
        self.called = called
        self._by_id = {term.id: term for term in terms}
        self._by_word: dict[str, T] = {}
        for words in (self._preferred, self._others):
            for term in terms:
                for word in words(term):
                    self._by_word.setdefault(_key(word), term)

    @staticmethod
    def _preferred(term: T) -> list[str]:
        return [term.id, term.name]

    @staticmethod
    def _others(term: T) -> list[str]:
        return [word for _, word in term.names]

    def __iter__(self) -> Iterator[T]:
        return iter(self._by_id.values())

    def __len__(self) -> int:
        return len(self._by_id)

    def __contains__(self, term_id: object) -> bool:
        return term_id in self._by_id

    def __getitem__(self, term_id: str) -> T:
        return self._by_id[term_id]

    def find(self, word: str) -> T | None:
        """The term that `word` names in any language, in the plural too; None if there is none."""
        folded = _key(word)
        found = self._by_word.get(folded)
        if found is None and folded.endswith("s"):
            found = self._by_word.get(folded[:-1])
        if found is None and folded.endswith("es"):
            found = self._by_word.get(folded[:-2])
        return found

    def get(self, word: str) -> T:
        """The term that `word` names; raises `UnknownTerm` with the nearest words."""
        found = self.find(word)
        if found is None:
            raise UnknownTerm(word, self.called, self.nearest(word))
        return found

    def nearest(self, word: str) -> list[str]:
        """The names of up to three terms with a word like `word`; may be empty."""
        names = [self._by_word[key].name for key in nearest(word, self._by_word, most=8)]
        return list(dict.fromkeys(names))[:3]

    def with_narrower(self, term_id: str) -> frozenset[str]:
        """The ids of a term and of every narrower one."""
        return self._narrower[term_id]

    def with_broader(self, term_id: str) -> tuple[str, ...]:
        """The ids from a term up to its broadest."""
        chain = [term_id]
        while (broader := self[chain[-1]].broader) is not None:
            chain.append(broader)
        return tuple(chain)

    @cached_property
    def _narrower(self) -> dict[str, frozenset[str]]:
        gathered: dict[str, set[str]] = {term_id: set() for term_id in self._by_id}
        for term_id in self._by_id:
            for above in self.with_broader(term_id):
                gathered[above].add(term_id)
        return {term_id: frozenset(below) for term_id, below in gathered.items()}


def _key(word: str) -> str:
    """The spelling under which a word is kept: folded, without a qualifier in brackets."""
    return fold(without_qualifier(word))


@cache
def techniques() -> Terms[Technique]:
    """The techniques, in the order of the vocabulary file."""
    return Terms("technique", [Technique(**entry) for entry in _read("techniques", "terms")])


@cache
def families() -> Terms[Family]:
    """The families of lace."""
    return Terms("family of lace", [Family(**entry) for entry in _read("families", "families")])


@cache
def kinds() -> Terms[Kind]:
    """The kinds of pattern."""
    return Terms("kind of pattern", [Kind(**entry) for entry in _read("kinds", "kinds")])


@cache
def levels() -> Terms[Level]:
    """The five levels of difficulty, easiest first."""
    entries = _read("levels", "levels")
    return Terms("level", [Level(id=str(entry["level"]), **entry) for entry in entries])


@cache
def rights() -> Terms[RightsStatement]:
    """The closed list of rights statements; each is also found by its address."""
    entries = _read("rights", "rights")
    return Terms(
        "statement about rights",
        [
            RightsStatement(**{**entry, "also": (*entry.get("also", ()), entry["uri"])})
            for entry in entries
        ],
    )


def technique_sources() -> dict[str, str]:
    """The sources that the techniques name, by their short code."""
    sources: dict[str, str] = _read_file("techniques")["sources"]
    return sources


@cache
def _read_file(stem: str) -> dict[str, Any]:
    text = (SCHEMA / "vocabulary" / f"{stem}.yaml").read_text(encoding="utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    content: dict[str, Any] = yaml.load(text, Loader=loader)
    return content


def _read(stem: str, section: str) -> list[dict[str, Any]]:
    """The entries of a vocabulary file, lists made tuples so that terms stay as they are."""
    return [
        {key: _frozen(value) for key, value in entry.items()} for entry in _read_file(stem)[section]
    ]


def _frozen(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(value)
    if isinstance(value, dict):
        return {key: _frozen(item) for key, item in value.items()}
    return value
