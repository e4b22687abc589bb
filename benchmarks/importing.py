"""Importing a guild's list beside bare `sqlite3.executemany` into the same catalogue.

The list has 10,000 rows and 40,000 technique links. Ours is the whole import: reading the
file, understanding every cell, validating every record, saving it with its history, in
batches. Three bare ways stand beside it, each in one transaction, into the same tables under
the same pragmas, with as many rows:

    validated       csv.DictReader, each row a validated record, its JSON, executemany
    from the file   csv.DictReader, json.dumps of each row as it stands, executemany
    from memory     executemany alone, of the finished rows of our catalogue

Goal: at least half as fast as the bare way that validates, too. The other two say what
validating and understanding cost.
Run: python -m benchmarks.importing
"""

from __future__ import annotations

import csv
import json
import random
import sqlite3
import tempfile
import time
from contextlib import closing
from pathlib import Path

import openpyxl

from archive.lists import read_list
from archive.records import Pattern
from archive.records.settings import CollectionSettings
from archive.store import create_collection, open_collection
from archive.vocabulary import techniques
from archive.workflows.importing import import_list

Content = dict[str, list[tuple[object, ...]]]

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


def reading_seconds(path: Path) -> float:
    """The wall time of understanding and validating the list."""
    begun = time.perf_counter()
    read_list(path)
    return time.perf_counter() - begun


def from_file_seconds(path: Path, folder: Path) -> float:
    """The wall time of the shortest script that takes a list in: nothing is understood."""
    create_collection(folder, CollectionSettings(name="Benchmark"))
    with closing(open_bare(folder)) as target:
        begun = time.perf_counter()
        content: Content = {table: [] for table in TABLES}
        with path.open(encoding="utf-8", newline="") as file:
            for number, row in enumerate(csv.DictReader(file), 1):
                record = json.dumps(row, ensure_ascii=False)
                content["patterns"].append((number, row["Shelfmark"], row["Title"], record))
                content["changes"].append((number, 1, "now", "imported", record))
                for position, technique in enumerate(row["Techniques"].split("; ")):
                    link = (number, position, technique, "practised")
                    content["technique_uses"].append(link)
        insert(target, content)
        return time.perf_counter() - begun


def validated_seconds(path: Path, folder: Path, ids: dict[str, str]) -> float:
    """The wall time of a script that validates each record and understands only its columns.

    `ids` spares it the looking-up of technique names.
    """
    create_collection(folder, CollectionSettings(name="Benchmark"))
    with closing(open_bare(folder)) as target:
        begun = time.perf_counter()
        content: Content = {table: [] for table in TABLES}
        with path.open(encoding="utf-8", newline="") as file:
            for number, row in enumerate(csv.DictReader(file), 1):
                uses = [ids[name] for name in row["Techniques"].split("; ")]
                pattern = Pattern.model_validate(
                    {
                        "shelfmark": row["Shelfmark"],
                        "title": row["Title"],
                        "techniques": [{"technique": use} for use in uses],
                        "pairs": {"stated": {"start": int(row["Pairs"].split()[0])}},
                        "threads": [{"label": row["Thread"]}],
                        "size": {"width_mm": float(row["Width"].split()[0])},
                        "designer": {"name": row["Designer"]},
                        "source": {"title": row["Source"]},
                        "internal": {"location": row["Location"]},
                    }
                )
                record = pattern.model_dump_json(exclude_defaults=True)
                content["patterns"].append((number, pattern.shelfmark, pattern.title, record))
                content["changes"].append((number, 1, "now", "imported", record))
                for position, use in enumerate(uses):
                    content["technique_uses"].append((number, position, use, "practised"))
        insert(target, content)
        return time.perf_counter() - begun


def from_memory_seconds(full: Path, folder: Path) -> float:
    """The wall time of writing the rows of the catalogue `full` into an empty one."""
    create_collection(folder, CollectionSettings(name="Benchmark"))
    with closing(sqlite3.connect(full / "catalogue.db")) as source:
        content = {table: source.execute(f"SELECT * FROM {table}").fetchall() for table in TABLES}
    assert len(content["technique_uses"]) == ROWS * TECHNIQUES_A_ROW
    with closing(open_bare(folder)) as target:
        begun = time.perf_counter()
        insert(target, content)
        return time.perf_counter() - begun


def open_bare(folder: Path) -> sqlite3.Connection:
    """A connection without any help, under the pragmas of the catalogue."""
    connection = sqlite3.connect(folder / "catalogue.db", isolation_level=None)
    for pragma in PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")
    return connection


def insert(target: sqlite3.Connection, content: Content) -> None:
    """All rows of all tables in one transaction."""
    target.execute("BEGIN IMMEDIATE")
    for table, rows in content.items():
        marks = ", ".join("?" * len(rows[0]))
        target.executemany(f"INSERT INTO {table} VALUES ({marks})", rows)
    target.execute("COMMIT")


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
        ids = {technique.name: technique.id for technique in techniques()}
        times: dict[str, list[float]] = {}
        for number in range(ROUNDS):
            folders = [Path(scratch, f"{number} {turn}") for turn in range(5)]
            turns = (
                ("import of CSV", import_seconds(text, folders[0])),
                ("import of .xlsx", import_seconds(workbook, folders[1])),
                ("bare, validated", validated_seconds(text, folders[4], ids)),
                ("bare, from the file", from_file_seconds(text, folders[2])),
                ("bare, from memory", from_memory_seconds(folders[0], folders[3])),
                ("reading CSV alone", reading_seconds(text)),
            )
            for name, took in turns:
                times.setdefault(name, []).append(took)
    fastest = {name: min(seconds) for name, seconds in times.items()}
    for name, seconds in fastest.items():
        goal = " (goal: at least 0.5)" if name == "import of CSV" else ""
        print(
            f"{name:20} {ROWS / seconds:8,.0f} rows/s   of bare, "
            f"validated {fastest['bare, validated'] / seconds:.2f}{goal}, "
            f"from the file {fastest['bare, from the file'] / seconds:.2f}, "
            f"from memory {fastest['bare, from memory'] / seconds:.2f}"
        )


if __name__ == "__main__":
    main()
