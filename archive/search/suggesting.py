"""What somebody may have meant by words that stand nowhere."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from rapidfuzz import process
from rapidfuzz.distance import OSA

from archive.search.wordforms import forms_of, words_of
from archive.vocabulary import families, kinds, techniques

_MOST = 3
_LEAST_LIKENESS = 0.65
"""Share of letters that must be right, at least. Common practice, no source."""

_NEXT_TO_BEST = 0.15
"""How much less alike than the best a second suggestion may be. Common practice, no source."""


def suggest(words: Sequence[str], unknown: Sequence[str], known: Iterable[str]) -> tuple[str, ...]:
    """Up to three questions with known words in place of the unknown ones, the likeliest first.

    A word of the vocabulary is suggested as it is written there, accents and all. Empty if
    nothing is like one of the unknown words.
    """
    written = {word: word for word in known} | _vocabulary_words()
    instead = {word: _alike(word, written) for word in unknown}
    if not all(instead.values()):
        return ()
    questions = []
    for rank in range(_MOST):
        chosen = {word: alike[min(rank, len(alike) - 1)] for word, alike in instead.items()}
        questions.append(" ".join(chosen.get(word, word) for word in words))
    return tuple(dict.fromkeys(questions))


def _alike(word: str, written: Mapping[str, str]) -> list[str]:
    """The words most like `word`, the best first, and no two forms of the same."""
    scored = process.extract(
        word,
        list(written),
        scorer=OSA.normalized_similarity,
        limit=2 * _MOST,
        score_cutoff=_LEAST_LIKENESS,
    )
    alike: list[str] = []
    for candidate, likeness, _ in scored:
        if likeness > scored[0][1] - _NEXT_TO_BEST and set(alike).isdisjoint(forms_of(candidate)):
            alike.append(candidate)
    return [written[candidate] for candidate in alike[:_MOST]]


def _vocabulary_words() -> dict[str, str]:
    """The words of all names of the vocabulary: as folded, and as written."""
    written: dict[str, str] = {}
    for terms in (techniques(), families(), kinds()):
        for term in terms:
            for _, name in term.names:
                for piece in name.replace("(", " ").replace(")", " ").split():
                    words = words_of(piece)
                    if len(words) == 1:
                        written.setdefault(words[0], piece.strip(".,"))
    return written
