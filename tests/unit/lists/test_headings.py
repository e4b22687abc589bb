import textwrap
from pathlib import Path

import pytest
import yaml

from archive.errors import InputError, UnknownField, UnreadableFile
from archive.lists.filling import filling_for
from archive.lists.headings import (
    LISTS,
    NOTE,
    Column,
    fields,
    find_headings,
    read_column_map,
    suggested_field,
)
from archive.lists.words import plain
from archive.resources import SCHEMA

PATH = Path("list.csv")


def fields_of(*headings: str) -> list[str | None]:
    return [column.field for column in find_headings([list(headings)], PATH).columns]


@pytest.mark.parametrize(
    "headings",
    [
        ("Shelfmark", "Title", "Pairs", "Techniques", "Width (mm)", "Difficulty"),
        ("Ref. no.", "Pattern name", "No. of pairs", "Stitches used", "Width in mm", "LEVEL"),
        ("Signatur", "Titel", "Anzahl Paare", "Technik", "Breite (cm)", "Schwierigkeitsgrad"),
        ("Cote", "Titre", "Nombre de paires", "Points", "Largeur, cm", "Difficulté"),
        ("Inventarisnummer", "Naam", "Aantal paren", "Technieken", "Breedte mm", "Moeilijkheid"),
    ],
)
def test_headings_are_recognised_in_several_wordings(headings: tuple[str, ...]) -> None:
    assert fields_of(*headings) == [
        "shelfmark",
        "title",
        "pairs",
        "techniques",
        "size.width_mm",
        "difficulty",
    ]


def test_a_heading_may_name_its_unit_or_count_on() -> None:
    columns = find_headings([["Nr", "Width (cm)", "Technique 1", "Technique 2"]], PATH).columns
    assert [(column.field, column.unit_mm) for column in columns] == [
        ("shelfmark", None),
        ("size.width_mm", 10),
        ("techniques", None),
        ("techniques", None),
    ]


def test_titles_above_the_headings_are_passed_over() -> None:
    rows: list[list[str]] = [["Our prickings"], [], ["January", "", "page 1"], ["No", "Title"]]
    assert find_headings([list(row) for row in rows], PATH).row == 4


def test_a_row_of_the_list_is_not_taken_for_its_headings() -> None:
    rows = [["Shelfmark", "Title", "Kind"], ["P-1", "Corner", "Edging"], ["P-2", "Title", "Page"]]
    assert find_headings([list(row) for row in rows], PATH).row == 1


def test_a_map_names_headings_that_are_not_recognised() -> None:
    rows = [["Zettel", "Colour", "Title"], ["P-1", "red", "x"]]
    found = find_headings(
        [list(row) for row in rows], PATH, {"zettel": "shelfmark", "Colour": NOTE}
    )
    assert [column.field for column in found.columns] == ["shelfmark", NOTE, "title"]


def test_a_list_without_headings_is_mapped_by_letters() -> None:
    rows = [["P-1", "Catchwater", "18"], ["P-2", "Duckling", "20"]]
    found = find_headings([list(row) for row in rows], PATH, {"A": "shelfmark", "C": "pairs"})
    assert found.row == 0
    assert [column.field for column in found.columns] == ["shelfmark", NOTE, "pairs"]


def test_a_list_without_shelfmarks_is_refused_and_told_how_to_name_them() -> None:
    with pytest.raises(InputError, match="no column for the shelfmark") as refusal:
        fields_of("Zettel", "Title", "Pairs")
    assert '"Zettel" = "shelfmark"' in refusal.value.advice


def test_a_map_of_another_list_is_refused() -> None:
    with pytest.raises(InputError, match="no column headed “Tittle”") as refusal:
        find_headings([["Shelfmark", "Title"]], PATH, {"Tittle": "title"})
    assert "“Title”" in refusal.value.advice


def test_every_field_is_a_heading_and_can_be_filled() -> None:
    for field in fields() - {NOTE, "shelfmark"}:
        column = find_headings([["Shelfmark", field]], PATH).columns[1]
        assert column.field == field
        assert filling_for(Column(0, field, field)).most > 0
    assert fields() >= LISTS


def test_no_heading_means_two_fields() -> None:
    words = yaml.safe_load((SCHEMA / "vocabulary/list_words.yaml").read_text(encoding="utf-8"))
    seen: dict[str, str] = {}
    for field, headings in words["headings"].items():
        for heading in headings:
            assert seen.setdefault(plain(heading), field) == field


def test_an_unknown_heading_is_given_the_nearest_field() -> None:
    assert suggested_field("Number of the pairs") == "pairs"
    assert suggested_field("qqq") == NOTE


def test_a_column_map_is_read_from_toml(tmp_path: Path) -> None:
    path = tmp_path / "map.toml"
    path.write_text('"Muster" = "title"\nNr = "shelfmark"\n', encoding="utf-8")
    assert read_column_map(path) == {"Muster": "title", "Nr": "shelfmark"}
    path.write_text('Sort = "Family"\n', encoding="utf-8")
    assert read_column_map(path) == {"Sort": "families"}
    path.write_text('[columns]\n"Muster" = "title"\n', encoding="utf-8")
    assert read_column_map(path) == {"Muster": "title"}


@pytest.mark.parametrize("content", ["no toml", "x = 3", 'columns = "title"\ny = 2', "\x00"])
def test_a_column_map_that_is_none_is_refused(content: str, tmp_path: Path) -> None:
    path = tmp_path / "map.toml"
    path.write_text(textwrap.dedent(content), encoding="utf-8")
    with pytest.raises(UnreadableFile):
        read_column_map(path)


def test_a_column_map_with_an_unknown_field_names_the_nearest(tmp_path: Path) -> None:
    path = tmp_path / "map.toml"
    path.write_text('"Muster" = "tittle"\n', encoding="utf-8")
    with pytest.raises(UnknownField) as refusal:
        read_column_map(path)
    assert "title" in refusal.value.nearest
