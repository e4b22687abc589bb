"""Single fields as a person types them, read like the cells of a list."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from archive.errors import InputError
from archive.lists.filling import Draft, complete, filling_for
from archive.lists.headings import NOTE, SHELFMARK, Column, fields

RELATED = "related"
TYPED = fields() - {NOTE, RELATED}
"""The fields that `read_typed` takes; what is related needs the rest of a list to be settled."""


def read_typed(cells: Mapping[str, str]) -> dict[str, Any]:
    """The record's fields as plain data, of words such as “24 (+6 corner)” for `pairs`.

    Raises:
        InputError: a field cannot be understood in full; typed words are not kept aside.
    """
    draft: Draft = {}
    for name, words in cells.items():
        if name == SHELFMARK:
            draft[SHELFMARK] = words
            continue
        filling = filling_for(Column(0, name, name))
        value, remarks = filling.read(words)
        for about in remarks:
            if about.kept or value is None:
                raise InputError(f"{name}: “{about.found}” is not understood.", about.advice)
        if value is not None and not filling.put(draft, value):
            raise InputError(
                f"{name}: “{words}” says something else than another field.", "Say it once."
            )
    complete(draft)
    return draft
