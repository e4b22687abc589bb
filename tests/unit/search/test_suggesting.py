"""What is suggested in place of words that stand nowhere."""

from archive.search.suggesting import suggest


def test_a_misspelt_word_of_the_collection_is_recognised() -> None:
    assert suggest(["pomegranete"], ["pomegranete"], ["pomegranate", "granite"])[0] == "pomegranate"


def test_two_letters_in_the_wrong_order_are_one_slip() -> None:
    assert suggest(["picto"], ["picto"], ["pilot"]) == ("picot",)


def test_a_word_of_the_vocabulary_is_suggested_with_its_accents() -> None:
    assert suggest(["klopel"], ["klopel"], [])[0] == "Klöppel"


def test_the_words_that_are_known_stay_in_the_suggestion() -> None:
    assert suggest(["fern", "honycomb"], ["honycomb"], ["fern"]) == ("fern honeycomb",)


def test_words_like_nothing_known_bring_no_suggestion() -> None:
    assert suggest(["fern", "xqzvw"], ["xqzvw"], ["fern"]) == ()


def test_at_most_three_suggestions_are_made_and_none_twice() -> None:
    offered = suggest(["roze"], ["roze"], ["rose", "rosy", "robe", "rope", "role", "roue"])
    assert 1 <= len(offered) <= 3
    assert len(set(offered)) == len(offered)
