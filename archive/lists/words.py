"""The words of lists: headings, abbreviations, yes and no.

Reads `schema/vocabulary/list_words.yaml` once and gives its words in the form in which two
spellings of one word are equal. Knows nothing of tables or records.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

import yaml

from archive.resources import SCHEMA
from archive.wording import fold

_DOTS = re.compile(r"\.(?!\d)")


def plain(text: str) -> str:
    """`text` folded, and without the full stops of abbreviations.

    >>> plain("Pt. Ground")
    'pt ground'
    """
    return " ".join(_DOTS.sub(" ", fold(text)).split())


@cache
def words_for(name: str) -> frozenset[str]:
    """The plain words of one list of the file."""
    return frozenset(plain(word) for word in _file()[name])


@cache
def signs_for(name: str) -> frozenset[str]:
    """The words of one list of the file as they stand, in small letters."""
    return frozenset(word.casefold() for word in _file()[name])


@cache
def meanings(name: str) -> Mapping[str, str]:
    """Plain word -> what it means, for a section that lists words under their meaning."""
    return {plain(word): meaning for meaning, words in _file()[name].items() for word in words}


@cache
def short_forms(name: str) -> Mapping[str, str]:
    """Plain short form -> the long form."""
    return {plain(short): long for short, long in _file()[name].items()}


@cache
def month_numbers() -> Mapping[str, int]:
    """Plain name of a month, long or short -> its number from 1."""
    return {
        plain(name): month for month, names in enumerate(_file()["months"], 1) for name in names
    }


def month_name(month: int) -> str:
    """The English name of a month, whatever the computer's language.

    >>> month_name(10)
    'October'
    """
    english: str = _file()["months"][month - 1][0]
    return english.capitalize()


@cache
def millimetres_per_unit() -> Mapping[str, float]:
    """Unit of length as it stands behind a number, in small letters -> millimetres."""
    return {unit.casefold(): float(length) for unit, length in _file()["units_mm"].items()}


@cache
def alternatives(*names: str) -> str:
    """A pattern for any word of the named lists, the longest first, matched on plain text."""
    words = {word for name in names for word in words_for(name)}
    return any_of(words)


def any_of(words: Iterable[str]) -> str:
    """A pattern for any of `words`, the longest first."""
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))


@cache
def _file() -> dict[str, Any]:
    text = (SCHEMA / "vocabulary" / "list_words.yaml").read_text(encoding="utf-8")
    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    content: dict[str, Any] = yaml.load(text, Loader=loader)
    return content
