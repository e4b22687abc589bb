"""Which records meet each part of a question but its words.

The parts are kept apart, so that one can be left out where its own choices are counted.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from archive.search.asking import Question, Range
from archive.search.figures import Figures
from archive.search.wordforms import words_of

Rows = NDArray[np.bool_]
"""(N,) whether each record is meant."""


def filters_of(question: Question, figures: Figures) -> dict[str, Rows]:
    """The records that meet each part that is asked; parts that are not asked are missing."""
    found: dict[str, Rows] = {}
    if question.techniques or question.any_techniques or question.without_techniques:
        found["technique"] = _techniques(question, figures)
    if question.families:
        found["family"] = _any_of(figures, "family", question.families)
    if question.kinds:
        found["kind"] = _any_of(figures, "kind", question.kinds)
    for name, asked, column in (
        ("pairs", question.pairs, figures.pairs),
        ("level", question.difficulty, figures.level),
        ("width", question.width_mm, figures.width_mm),
    ):
        if asked is not None:
            low, high = asked.ends
            found[name] = (column >= low) & (column <= high)
    if question.wraps is not None:
        found["wraps"] = np.zeros(len(figures), np.bool_)
        found["wraps"][figures.wraps_row[wraps_within(question.wraps, figures)]] = True
    for name, answer in (
        ("corner", question.corner),
        ("gimp", question.gimp),
        ("pricking", question.with_pricking),
    ):
        if answer is not None:
            found[name] = figures.having(f"{name}:{'yes' if answer else 'no'}")
    if question.place.strip():
        place = f" {' '.join(words_of(question.place))} "
        found["place"] = np.array([place in one for one in figures.places.split("\n")], np.bool_)
    return found


def wraps_within(asked: Range, figures: Figures) -> NDArray[np.bool_]:
    """(W,) which known thread thicknesses lie in a range, an estimated one at least in part."""
    low, high = asked.ends
    return (figures.wraps_low <= high) & (figures.wraps_high >= low)


def all_of(filters: Iterable[Rows], *, rows: int) -> Rows:
    """The records that meet every filter; all of them where there is none."""
    meeting = np.ones(rows, np.bool_)
    for one in filters:
        meeting &= one
    return meeting


def _techniques(question: Question, figures: Figures) -> Rows:
    used = all_of(
        (figures.having(f"technique:{one}") for one in question.techniques), rows=len(figures)
    )
    if question.any_techniques:
        used &= _any_of(figures, "technique", question.any_techniques)
    return used & ~_any_of(figures, "technique", question.without_techniques)


def _any_of(figures: Figures, group: str, ids: Iterable[str]) -> Rows:
    meeting = np.zeros(len(figures), np.bool_)
    for one in ids:
        meeting |= figures.having(f"{group}:{one}")
    return meeting
