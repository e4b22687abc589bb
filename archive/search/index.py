"""Answers questions from the index.

Knows records only as rows of figures and of words. Everything is read into memory when the
index is opened; no file stays open.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from archive.search.asking import Answer, Hit, Nearly, Question, Sort
from archive.search.facets import count_facets
from archive.search.figures import BY_ITS_NUMBER, BY_THE_SHEET, MEASURED, Card, Figures
from archive.search.filters import Rows, all_of, filters_of, wraps_within
from archive.search.postings import Postings
from archive.search.saving import Arrays, read_index, write_index
from archive.search.searched import PARTS
from archive.search.suggesting import suggest
from archive.search.wordforms import forms_of, words_of
from archive.search.wordindex import Matches, WordIndex
from archive.vocabulary import techniques

_SHORTEST_BEGINNING = 2
"""Letters a last word must have to stand for the words it begins; one letter is a word."""

_HOW_WRAPS_ARE_KNOWN = {
    BY_THE_SHEET: "estimated by the footside of the sheet",
    BY_ITS_NUMBER: "estimated from its number",
}


@contextmanager
def open_index(folder: Path, *, state: str) -> Iterator[Index]:
    """The index in `folder`, if it was made for this `state` of the catalogue.

    Raises:
        StaleIndex: It is missing, damaged, of another version or of another state, and must
            be built anew.
    """
    yield Index(read_index(folder, state=state))


class Index:
    """All records as they were when the index was built."""

    def __init__(self, arrays: Arrays) -> None:
        self._arrays = arrays
        self._figures = Figures.from_saved(arrays)

    def save(self, folder: Path, *, state: str) -> None:
        """Put the index into `folder`, for `open_index` while the catalogue is in this state.

        Raises:
            StorageError: There is no room or no permission.
        """
        write_index(folder, self._arrays, state=state)

    @cached_property
    def _words(self) -> WordIndex:
        return WordIndex(Postings.from_saved(self._arrays))

    def ask(self, question: Question, *, facets: bool = False) -> Answer:
        """The records that meet every part of the question.

        Where no record has all the words, the answer says how many have most of them, and
        what may have been meant by words that stand nowhere.
        """
        figures = self._figures
        filters = filters_of(question, figures)
        matches = self._match(question.words)
        if question.words.strip():
            standing = (match.masks > 0 for match in matches.values())
            filters["words"] = all_of(standing, rows=len(figures)) & bool(matches)
        found = np.flatnonzero(all_of(filters.values(), rows=len(figures)))
        scores = sum(
            (match.scores for match in matches.values()), start=np.zeros(len(figures), np.float32)
        )
        shown = self._in_order(found, scores, question.sort)[: question.limit]
        nothing = not len(found)
        return Answer(
            total=len(found),
            hits=tuple(self._hit(int(row), question, matches, float(scores[row])) for row in shown),
            facets=count_facets(figures, filters) if facets else None,
            did_you_mean=self._suggest(matches) if nothing else (),
            nearly=self._nearly(matches, filters) if nothing else None,
        )

    def _match(self, text: str) -> dict[str, Matches]:
        """Where each word stands; the last, if it is a new one, may be the beginning of one."""
        *before, last = words_of(text) or [""]
        begun = last if len(last) >= _SHORTEST_BEGINNING and last not in before else None
        return {
            word: self._words.find(forms_of(word), beginning=word if word == begun else None)
            for word in dict.fromkeys((*before, last))
            if word
        }

    def _in_order(
        self, rows: NDArray[np.intp], scores: NDArray[np.float32], sort: Sort
    ) -> NDArray[np.intp]:
        """The rows in the order that is asked for; NaN, which is unknown, comes last."""
        figures = self._figures
        first: dict[Sort, NDArray[Any]] = {
            "fit": -scores,
            "shelfmark": figures.by_shelfmark,
            "title": figures.by_title,
            "difficulty": figures.level,
            "pairs": figures.pairs,
            "width": figures.width_mm,
        }
        return rows[np.lexsort((figures.by_shelfmark[rows], first[sort][rows]))]

    def _hit(
        self, row: int, question: Question, matches: Mapping[str, Matches], score: float
    ) -> Hit:
        card = self._figures.card(row)
        return Hit(
            shelfmark=card.shelfmark,
            title=card.title,
            families=tuple(card.families),
            techniques=tuple(card.techniques),
            pairs=card.pairs,
            difficulty=card.difficulty,
            matched=(
                *_parts_with_words(row, matches),
                *_narrower_techniques(card, question),
                *self._estimates(row, card, question),
            ),
            score=score,
        )

    def _estimates(self, row: int, card: Card, question: Question) -> Iterator[str]:
        """The figures by which a record was found although they are not certain."""
        if question.pairs is not None and "pairs" in card.estimated:
            yield f"pairs: {card.estimated['pairs']}"
        if question.width_mm is not None and "width" in card.estimated:
            yield f"width: {card.estimated['width']}"
        if question.wraps is not None:
            figures = self._figures
            met = wraps_within(question.wraps, figures) & (figures.wraps_row == row)
            for number in np.flatnonzero(met & (figures.wraps_how != MEASURED)):
                low, high = figures.wraps_low[number], figures.wraps_high[number]
                how = _HOW_WRAPS_ARE_KNOWN[int(figures.wraps_how[number])]
                yield f"thread: {low:.0f}–{high:.0f} wraps per cm, {how}"

    def _suggest(self, matches: Mapping[str, Matches]) -> tuple[str, ...]:
        unknown = [word for word, match in matches.items() if not match.masks.any()]
        return suggest(list(matches), unknown, self._words.words()) if unknown else ()

    def _nearly(self, matches: Mapping[str, Matches], filters: Mapping[str, Rows]) -> Nearly | None:
        """How many records that meet all else have most of the words; None if none has any."""
        others = (rows for name, rows in filters.items() if name != "words")
        meeting = all_of(others, rows=len(self._figures))
        words = np.zeros(len(meeting), int)
        for match in matches.values():
            words += (match.masks > 0) & meeting
        most = int(words.max(initial=0))
        return Nearly(most, len(matches), int((words == most).sum())) if most else None


def _parts_with_words(row: int, matches: Mapping[str, Matches]) -> Iterator[str]:
    for number, part in enumerate(PARTS):
        words = [word for word, match in matches.items() if match.masks[row] >> number & 1]
        if words:
            yield f"{part.name}: {' '.join(words)}"


def _narrower_techniques(card: Card, question: Question) -> Iterator[str]:
    """The techniques that were found because a broader one was asked for."""
    for asked in dict.fromkeys((*question.techniques, *question.any_techniques)):
        if asked not in card.techniques:
            narrower = techniques().with_narrower(asked).intersection(card.techniques)
            names = [techniques()[one].name for one in card.techniques if one in narrower]
            if names:
                yield f"{techniques()[asked].name}: {', '.join(names)}"
