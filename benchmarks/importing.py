"""Importing a guild's list beside bare `sqlite3.executemany` of the same rows.

The list has 10,000 rows and 40,000 technique links. Ours is the whole import: reading the
file, understanding every cell, validating every record, saving it with its history, in
batches. Bare is the writing alone: the finished rows of the same catalogue, into the same
tables under the same pragmas, in one transaction. Goal: at least half as fast.
Run: python -m benchmarks.importing
"""

from __future__ import annotations

import csv
import random
import sqlite3
import tempfile
import time
from contextlib import closing
from pathlib import Path

import openpyxl

from archive.lists import read_list
from archive.records.settings import CollectionSettings
from archive.store import create_collection, open_collection
from archive.vocabulary import techniques
from archive.workflows.importing import import_list

ROWS = 10_000
TECHNIQUES_A_ROW = 4
ROUNDS = 5
TABLES = ("patterns", "technique_uses", "changes")
PRAGMAS = ("foreign_keys=ON", "synchronous=EXTRA", "cache_spill=OFF", "journal_mode=DELETE")
HEADINGS = (
    "Shelfmark", "Title", "Family", "Kind", "Techniques", "Pairs", "Thread", "Difficulty",
    "Width", "Corner", "Designer", "Source", "Location",
)  # fmt: skip


def list_rows(lot: random.Random) -> list[list[str]]:
    """The rows of a made-up list, written as people write them."""
    names = [technique.name for technique in techniques()]
    threads = ("80/2 NeL linen", "cotton Ne 60/2", "linen NeL 120/2; gimp: Ne 12/2 (gimp)")
    return [
        [
            f"P-{number:05}",
            f"Pattern {number} of the long list",
            lot.choice(("Bucks", "torchon", "Beds", "Bucks; torchon")),
            lot.choice(("edging", "insertion", "mat", "edging + corner")),
            "; ".join(lot.sample(names, TECHNIQUES_A_ROW)),
            f"{lot.randint(8, 60)} pairs",
            lot.choice(threads),
            lot.choice(("1", "3/5", "***", "hard")),
            f"{lot.randint(10, 80)} mm",
            lot.choice(("yes", "no", "")),
            lot.choice(("trad.", "R. Q.", "unknown")),
            f"A Book of Lace {number % 60}, p. {number % 90}",
            f"Box {number % 40}",
        ]
        for number in range(ROWS)
    ]


def import_seconds(path: Path, folder: Path) -> float:
    """The wall time of an import into an empty collection."""
    create_collection(folder, CollectionSettings(name="Benchmark"))
    with open_collection(folder) as collection:
        begun = time.perf_counter()
        imported = import_list(collection, path)
        took = time.perf_counter() - begun
    assert (imported.added, imported.findings, imported.refused) == (ROWS, [], [])
    return took


def bare_seconds(full: Path, folder: Path) -> float:
    """The wall time of writing the rows of the catalogue `full` into an empty one."""
    create_collection(folder, CollectionSettings(name="Benchmark"))
    with closing(sqlite3.connect(full / "catalogue.db")) as source:
        content = {table: source.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES}
    assert len(content["technique_uses"]) == ROWS * TECHNIQUES_A_ROW
    with closing(sqlite3.connect(folder / "catalogue.db", isolation_level=None)) as target:
        for pragma in PRAGMAS:
            target.execute(f"PRAGMA {pragma}")
        begun = time.perf_counter()
        target.execute("BEGIN IMMEDIATE")
        for table, rows in content.items():
            marks = ", ".join("?" * len(rows[0]))
            target.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
        target.execute("COMMIT")
        return time.perf_counter() - begun


def main() -> None:
    """Measure in turns and print the fastest of each."""
    with tempfile.TemporaryDirectory() as scratch:
        rows = list_rows(random.Random(7))
        text, workbook = Path(scratch, "list.csv"), Path(scratch, "list.xlsx")
        with text.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([HEADINGS, *rows])
        book = openpyxl.Workbook(write_only=True)
        sheet = book.create_sheet()
        for row in (HEADINGS, *rows):
            sheet.append(row)
        book.save(workbook)
        times: dict[str, list[float]] = {"bare": [], "csv": [], "xlsx": [], "reading": []}
        for number in range(ROUNDS):
            full = Path(scratch, f"csv {number}")
            times["csv"].append(import_seconds(text, full))
            times["bare"].append(bare_seconds(full, Path(scratch, f"bare {number}")))
            times["xlsx"].append(import_seconds(workbook, Path(scratch, f"xlsx {number}")))
            begun = time.perf_counter()
            read_list(text)
            times["reading"].append(time.perf_counter() - begun)
    fastest = {name: min(seconds) for name, seconds in times.items()}
    for name, label in (
        ("bare", "bare executemany"),
        ("csv", "import of CSV"),
        ("xlsx", "import of .xlsx"),
        ("reading", "reading CSV alone"),
    ):
        ratio = fastest["bare"] / fastest[name]
        goal = " (goal: at least 0.5)" if name in ("csv", "xlsx") else ""
        print(f"{label:18} {ROWS / fastest[name]:8,.0f} rows/s   of bare {ratio:.2f}{goal}")


if __name__ == "__main__":
    main()
