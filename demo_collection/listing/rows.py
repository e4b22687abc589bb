"""The rows of the list: what the librarian wrote, and what the recipes say of the prickings."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import Any

import yaml

from demo_collection.listing import wording

FOLDER = Path(__file__).parent.parent
Cell = str | int | dt.date | None


def sheet_name() -> str:
    """The name of the one sheet."""
    name: str = _source()["sheet"]
    return name


def list_rows() -> list[list[Cell]]:
    """All rows: what stands above, the headings, one row for each pattern in shelfmark order."""
    source = _source()
    headings: list[str] = source["headings"]
    said = {row["Ref."]: row for row in source["drawn"]}
    rows = [
        source["drawn_unless_said"]
        | _drawn_cells(entry, source["spelt"])
        | said[entry["shelfmark"]]
        for entry in sorted(_drawn(), key=lambda entry: str(entry["shelfmark"]))
    ]
    cells = [[row.get(heading) for heading in headings] for row in (*rows, *source["others"])]
    return [*source["above"], headings, *cells]


def _drawn_cells(entry: dict[str, Any], spelt: dict[str, str]) -> dict[str, Cell]:
    """What the recipe of a drawn pricking fills in, by heading."""
    return {
        "Ref.": entry["shelfmark"],
        "Name of pattern": entry["title"],
        "Lace": wording.lace(entry),
        "Form": wording.form(entry),
        "Stitches": wording.stitches(entry, spelt),
        "Pairs": wording.pairs(entry),
        "Gimps": wording.gimps(entry),
        "Thread": entry["thread"],
        "Level": wording.level(entry),
        "Size": wording.size(entry),
        "Repeat (mm)": entry["repeat_mm"],
        "Corner": wording.corner(entry),
        "How to work": wording.how_to_work(entry),
        "Faults": wording.faults(entry),
    }


def _source() -> dict[str, Any]:
    source: dict[str, Any] = yaml.safe_load((FOLDER / "list.yaml").read_text(encoding="utf-8"))
    return source


def _drawn() -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = json.loads((FOLDER / "index.json").read_text(encoding="utf-8"))
    return entries
