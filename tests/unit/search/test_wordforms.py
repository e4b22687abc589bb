"""How text becomes words, and which forms of a word are found together."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.search.wordforms import forms_of, words_of, words_to_find
from archive.wording import fold


def test_one_letter_words_and_digits_are_words() -> None:
    assert words_of("C and T, 80/2 No. 5") == ["c", "and", "t", "80", "2", "no", "5"]


def test_no_word_is_left_out_as_too_common() -> None:
    assert words_of("the and of to a") == ["the", "and", "of", "to", "a"]


def test_accents_case_and_apostrophes_do_not_count() -> None:
    assert words_of("TØNDER h’comb entre-deux") == ["tonder", "hcomb", "entre", "deux"]


def test_a_name_behind_an_elided_article_is_found_without_it() -> None:
    assert words_to_find("fond d’Armure, l'Aquila") == [
        "fond",
        "darmure",
        "armure",
        "laquila",
        "aquila",
    ]
    assert words_to_find("h'comb") == ["hcomb"]


@given(st.text())
def test_words_are_those_of_the_folded_text(text: str) -> None:
    """Folding piece by piece, which is faster, equals folding the whole."""
    assert " ".join(words_of(text)) == " ".join(words_of(fold(text)))


@given(st.text())
def test_a_text_is_found_by_all_of_its_words(text: str) -> None:
    assert set(words_of(text)) <= set(words_to_find(text))


# Common practice, no source: English spelling.
PLURALS = [
    ("picot", "picots"),
    ("stitch", "stitches"),
    ("tally", "tallies"),
    ("leaf", "leaves"),
    ("handkerchief", "handkerchiefs"),
    ("knife", "knives"),
    ("cross", "crosses"),
    ("rose", "roses"),
    ("iris", "irises"),
    ("box", "boxes"),
    ("braid", "braids"),
    ("key", "keys"),
    ("pixie", "pixies"),
    ("axe", "axes"),
    ("mat", "mats"),
]


@pytest.mark.parametrize(("one", "many"), PLURALS)
def test_the_singular_finds_the_plural_and_the_plural_the_singular(one: str, many: str) -> None:
    assert many in forms_of(one)
    assert one in forms_of(many)


@pytest.mark.parametrize("word", ["c", "80", "r2", "de", "p7"])
def test_short_words_and_marks_have_no_other_form(word: str) -> None:
    assert forms_of(word) == (word,)


@pytest.mark.parametrize(
    ("word", "other"),
    [("ring", "r"), ("cross", "cros"), ("iris", "iri"), ("bus", "bu"), ("lace", "lac")],
)
def test_an_s_that_belongs_to_the_word_stays(word: str, other: str) -> None:
    assert other not in forms_of(word)


@given(st.text(st.characters(categories=["Ll"]), min_size=1))
def test_a_word_is_its_own_first_form(word: str) -> None:
    assert forms_of(word)[0] == word
