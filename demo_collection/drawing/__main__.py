"""Draws all sheets of the demo collection, its truth and its index."""

from __future__ import annotations

from pathlib import Path

from demo_collection.drawing.recipes import FOLDER, read_recipes
from demo_collection.drawing.records import as_json, index_entry, truth_entry
from demo_collection.drawing.scan import scan
from demo_collection.drawing.sheet import LaidOut, draw, lay_out
from demo_collection.drawing.svg import svg


def file_bytes(sheet: LaidOut) -> bytes:
    """The sheet as the bytes of its file."""
    if sheet.recipe.sheet.style == "scan":
        return scan(sheet)
    return svg(sheet).encode("utf-8")


def write_all(folder: Path) -> int:
    """Write every sheet, `truth.json` and `index.json` into a folder; how many sheets."""
    (folder / "sheets").mkdir(parents=True, exist_ok=True)
    sheets = [lay_out(recipe, draw(recipe)) for recipe in read_recipes()]
    for sheet in sheets:
        (folder / sheet.recipe.sheet_file).write_bytes(file_bytes(sheet))
    for name, entry in (("truth.json", truth_entry), ("index.json", index_entry)):
        text = as_json([entry(sheet) for sheet in sheets])
        (folder / name).write_bytes(text.encode("utf-8"))
    return len(sheets)


if __name__ == "__main__":
    count = write_all(FOLDER.parent)
    print(f"{count} sheets drawn into {FOLDER.parent / 'sheets'}")
