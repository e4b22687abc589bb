"""Single fields as a person types them, read like the cells of a list."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from archive.errors import InputError
from archive.lists.drafting import Draft, complete
from archive.lists.filling import filling_for
from archive.lists.headings import NOTE, SHELFMARK, Column, fields
from archive.lists.texts import NamedRelation, settle_relation
from archive.records import Relation

_NO_FIELDS = {
    NOTE,
    "bobbins",
    "pairs.corner_extra",
    "rights.basis",
    "rights.holder",
    "rights.permission_letter",
    "wraps_per_cm",
}
"""Columns of a list that only say something together with others of their row."""

TYPED = fields() - _NO_FIELDS
"""The fields that `read_typed` takes."""

_IN_MM = "_mm"


def read_typed(cells: Mapping[str, str]) -> dict[str, Any]:
    """The record's fields as plain data, of words such as “24 (+6 corner)” for `pairs`.

    A bare number for a field in mm is in mm.

    Raises:
        InputError: a field cannot be understood in full; typed words are not kept aside.
    """
    draft: Draft = {}
    for name, words in cells.items():
        if name == SHELFMARK:
            draft[SHELFMARK] = words
            continue
        filling = filling_for(Column(0, name, name, 1.0 if name.endswith(_IN_MM) else None))
        value, remarks = filling.read(words)
        for about in remarks:
            if about.kept or value is None:
                raise InputError(f"{name}: “{about.found}” is not understood.", about.advice)
        if value is not None and not filling.put(draft, value):
            raise InputError(
                f"{name}: “{words}” says something else than another field.", "Say it once."
            )
    complete(draft)
    if "related" in draft:
        draft["related"] = tuple(_settled(relation) for relation in draft["related"])
    return draft


def _settled(named: NamedRelation) -> Relation:
    relation = settle_relation(named, {})
    if relation is None:
        raise InputError(
            f"related: it is not clear what kind of companion “{named.shelfmark}” is.",
            f"Write “companion edging {named.shelfmark}” or "
            f"“companion insertion {named.shelfmark}”.",
        )
    return relation
