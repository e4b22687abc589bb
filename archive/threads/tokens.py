"""The pieces of a thread label: numbers, systems, fibres, and what joins them.

Knows how each is written, in which languages; not what they mean together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from archive.threads.numbering import fibres, systems

_NUMBER = r"[0-9]{1,4}(?:[.,][0-9]{1,2})?(?![0-9]|[.,][0-9])"
_PLY_WORDS = r"(?:ply|plies|cord|fach|fils|brins|draads|strands?)"
_UNITS = r"(?:mm|cm|m|km|yds?|yards?|metres?|meters?|mg|gr?|kg|grams?|oz|balls?|reels?|%)"
_AFTER_NUMBER = re.compile(r"[^0-9.,].*", re.DOTALL)


class Token(NamedTuple):
    """A piece of a label.

    `kind` is one letter, so that a row of tokens can be searched like a word: S system,
    D number, R the sign of a resultant, / x - what joins numbers, F fibre, P plies in words,
    C wraps per cm, N words that only go with a number (“No.”, “ply”), W anything else.
    """

    kind: str
    text: str
    start: int
    end: int

    @property
    def value(self) -> float:
        """The number that it begins with; a decimal comma is understood."""
        return float(_AFTER_NUMBER.sub("", self.text).replace(",", "."))


_KINDS = {
    "system": "S",
    "number": "D",
    "resultant": "R",
    "stroke": "/",
    "times": "x",
    "dash": "-",
    "fibre": "F",
    "plies": "P",
    "wraps": "C",
    "sign": "N",
    "ply": "N",
}


def cut_up(text: str) -> list[Token]:
    """The pieces of a label, in their order; what is between them is left out."""
    return [
        Token(_KINDS.get(match.lastgroup or "", "W"), match[0], match.start(), match.end())
        for match in _token_pattern().finditer(text)
    ]


@cache
def _token_pattern() -> re.Pattern[str]:
    """What a label is made of; the first alternative that fits wins."""
    system_words = _any_of(label for system in systems() for label in system.labels)
    fibre_words = _any_of(word for fibre in fibres() for word in fibre.words)
    return re.compile(
        rf"""
          (?P<wraps> [1-9][0-9]? (?: [.,][0-9] )? \s*
            (?: wpc | wraps? \s* (?: / | per ) \s* cm ) \b )
        | (?P<quantity> {_NUMBER} (?: \s*[-–]\s* {_NUMBER} )? \s* {_UNITS} (?!\w) )
        | (?P<ordinal> [0-9]+ (?: st | nd | rd | th | er | e | ème ) \b )
        | (?P<sign> (?: no | nr | n° | nº | № | \# | size | stärke | ticket ) \.? (?= \s* [0-9] ) )
        | (?P<system> {system_words} )
        | (?P<plies> (?<! / ) (?<! /\s ) [1-9][0-9]? [\s-]* {_PLY_WORDS} \b )
        | (?P<ply> -? {_PLY_WORDS} \b )
        | (?P<number> {_NUMBER} ) (?: s \b )?
        | (?P<figure> [0-9] (?: [0-9.,]* [0-9] )? )
        | (?P<times> [x×*] (?= \s* [0-9] ) )
        | (?P<stroke> / (?= \s* [0-9] ) )
        | (?P<dash> [-‐‑–—] (?= \s* [0-9] ) )
        | (?P<fibre> {fibre_words} )
        | (?P<resultant> R (?= \s* (?: [0-9.,]+ \s* )? tex ) )
        | (?P<word> \w+ )
        """,
        re.IGNORECASE | re.VERBOSE,
    )


def _any_of(words: Iterable[str]) -> str:
    """A pattern of whole words, longest first; a figure may follow without a space."""
    escaped = (re.escape(word).replace(r"\ ", r"\s*") for word in words)
    return f"(?:{'|'.join(sorted(escaped, key=len, reverse=True))})(?![^\\W0-9_])"


def words_beside(text: str, read: Iterable[Token]) -> str:
    """What is left of a label when these pieces are taken out, signs by themselves too."""
    left = list(text)
    for token in read:
        left[token.start : token.end] = " " * (token.end - token.start)
    words = ("".join(left)).split()
    return " ".join(word for word in words if any(mark.isalnum() for mark in word))
