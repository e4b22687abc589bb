import datetime as dt

import pytest

from archive.lists.cells import find_date, read_date
from archive.lists.texts import (
    COMPANION,
    NamedRelation,
    read_condition,
    read_corrections,
    read_designer,
    read_relations,
    read_right,
    read_source,
    settle_relation,
    working_notes_reader,
)
from archive.records import Correction, Designer, Relation, Right, WorkingNote

MAY = dt.date(2021, 5, 12)


@pytest.mark.parametrize(
    "words",
    [
        "2021-05-12",
        "12 May 2021",
        "12th May 2021",
        "May 12, 2021",
        "12.5.2021",
        "12. Mai 2021",
        "12 mai 2021",
        "12 mei 2021",
        "2021-05-12 00:00:00",
    ],
)
def test_a_day_is_read_however_it_is_written(words: str) -> None:
    assert find_date(words) == MAY


@pytest.mark.parametrize("words", ["12/05/2021", "31.2.2021", "May 2021", "2021", "12.5.21", "x"])
def test_a_day_that_is_not_certain_is_not_guessed(words: str) -> None:
    value, remarks = read_date(words)
    assert value is None
    assert [(about.code, about.kept) for about in remarks] == [("unclear-date", words)]


def test_day_and_month_in_figures_are_read_where_only_one_order_is_possible() -> None:
    assert find_date("13/05/2021") == find_date("05/13/2021") == dt.date(2021, 5, 13)
    assert find_date("5/5/2021") == dt.date(2021, 5, 5)


@pytest.mark.parametrize(
    ("words", "designer"),
    [
        ("trad.", Designer(status="traditional")),
        ("Traditional (Bucks)", Designer(status="traditional", evidence="Bucks")),
        ("unbekannt", Designer()),
        ("R. Q.", Designer(status="named", name="R. Q.")),
        ("R. Q. (signed)", Designer(status="named", name="R. Q.", evidence="signed")),
        ("R. Q.?", Designer(evidence="R. Q.?")),
    ],
)
def test_a_designer_is_named_traditional_or_unknown(words: str, designer: Designer) -> None:
    assert read_designer(words) == (designer, ())


@pytest.mark.parametrize(
    ("words", "source"),
    [
        ("Lace by Lamplight, p. 12", {"title": "Lace by Lamplight", "page": "12"}),
        ("Lace by Lamplight (pp 12-14)", {"title": "Lace by Lamplight", "page": "12-14"}),
        (
            "Lace by Lamplight, 2nd ed., p. 12",
            {"title": "Lace by Lamplight", "edition": "2nd ed.", "page": "12"},
        ),
        ("The Mere Letter no. 14, p 3", {"title": "The Mere Letter", "issue": "14", "page": "3"}),
        (
            "Kleine Ränder, 3. Auflage, S. 9",
            {"title": "Kleine Ränder", "edition": "3. Auflage", "page": "9"},
        ),
        ("workshop sheet", {"title": "workshop sheet"}),
    ],
)
def test_a_source_gives_up_its_page(words: str, source: dict[str, str]) -> None:
    assert read_source(words) == (source, ())


@pytest.mark.parametrize(
    ("words", "right"),
    [
        ("CC0", Right(statement="cc0")),
        ("CC BY 4.0 (the guild)", Right(statement="cc_by", basis="the guild")),
        ("CC BY; holder: the guild", Right(statement="cc_by", holder="the guild")),
        ("https://creativecommons.org/publicdomain/zero/1.0/", Right(statement="cc0")),
        ("public domain; printed 1898", Right(statement="pdm", basis="printed 1898")),
        ("© R. Q. 1998", Right(statement="inc", holder="R. Q.", basis="© R. Q. 1998")),
        ("in copyright, permission letter L-3", Right(statement="inc", permission_letter="L-3")),
        ("not evaluated", Right(statement="cne")),
    ],
)
def test_rights_are_statements_of_the_closed_list(words: str, right: Right) -> None:
    assert read_right(words) == (right, ())


@pytest.mark.parametrize("words", ["old", "traditional", "free to use", "mine"])
def test_rights_are_never_guessed(words: str) -> None:
    value, remarks = read_right(words)
    assert value is None
    assert [(about.code, about.kept) for about in remarks] == [("unknown-rights", words)]


def test_relations_name_their_patterns() -> None:
    value, remarks = read_relations(
        "corner for P-12 and P-13; redraft of X 3; same pricking as T-4; P-1; companion to P-7"
    )
    assert value == (
        NamedRelation("corner for", "P-12"),
        NamedRelation("corner for", "P-13"),
        NamedRelation("redraft of", "X 3"),
        NamedRelation("same pricking in another thread", "T-4"),
        NamedRelation("see also", "P-1"),
        NamedRelation(COMPANION, "P-7"),
    )
    assert remarks == ()
    assert read_relations("the other one").remarks[0].code == "unclear-relation"


def test_a_companion_is_what_the_other_pattern_is() -> None:
    named = NamedRelation(COMPANION, "P-7")
    assert settle_relation(named, {"P-7": "insertion"}) == Relation(
        kind="companion insertion", shelfmark="P-7"
    )
    assert settle_relation(named, {"P-7": "corner_edging"}) == Relation(
        kind="companion edging", shelfmark="P-7"
    )
    assert settle_relation(named, {"P-7": "mat"}) is None


def test_working_notes_are_steps_in_order() -> None:
    read = working_notes_reader("order")
    steps = tuple(WorkingNote(text=text) for text in ("Hang on at A.", "Go to pin 3.", "Turn."))
    assert read("1. Hang on at A. 2. Go to pin 3. 3. Turn.").value == steps
    assert read("1) Hang on at A.\n2) Go to pin 3.\nTurn.").value == steps
    assert read("Use pin 2. It holds.").value == (WorkingNote(text="Use pin 2. It holds."),)


def test_a_label_says_what_a_note_is_about() -> None:
    assert working_notes_reader("order")("Start: at A\nCareful: twist twice\nTip: sit").value == (
        WorkingNote(about="start", text="at A"),
        WorkingNote(about="easily wrong", text="twist twice"),
        WorkingNote(about="tip", text="sit"),
    )


def test_corrections_have_a_day_and_a_remedy() -> None:
    value, remarks = read_corrections(
        "12 May 2021: a hole is missing -> prick it; 2021-05-12: one too many\nthe third too"
    )
    assert value == (
        Correction(date=MAY, fault="a hole is missing", remedy="prick it"),
        Correction(date=MAY, fault="one too many"),
        Correction(fault="the third too"),
    )
    assert remarks == ()
    assert read_corrections("a hole too many (12 May 2021)").value == (
        Correction(date=MAY, fault="a hole too many"),
    )


@pytest.mark.parametrize("month", ["May 2021", "2021-05", "2021", "3/4/2021"])
def test_a_correction_without_a_certain_day_keeps_its_words(month: str) -> None:
    value, remarks = read_corrections(f"{month}: a hole is missing")
    assert value == (Correction(fault=f"{month}: a hole is missing"),)
    assert [(about.code, about.found) for about in remarks] == [("unclear-date", month)]


def test_a_condition_may_end_in_the_day_it_was_checked() -> None:
    assert read_condition("good, checked 12 May 2021").value == {"state": "good", "checked": MAY}
    assert read_condition("cockled; not checked").value == {"state": "cockled; not checked"}
