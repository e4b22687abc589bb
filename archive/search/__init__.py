"""Finding patterns: an index of all records that can be thrown away, and questions to it.

    entries ── indexing ──> figures + words ── saving ──> collection/index/catalogue.index
    question ── index ──> filters (figures) ∧ words (Whoosh) ──> hits, facets, suggestions

The index holds internal fields too and never leaves the collection.
"""

from archive.search.asking import (
    Answer,
    Facets,
    Hit,
    Nearly,
    Question,
    Range,
    Sort,
    read_range,
)
from archive.search.index import Index, open_index
from archive.search.indexing import build_index, make_index
from archive.search.saving import StaleIndex

__all__ = [
    "Answer",
    "Facets",
    "Hit",
    "Index",
    "Nearly",
    "Question",
    "Range",
    "Sort",
    "StaleIndex",
    "build_index",
    "make_index",
    "open_index",
    "read_range",
]
