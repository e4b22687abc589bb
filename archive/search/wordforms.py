"""How text becomes words, and which forms of a word count as the same.

Words keep every letter and digit, one-letter words too; case and accents do not count. There
is no list of words to leave out and no stemmer, only singular and plural in the plain
English manner. Knows nothing of records.
"""

from __future__ import annotations

import re
from functools import lru_cache

from archive.wording import fold

_WORD = re.compile(r"\w+")
_ELIDED = re.compile(r"\W*(?:[dl]|qu|dell|all|nell)['’](?=\w)", re.IGNORECASE)
_SINGULAR_ENDINGS = (
    ("ies", ("y", "ie")),
    ("ves", ("f", "fe", "ve")),
    ("ches", ("ch", "che")),
    ("shes", ("sh", "she")),
    ("xes", ("x", "xe")),
    ("zes", ("z", "ze")),
    ("ses", ("s", "se")),
    ("s", ("",)),
)
_PLURAL_ENDINGS = (
    ("fe", ("fes", "ves")),
    ("f", ("fs", "ves")),
    ("ch", ("ches",)),
    ("sh", ("shes",)),
    ("x", ("xes",)),
    ("z", ("zes",)),
    ("s", ("ses",)),
    ("y", ("ys", "ies")),
    ("", ("s",)),
)


def words_of(text: str) -> list[str]:
    """The folded words of `text`, in their order.

    >>> words_of("Lærredsslag, 80/2 (C)")
    ['laerredsslag', '80', '2', 'c']
    """
    return [word for piece in text.split() for word in _words_of_piece(piece)]


def words_to_find(text: str) -> list[str]:
    """The words under which `text` is found: its own, and those after an elided article.

    >>> words_to_find("Point d'Angleterre")
    ['point', 'dangleterre', 'angleterre']
    """
    return [word for piece in text.split() for word in _words_to_find_of_piece(piece)]


@lru_cache(maxsize=65536)
def _words_of_piece(piece: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(fold(piece)))


@lru_cache(maxsize=65536)
def _words_to_find_of_piece(piece: str) -> tuple[str, ...]:
    elided = _ELIDED.match(piece)
    after = _words_of_piece(piece[elided.end() :]) if elided else ()
    return (*_words_of_piece(piece), *after)


@lru_cache(maxsize=1024)
def forms_of(word: str) -> tuple[str, ...]:
    """The folded `word` with its singulars and plurals, as spelling alone suggests them.

    Some of these are no words ("ros" from "roses"); they match nothing and do no harm. Words
    of one or two letters and words with a digit have no other form.

    >>> forms_of("leaf")
    ('leaf', 'leafs', 'leaves')
    >>> forms_of("cross")
    ('cross', 'crosses')
    """
    if len(word) < 3 or not word.isalpha():
        return (word,)
    singulars = _singulars_of(word)
    plurals = [plural for one in (word, *singulars) for plural in _plurals_of(one)]
    return tuple(dict.fromkeys([word, *singulars, *plurals]))


def _singulars_of(word: str) -> list[str]:
    if len(word) < 4 or word.endswith(("ss", "us", "is")):
        return []
    return _with_ending_changed(word, _SINGULAR_ENDINGS)


def _plurals_of(word: str) -> list[str]:
    if word.endswith("s") and _singulars_of(word):
        return []  # a plural already
    return _with_ending_changed(word, _PLURAL_ENDINGS)


def _with_ending_changed(word: str, endings: tuple[tuple[str, tuple[str, ...]], ...]) -> list[str]:
    for ending, others in endings:
        if word.endswith(ending):
            stem = word.removesuffix(ending)
            return [stem + other for other in others]
    return []
