"""Rows that cannot be kept: why, and a file in which they can be mended and imported again."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from archive.errors import storage_errors
from archive.lists.delimited import inert

REASON_HEADING = "Reason refused"


@dataclass(frozen=True)
class Refused:
    """A row that is no record, and why.

    Attributes:
        row: Its number, as the spreadsheet shows it.
        shelfmark: What stands in the column of the shelfmarks; "" if nothing does.
        reason: One sentence.
        cells: (heading, words) of every column.
    """

    row: int
    shelfmark: str
    reason: str
    cells: tuple[tuple[str, str], ...]


def write_refused(refused: Sequence[Refused], path: Path) -> None:
    """Write the rows with their reasons as CSV: mend them there and import that file.

    Raises:
        StorageError: The file cannot be written.
    """
    headings = [heading for heading, _ in refused[0].cells] if refused else []
    with (
        storage_errors(path),
        path.open("w", encoding="utf-8-sig", newline="") as file,
    ):
        writer = csv.writer(file)
        writer.writerow([*headings, REASON_HEADING])
        for row in refused:
            writer.writerow([*(inert(words) for _, words in row.cells), row.reason])
