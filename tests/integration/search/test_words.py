"""What words find: under which names, in which order, and what is said when nothing is found."""

from typing import Any

from archive.records import Entry
from archive.search import Answer, Nearly
from tests.integration.search.conftest import Ask


def entry(shelfmark: str, **fields: Any) -> Entry:
    return Entry.model_validate({"shelfmark": shelfmark, **fields})


def marks(answer: Answer) -> list[str]:
    return [hit.shelfmark for hit in answer.hits]


HALF = entry("H 1", title="Sampler strip", techniques=[{"technique": "half_stitch"}])
RING = entry("R 1", title="Buds", techniques=[{"technique": "honeycomb_ring"}])
TONDER = entry("T 1", title="Møllen", families=["toender"], kind="corner_edging")


def test_a_technique_is_found_under_its_names_in_other_languages(ask: Ask) -> None:
    """German and French names: Die Klöppelspitzen; Kellogg, Bobbins of Belgium, 1920."""
    for words in ("half stitch", "Halbschlag", "HALBSCHLAG", "grillé"):
        assert marks(ask([HALF, RING, TONDER], words=words)) == ["H 1"]


def test_a_broader_name_finds_what_is_narrower(ask: Ask) -> None:
    assert marks(ask([HALF, RING, TONDER], words="honeycomb ground")) == ["R 1"]
    assert marks(ask([HALF, RING, TONDER], words="edging")) == ["T 1"]
    assert marks(ask([HALF, RING, TONDER], words="point ground")) == ["T 1"]


def test_letters_with_and_without_their_marks_find_each_other(ask: Ask) -> None:
    for words in ("Møllen", "mollen", "MOLLEN", "Tønder", "tonder"):
        assert marks(ask([HALF, RING, TONDER], words=words)) == ["T 1"]


def test_every_part_that_may_be_searched_is_found_and_named(ask: Ask) -> None:
    full = entry(
        "Bx-7", title="Wa", other_titles=["Wb"], designer={"status": "named", "name": "Wc"},
        source={"title": "Wd", "edition": "We", "page": "Wf", "issue": "Wg"},
        working_notes=[{"text": "Wh"}], corrections=[{"fault": "Wi", "remedy": "Wj"}],
        threads=[{"label": "Wk", "fibre": "Wl", "use": "Wm"}], period="Wn", material="Wo",
        unparsed=[{"field": "x", "words": "Wp"}], techniques=[{"technique": "picot"}],
        families=["torchon"], kind="mat",
    )  # fmt: skip
    places = {
        "bx": "shelfmark", "wa": "title", "wb": "title", "wc": "designer", "wd": "source",
        "we": "source", "wf": "source", "wg": "source", "wh": "notes", "wi": "corrections",
        "wj": "corrections", "wk": "thread", "wl": "thread", "wm": "thread", "wn": "period",
        "wo": "material", "wp": "not understood", "picots": "technique", "torchon": "family",
        "doily": "kind",
    }  # fmt: skip
    for word, part in places.items():
        hits = ask([full, HALF], words=word).hits
        assert [hit.matched for hit in hits] == [(f"{part}: {word}",)]


def test_internal_fields_are_not_searched_by_words(ask: Ask) -> None:
    secret = {name: f"canary{name}" for name in ("provenance", "donor", "location", "valuation")}
    hidden = entry("S 1", internal={**secret, "private_notes": "canarynotes"})
    assert ask([hidden], words="canary").total == 0


def test_one_letter_is_a_word_and_not_the_beginning_of_one(ask: Ask) -> None:
    lettered = [entry("L 1", title="Strip C"), entry("L 2", title="Strip Crocus")]
    assert marks(ask(lettered, words="strip c")) == ["L 1"]


def test_the_last_word_may_be_begun_but_no_other(ask: Ask) -> None:
    two = [entry("L 1", title="Crocus wreath"), entry("L 2", title="Wreath")]
    assert marks(ask(two, words="wreath cro")) == ["L 1"]
    assert marks(ask(two, words="cro wreath")) == []


def test_all_words_must_stand_somewhere_in_the_record(ask: Ask) -> None:
    two = [
        entry("L 1", title="Crocus", working_notes=[{"text": "Start at the fern."}]),
        entry("L 2", title="Crocus"),
    ]
    answer = ask(two, words="crocus fern")
    assert marks(answer) == ["L 1"]
    assert answer.hits[0].matched == ("title: crocus", "notes: fern")


def test_a_word_in_the_title_counts_before_one_in_the_notes(ask: Ask) -> None:
    two = [
        entry("L 1", title="Wreath", working_notes=[{"text": "Not the crocus of the next sheet."}]),
        entry("L 2", title="Crocus"),
        entry("L 3", title="Wreath"),
    ]
    assert marks(ask(two, words="crocus")) == ["L 2", "L 1"]


def test_the_whole_word_counts_before_one_that_begins_so(ask: Ask) -> None:
    two = [entry("L 1", title="Fernery"), entry("L 2", title="Fern")]
    assert marks(ask(two, words="fern")) == ["L 2", "L 1"]


def test_where_no_record_has_all_words_the_answer_says_how_many_have_most(ask: Ask) -> None:
    three = [
        entry("L 1", title="Crocus fern"),
        entry("L 2", title="Fern wreath"),
        entry("L 3", title="Fern"),
    ]
    answer = ask(three, words="crocus wreath fern")
    assert answer.total == 0
    assert answer.nearly == Nearly(words=2, asked=3, patterns=2)
    assert answer.did_you_mean == ()


def test_records_that_fail_a_filter_are_no_near_match(ask: Ask) -> None:
    two = [entry("L 1", title="Crocus", kind="mat"), entry("L 2", title="Crocus")]
    answer = ask(two, words="crocus wreath", kinds=("mat",))
    assert answer.nearly == Nearly(words=1, asked=2, patterns=1)


def test_a_misspelt_word_brings_a_suggestion_and_a_known_one_does_not(ask: Ask) -> None:
    assert ask([RING, HALF], words="honycomb").did_you_mean == ("honeycomb",)
    assert ask([RING, HALF], words="sampler honycomb").did_you_mean == ("sampler honeycomb",)
    assert ask([RING, HALF], words="honeycomb").did_you_mean == ()
    assert ask([RING, HALF], words="honeycomb sampler").did_you_mean == ()


def test_words_of_signs_alone_find_nothing(ask: Ask) -> None:
    assert ask([RING, HALF], words="?!").total == 0


def test_blanks_are_no_words(ask: Ask) -> None:
    assert ask([RING, HALF], words="  ").total == 2


def test_a_thousand_rows_keep_their_words_apart(ask: Ask) -> None:
    """Whoosh hands postings over word by word; none may slip to a neighbour."""
    many = [entry(f"N {number}", title=f"w{number} shared") for number in range(1000)]
    assert ask(many, words="shared").total == 1000
    for number in (0, 1, 9, 10, 99, 100, 998, 999):
        assert marks(ask(many, words=f"w{number} shared")) == [f"N {number}"]
