"""How words are compared: without case, accents, dashes or doubled spaces.

Knows nothing of lace and nobody else in the project.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache

_LETTERS_WITHOUT_DECOMPOSITION = str.maketrans(
    {"ø": "o", "æ": "ae", "œ": "oe", "ß": "ss", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"}
)
_APOSTROPHES = str.maketrans("", "", "'’‘`´")
_RUNS = re.compile(r"[0-9]+|[^\W0-9_]+|[^\w\s]")
_QUALIFIER = re.compile(r"\s*\([^)]*\)")
_SEPARATORS = re.compile(r"[\s\-‐‑–—_/]+")


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """The form of `text` in which two spellings of one word are equal.

    >>> fold("  Lærredsslag ") == fold("laerredsslag")
    True
    >>> fold("H’comb-Ring")
    'hcomb ring'
    """
    decomposed = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    bare = "".join(mark for mark in decomposed if not unicodedata.combining(mark))
    bare = bare.translate(_LETTERS_WITHOUT_DECOMPOSITION).translate(_APOSTROPHES)
    return _SEPARATORS.sub(" ", bare).strip()


def runs_of(text: str) -> list[str]:
    """The words, numbers and signs of a text one by one, folded, without what is between.

    >>> runs_of("P-12 (wide)")
    ['p', '12', '(', 'wide', ')']
    """
    return _RUNS.findall(fold(text))


SortKey = tuple[list[tuple[int, int, str]], str]


def natural_key(text: str) -> SortKey:
    """A key that sorts numbers by their size: P 2 before P 10, whatever stands between."""
    runs = [(0, int(run), "") if run[0] in "0123456789" else (1, 0, run) for run in runs_of(text)]
    return runs, text


def without_qualifier(name: str) -> str:
    """A name without what stands behind it in brackets.

    >>> without_qualifier("passing (Dillmont)")
    'passing'
    """
    return _QUALIFIER.sub("", name)


def nearest(word: str, known: Iterable[str], *, most: int = 3) -> list[str]:
    """The `most` known words that resemble `word`, the most alike first; may be empty.

    A word less than half as long resembles it by chance alone.
    """
    from rapidfuzz import fuzz, process

    candidates = [candidate for candidate in known if 2 * len(candidate) >= len(word)]
    found = process.extract(
        word, candidates, scorer=fuzz.WRatio, processor=fold, limit=most, score_cutoff=70
    )
    return [candidate for candidate, _, _ in found]
