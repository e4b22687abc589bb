import io
import json
import tomllib
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from archive.lists import ListReading, read_list, read_table
from archive.records.settings import read_settings
from archive.resources import DEMO_COLLECTION
from demo_collection.listing.rows import list_rows, sheet_name
from demo_collection.listing.workbook import workbook_bytes

LIST = DEMO_COLLECTION / "list.xlsx"


@pytest.fixture(scope="module")
def reading() -> ListReading:
    return read_list(LIST)


@pytest.fixture(scope="module")
def drawn() -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = json.loads(
        (DEMO_COLLECTION / "index.json").read_text(encoding="utf-8")
    )
    return entries


def test_the_list_is_as_its_sources_say(tmp_path: Path) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(workbook_bytes(list_rows(), sheet_name=sheet_name()))
    assert read_table(path) == read_table(LIST)


def test_writing_the_list_twice_gives_the_same_bytes() -> None:
    once, twice = (workbook_bytes(list_rows(), sheet_name=sheet_name()) for _ in range(2))
    assert once == twice
    assert openpyxl.load_workbook(io.BytesIO(once)).sheetnames == ["Prickings"]


def test_the_list_holds_at_least_sixty_records_and_forty_five_prickings(
    reading: ListReading, drawn: list[dict[str, Any]]
) -> None:
    shelfmarks = {pattern.shelfmark for _, pattern in reading.patterns}
    assert len(shelfmarks) >= 60
    assert {entry["shelfmark"] for entry in drawn} <= shelfmarks
    assert len(drawn) == 45


def test_what_needs_a_person_is_what_was_made_untidy(reading: ListReading) -> None:
    assert [(finding.shelfmark, finding.code) for finding in reading.findings] == [
        (None, "unknown-column"),
        ("B-03", "unknown-technique"),
        ("B-04", "thread-without-system"),
        ("B-05", "unclear-pairs"),
        ("B-05", "unclear-difficulty"),
        ("S-02", "ditto-mark"),
        ("S-03", "unknown-rights"),
        ("M-02", "became-a-date"),
        ("M-03", "thread-without-system"),
        ("W-01", "unclear-date"),
    ]
    assert [(refused.shelfmark, refused.reason) for refused in reading.refused] == [
        ("B-02", "Row 53 has the same shelfmark and says something else.")
    ]


def test_the_list_says_what_the_recipes_say(
    reading: ListReading, drawn: list[dict[str, Any]]
) -> None:
    """Recipe → the librarian's words → reader: nothing has changed on the way."""
    patterns = {pattern.shelfmark: pattern for _, pattern in reading.patterns}
    for entry in drawn:
        pattern = patterns[entry["shelfmark"]]
        assert pattern.title == entry["title"]
        assert list(pattern.families) == entry["families"]
        assert pattern.kind == entry["kind"]
        assert {(use.technique, use.role) for use in pattern.techniques} == {
            (use["id"], use["role"]) for use in entry["techniques"]
        }
        assert pattern.pairs.stated is not None
        extra = entry["pairs"]["corner_extra"]
        assert pattern.pairs.best == entry["pairs"]["max"] - extra
        assert (pattern.pairs.stated.corner_extra or 0) == extra
        assert pattern.has_gimp in (bool(entry["gimps"]), None)
        assert pattern.threads[0].label == entry["thread"]
        assert pattern.difficulty.level == entry["difficulty"]
        assert pattern.size.width_mm == pytest.approx(entry["width_mm"])
        assert bool(pattern.corner) == entry["corner"]
        assert len(pattern.corrections) == len(entry["corrections"])
        assert all(correction.date for correction in pattern.corrections)
        assert [note.text for note in pattern.working_notes] == [
            *entry["working_notes"],
            entry["easily_wrong"],
        ]


def test_related_patterns_are_in_the_list(reading: ListReading) -> None:
    shelfmarks = {pattern.shelfmark for _, pattern in reading.patterns}
    related = [one for _, pattern in reading.patterns for one in pattern.related]
    assert {one.shelfmark for one in related} <= shelfmarks
    assert {one.kind for one in related} == {
        "companion insertion",
        "companion edging",
        "corner for",
        "redraft of",
        "copy of",
        "same pricking in another thread",
        "see also",
    }


def test_most_prickings_may_be_shown_and_some_may_not(
    reading: ListReading, drawn: list[dict[str, Any]]
) -> None:
    names = {entry["shelfmark"] for entry in drawn}
    shown = {
        pattern.shelfmark
        for _, pattern in reading.patterns
        if pattern.shelfmark in names and pattern.rights.allow_picture_of("pricking")
    }
    assert names - shown == {"P-21", "K-03"}


def test_the_settings_of_the_demo_are_valid() -> None:
    path = DEMO_COLLECTION / "collection.toml"
    text = path.read_text(encoding="utf-8")
    assert read_settings(text, path).name == tomllib.loads(text)["name"]
