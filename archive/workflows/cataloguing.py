"""Adding, changing and putting back records."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import yaml

from archive.errors import InputError, UnreadableFile
from archive.lists import TYPED, read_typed
from archive.records import Pattern
from archive.records.reading import read_pattern, with_fields
from archive.store import Collection


def read_record(path: Path) -> dict[str, Any]:
    """The fields of a record written in YAML or JSON.

    Raises:
        UnreadableFile: there is no such file, or it holds no fields.
    """
    advice = "Give a YAML or JSON file with one field a line, such as “shelfmark: P 1”."
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as cause:
        reason = "it is not text" if isinstance(cause, ValueError) else "there is no such file"
        raise UnreadableFile(path, reason, advice) from cause
    try:
        data = json.loads(text) if path.suffix.lower() == ".json" else yaml.safe_load(text)
    except (yaml.YAMLError, ValueError) as cause:
        raise UnreadableFile(path, "it is not valid YAML or JSON", advice) from cause
    if not isinstance(data, dict):
        raise UnreadableFile(path, "it holds no fields", advice)
    return data


def add_pattern(
    collection: Collection, data: Mapping[str, Any], typed: Mapping[str, str]
) -> Pattern:
    """Add a new record made of plain data, overruled by fields as a person types them.

    Raises:
        InvalidRecord, UnknownField, InputError: it is not a valid record.
        InputError: a record of that shelfmark is there already.
    """
    shelfmark = str(typed.get("shelfmark") or data.get("shelfmark") or "")
    pattern = with_typed(read_pattern({**data, "shelfmark": shelfmark}), typed)
    with collection.writing() as writer:
        if pattern.shelfmark in collection.shelfmarks():
            raise InputError(
                f"There is a record “{pattern.shelfmark}” already.",
                "Choose another shelfmark, or change that record with “prickings edit”.",
            )
        writer.save([pattern], how="added")
    return pattern


def edit_pattern(collection: Collection, shelfmark: str, typed: Mapping[str, str]) -> Pattern:
    """Change fields of the record with this shelfmark, given as a person types them."""
    with collection.writing() as writer:
        before = collection.get_entry(shelfmark).pattern
        after = with_typed(before, typed)
        if after.shelfmark != before.shelfmark:
            raise InputError(
                "A shelfmark cannot be changed, since boxes and sheets carry it.",
                "Add a record under the new shelfmark and relate the two.",
            )
        writer.save([after], how="edited")
    return after


def with_typed(pattern: Pattern, typed: Mapping[str, str]) -> Pattern:
    """The pattern with fields changed that a person has typed.

    A field that lists know (`pairs`, `size.width_mm`) is read as a list's cell is: “24 (+6
    corner)”, “2,5 cm”. Any other field, and any value in square or curly brackets, is read as
    YAML at its dotted path. An empty value empties the field.
    """
    as_cells = {
        name: words
        for name, words in typed.items()
        if name in TYPED and words.strip() and words.strip()[0] not in "[{"
    }
    changes: dict[str, Any] = {name: words for name, words in typed.items() if name not in as_cells}
    changes.update(_flat(read_typed(as_cells)))
    return with_fields(pattern, changes)


def _flat(data: Mapping[str, Any], above: str = "") -> dict[str, Any]:
    """The data by dotted paths down to what is no mapping."""
    flat: dict[str, Any] = {}
    for name, value in data.items():
        if isinstance(value, Mapping):
            flat.update(_flat(value, f"{above}{name}."))
        else:
            flat[above + name] = value
    return flat


def put_back(collection: Collection, shelfmark: str, number: int) -> Pattern:
    """Give a record the state it had after change `number`; this is a change of its own."""
    with collection.writing() as writer:
        return writer.put_back(collection.get_entry(shelfmark).shelfmark, number)
