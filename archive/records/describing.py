"""The records described as JSON Schema, for everyone who reads or writes them elsewhere."""

from __future__ import annotations

from typing import Any

from archive.records.entry import Entry

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def record_schema() -> dict[str, Any]:
    """The JSON Schema (2020-12) of what `prickings show --json` prints.

    Source: JSON Schema, draft 2020-12, json-schema.org.
    """
    described = Entry.model_json_schema(mode="serialization")
    return {"$schema": DIALECT, **described, "title": "Record of a pattern"}
