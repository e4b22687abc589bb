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


def nearest(word: str, known: Iterable[str], *, most: int = 3) -> list[str]:
    """The `most` known words that resemble `word`, the most alike first; may be empty."""
    from rapidfuzz import fuzz, process

    found = process.extract(
        word, list(known), scorer=fuzz.WRatio, processor=fold, limit=most, score_cutoff=70
    )
    return [candidate for candidate, _, _ in found]
