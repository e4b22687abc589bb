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
LEAST_LIKENESS = 0.35
"""Below this two patterns share too little to be called alike; chosen by looking."""
BLOCK = 512
PAIRS_WEIGHT = 0.1
"""What equal pairs add to a likeness of techniques between 0 and 1; chosen by looking."""


def find_alike(entries: Sequence[Entry]) -> dict[str, tuple[str, ...]]:
    """For each shelfmark up to four others, the most alike first; may be empty.

    The likeness is the cosine of two patterns' techniques, each weighted by how rare it is in
    the collection, and a little more where the pairs are nearly as many.
    """
    order = {technique.id: place for place, technique in enumerate(techniques())}
    used = Counter(technique for entry in entries for technique in set(entry.technique_ids))
    table = np.zeros((len(entries), len(order)), dtype=np.float32)
    pairs = np.zeros(len(entries), dtype=np.float32)
    for row, entry in enumerate(entries):
        for technique in entry.technique_ids:
            table[row, order[technique]] = math.log(1 + len(entries) / used[technique])
        pairs[row] = math.log2(entry.pairs.best) if entry.pairs.best else np.nan
    lengths = np.linalg.norm(table, axis=1, keepdims=True)
    table /= np.where(lengths > 0, lengths, 1)
    alike: dict[str, tuple[str, ...]] = {}
    for start in range(0, len(entries), BLOCK):
        block = slice(start, start + BLOCK)
        likeness = table[block] @ table.T
        apart = np.abs(pairs[block, None] - pairs[None, :])
        score = likeness + PAIRS_WEIGHT * np.where(np.isnan(apart), 0, np.exp2(-apart))
        # Whole numbers that hold the place too, so that equal scores keep shelf order.
        ranks = np.round(score * 10_000).astype(np.int64) * len(entries) - np.arange(len(entries))
        kept = min(MOST + 1, len(entries))
        best = np.argpartition(-ranks, kept - 1, axis=1)[:, :kept]
        for row, others in enumerate(best, start):
            near = sorted(others, key=lambda other, row=row: -ranks[row - start, other])  # type: ignore[misc]
            alike[entries[row].shelfmark] = tuple(
                entries[other].shelfmark
                for other in near
                if other != row and likeness[row - start, other] > LEAST_LIKENESS
            )[:MOST]
    return alike
