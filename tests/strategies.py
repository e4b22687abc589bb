"""Hypothesis strategies of valid records."""

from __future__ import annotations

import datetime as dt
import hashlib

from hypothesis import strategies as st

from archive.records import Attachment, Pattern
from archive.records.pattern import Relation
from archive.vocabulary import families, kinds, rights, techniques

# Everything but surrogates, which are no characters: quotes, NUL, right-to-left, emoji …
_CHARACTERS = st.characters(exclude_categories=["Cs"])
_VISIBLE = st.characters(exclude_categories=["C", "Z"])
_TEXT = st.text(_CHARACTERS, max_size=12)
_COUNT = st.integers(0, 5000)
_DATE = st.none() | st.dates(dt.date(1500, 1, 1), dt.date(2100, 1, 1))


def shelfmarks() -> st.SearchStrategy[str]:
    """Marks as on a box, and any others that are allowed."""
    plain = st.builds("{} {}".format, st.sampled_from("PTX"), st.integers(1, 99))
    return plain | st.text(_VISIBLE, min_size=1, max_size=8)


def patterns(marks: st.SearchStrategy[str] | None = None) -> st.SearchStrategy[Pattern]:
    """Records from nearly empty to full, in every field."""
    mark = shelfmarks() if marks is None else marks
    return st.fixed_dictionaries({"shelfmark": mark}, optional=_OPTIONAL).map(
        Pattern.model_validate
    )


def attachments() -> st.SearchStrategy[Attachment]:
    """Attachments of files that need not exist."""
    return st.builds(
        Attachment,
        sha256=st.binary(max_size=8).map(lambda content: hashlib.sha256(content).hexdigest()),
        file_name=st.text(_VISIBLE, min_size=1, max_size=12),
        media_type=st.sampled_from(["image/png", "image/svg+xml", "application/pdf"]),
        size_bytes=st.integers(1, 10**9),
        role=st.sampled_from(
            ["pricking", "working diagram", "photograph", "worked sample", "other"]
        ),
        sequence=st.integers(1, 9),
        px_per_mm=st.none() | st.floats(0.01, 10_000),
        scale_known_by=st.sampled_from(["given", "embedded", "drawing-units", "unknown"]),
        caption=_TEXT,
        alternative_text=_TEXT,
    )


def _part(**fields: st.SearchStrategy[object]) -> st.SearchStrategy[dict[str, object]]:
    return st.fixed_dictionaries({}, optional=fields)


def _few(item: st.SearchStrategy[object]) -> st.SearchStrategy[list[object]]:
    return st.lists(item, max_size=3)


_PAIR_COUNT = _part(
    start=_COUNT, most=_COUNT, corner_extra=_COUNT, about=st.booleans(), words=_TEXT
)
_RIGHT = st.fixed_dictionaries(
    {"statement": st.sampled_from([term.id for term in rights()])},
    optional={"holder": _TEXT, "basis": _TEXT, "permission_letter": _TEXT},
)
_LENGTH_MM = st.floats(0.01, 100_000)
_OPTIONAL: dict[str, st.SearchStrategy[object]] = {
    "title": _TEXT,
    "other_titles": _few(_TEXT),
    "families": _few(st.sampled_from([family.id for family in families()])),
    "kind": st.sampled_from([kind.id for kind in kinds()]),
    "techniques": _few(
        st.fixed_dictionaries(
            {"technique": st.sampled_from([technique.id for technique in techniques()])},
            optional={"role": st.sampled_from(["taught", "practised", "optional"])},
        )
    ),
    "pairs": _part(
        stated=_PAIR_COUNT,
        counted=_PAIR_COUNT,
        estimated=st.fixed_dictionaries(
            {"value": _COUNT, "low": _COUNT, "high": _COUNT}, optional={"reasons": _few(_TEXT)}
        ),
    ),
    "gimps": _part(singles=_COUNT, pairs=_COUNT),
    "threads": _few(
        st.fixed_dictionaries(
            {"label": _TEXT},
            optional={
                "system": _TEXT,
                "count": st.floats(0.1, 1000),
                "plies": st.integers(1, 100),
                "fibre": _TEXT,
                "use": _TEXT,
                "wraps_per_cm": st.floats(0.1, 500),
            },
        )
    ),
    "difficulty": _part(stated=_TEXT, level=st.integers(1, 5)),
    "size": _part(width_mm=_LENGTH_MM, length_mm=_LENGTH_MM, repeat_mm=_LENGTH_MM),
    "corner": st.booleans(),
    "designer": _part(
        status=st.sampled_from(["named", "traditional", "unknown"]), name=_TEXT, evidence=_TEXT
    ),
    "source": _part(title=_TEXT, edition=_TEXT, page=_TEXT, issue=_TEXT),
    "period": _TEXT,
    "material": _TEXT,
    "related": _few(
        st.builds(Relation, kind=st.sampled_from(["copy of", "see also"]), shelfmark=shelfmarks())
    ),
    "working_notes": _few(
        st.fixed_dictionaries(
            {"text": _TEXT},
            optional={"about": st.sampled_from(["start", "order", "easily wrong", "tip"])},
        )
    ),
    "corrections": _few(
        st.fixed_dictionaries({"fault": _TEXT}, optional={"remedy": _TEXT, "date": _DATE})
    ),
    "rights": _part(design=_RIGHT, working_up=_RIGHT, pricking=_RIGHT, photograph=_RIGHT),
    "condition": _part(state=_TEXT, checked=_DATE),
    "internal": _part(
        provenance=_TEXT, donor=_TEXT, location=_TEXT, valuation=_TEXT, private_notes=_TEXT
    ),
    "unparsed": _few(st.fixed_dictionaries({"field": _TEXT, "words": _TEXT})),
}
