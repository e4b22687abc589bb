"""Writes the demo guild's list."""

from __future__ import annotations

from demo_collection.listing.rows import FOLDER, list_rows, sheet_name
from demo_collection.listing.workbook import workbook_bytes

if __name__ == "__main__":
    target = FOLDER / "list.xlsx"
    target.write_bytes(workbook_bytes(list_rows(), sheet_name=sheet_name()))
    print(f"{target} written")
