"""Which patterns are like one another: by the techniques they share and by their pairs."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence

import numpy as np

from archive.records import Entry
from archive.vocabulary import techniques

MOST = 4
"""Patterns named as like another: a row of cards."""
CONSIDERED = 24
"""Patterns nearest by techniques among which the pairs decide."""
LEAST_LIKENESS = 0.35
"""Below this two patterns share too little to be called alike; chosen by looking."""
PAIRS_WEIGHT = 0.1
"""What equal pairs add to a likeness of techniques between 0 and 1; chosen by looking."""
SHELF_WEIGHT = 2e-7
"""What a place later on the shelf takes away, so that equals are chosen in shelf order; a
little more than a float32 can tell apart at 1."""
BLOCK = 512


def find_alike(entries: Sequence[Entry]) -> dict[str, tuple[str, ...]]:
    """For each shelfmark up to four others, the most alike first; may be empty.

    The likeness is the cosine of two patterns' techniques, each weighted by how rare it is in
    the collection, and a little more where the pairs are nearly as many.
    """
    order = {technique.id: place for place, technique in enumerate(techniques())}
    used = Counter(technique for entry in entries for technique in set(entry.technique_ids))
    table = np.zeros((len(entries), len(order)), dtype=np.float32)
    for row, entry in enumerate(entries):
        for technique in entry.technique_ids:
            table[row, order[technique]] = math.log(1 + len(entries) / used[technique])
    lengths = np.linalg.norm(table, axis=1, keepdims=True)
    table /= np.where(lengths > 0, lengths, 1)
    pairs = [entry.pairs.best for entry in entries]
    places = SHELF_WEIGHT * np.arange(len(entries), dtype=np.float32)
    kept = min(CONSIDERED, len(entries))
    alike: dict[str, tuple[str, ...]] = {}
    for start in range(0, len(entries), BLOCK):
        apart = places - table[start : start + BLOCK] @ table.T
        nearest = np.argpartition(apart, kept - 1, axis=1)[:, :kept]
        for row, others in enumerate(nearest.tolist(), start):
            likeness = {
                other: round(float(places[other] - apart[row - start, other]), 4)
                for other in others
                if other != row
            }
            ranked = sorted(
                (-found - PAIRS_WEIGHT * _nearness(pairs[row], pairs[other]), other)
                for other, found in likeness.items()
                if found > LEAST_LIKENESS
            )
            alike[entries[row].shelfmark] = tuple(
                entries[other].shelfmark for _, other in ranked[:MOST]
            )
    return alike


def _nearness(pairs: int | None, others: int | None) -> float:
    """1 where two patterns need as many pairs, half for twice as many; 0 if unknown."""
    return min(pairs, others) / max(pairs, others) if pairs and others else 0.0
