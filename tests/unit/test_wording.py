from hypothesis import given
from hypothesis import strategies as st

from archive.wording import fold, nearest


@given(st.text())
def test_folding_twice_is_folding_once(text: str) -> None:
    assert fold(fold(text)) == fold(text)


def test_accents_case_dashes_and_apostrophes_do_not_count() -> None:
    assert fold("Tønder–Spitze") == fold("TONDER spitze")
    assert fold("point d’esprit") == fold("point d'esprit") == "point desprit"


def test_the_nearest_word_comes_first() -> None:
    assert nearest("honycomb", ["picot", "honeycomb", "gimp"])[0] == "honeycomb"
    assert nearest("zzzz", ["picot", "honeycomb"]) == []
