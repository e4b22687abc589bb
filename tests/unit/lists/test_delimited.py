from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.errors import UnreadableFile
from archive.lists.delimited import activated, inert, read_delimited

PATH = Path("list.csv")
ROWS = [
    ["Signatur", "Titel", "Breite", "Technik"],
    ["P-1", "Rosengärtchen", "2,5 cm", "Tüllgrund; Picot"],
    ["P-2", "Étoile", "", "point ground, gimp"],
]


def written(separator: str) -> str:
    """The rows with quotation marks only where the separator makes them necessary."""
    lines = [
        separator.join(f'"{cell}"' if separator in cell else cell for cell in row) for row in ROWS
    ]
    return "\r\n".join(lines) + "\r\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_the_same_list_is_read_from_every_way_of_saving_it(separator: str, encoding: str) -> None:
    assert read_delimited(written(separator).encode(encoding), PATH).rows == ROWS


def test_a_first_line_may_name_the_separator() -> None:
    rows = read_delimited(b"sep=|\r\nShelfmark|Title\r\nP-1|a, b; c\r\n", PATH).rows
    assert rows == [["Shelfmark", "Title"], ["P-1", "a, b; c"]]


def test_rows_are_counted_as_a_spreadsheet_shows_them() -> None:
    """A line break inside quotation marks makes no row; an empty line does."""
    content = b'Our list\n\nShelfmark,Notes\nP-1,"one\ntwo"\n\nP-2,three\n'
    rows = read_delimited(content, PATH).rows
    assert rows[3] == ["P-1", "one\ntwo"]
    assert rows[5] == ["P-2", "three"]
    assert (rows[1], rows[4]) == ([], [])


def test_lines_may_end_as_on_any_computer() -> None:
    for ending in ("\n", "\r\n", "\r"):
        content = ending.join(["Shelfmark,Title", "P-1,a", "P-2,b"]).encode()
        assert len(read_delimited(content, PATH).rows) == 3


def test_empty_cells_at_the_right_edge_do_not_count() -> None:
    content = b"Shelfmark,Title" + b"," * 2000 + b"\nP-1,a" + b"," * 2000 + b"\n"
    assert read_delimited(content, PATH).rows == [["Shelfmark", "Title"], ["P-1", "a"]]


@pytest.mark.parametrize("content", [b'A,B\n1,"x\n2,y\n', b'A,B\n1,"x" y\n', b'A,B\n1,"x\n2,"y"\n'])
def test_a_quotation_mark_without_a_partner_swallows_no_rows(content: bytes) -> None:
    with pytest.raises(UnreadableFile, match="quotation mark in row"):
        read_delimited(content, PATH)


def test_a_quotation_mark_inside_a_cell_is_only_a_sign() -> None:
    rows = read_delimited(b'Shelfmark,Width\nP-1,1" wide\nP-2,"2"" wide"\n', PATH).rows
    assert [row[1] for row in rows] == ["Width", '1" wide', '2" wide']


@given(st.text())
def test_what_is_made_inert_is_read_back_unchanged(words: str) -> None:
    assert activated(inert(words)) == words
    assert not inert(words).startswith(("=", "+", "-", "@", "\t", "\r"))
