from archive.records import Internal, PairCount, PairEstimate, Pairs, Pattern, Size
from archive.records.merging import merge_listed

LISTED = Pattern(
    shelfmark="P 1",
    title="Fern",
    pairs=Pairs(stated=PairCount(start=18)),
    internal=Internal(location="Box 12"),
)


def test_the_same_list_again_changes_nothing_not_even_an_edit() -> None:
    edited = LISTED.model_copy(update={"title": "Fern edging", "size": Size(width_mm=25)})
    assert merge_listed(edited, LISTED, before=LISTED) == (edited, [])


def test_a_new_word_of_the_list_is_taken_and_the_rest_stays() -> None:
    estimate = PairEstimate(value=18, low=16, high=20)
    current = LISTED.model_copy(
        update={"pairs": Pairs(stated=PairCount(start=18), estimated=estimate)}
    )
    newer = LISTED.model_copy(update={"pairs": Pairs(stated=PairCount(start=20))})
    merged, clashes = merge_listed(current, newer, before=LISTED)
    assert merged.pairs == Pairs(stated=PairCount(start=20), estimated=estimate)
    assert merged.internal.location == "Box 12"
    assert clashes == []


def test_what_both_sides_changed_is_told_and_the_list_is_taken() -> None:
    edited = LISTED.model_copy(update={"title": "Fern edging"})
    newer = LISTED.model_copy(update={"title": "Bracken"})
    merged, clashes = merge_listed(edited, newer, before=LISTED)
    assert merged.title == "Bracken"
    assert [(clash.field, clash.catalogue, clash.listed) for clash in clashes] == [
        ("title", "Fern edging", "Bracken")
    ]
    assert merge_listed(merged, newer, before=merged) == (merged, []), "the second time is quiet"


def test_an_emptied_cell_takes_nothing_away() -> None:
    emptied = Pattern(shelfmark="P 1", title="Fern")
    merged, _ = merge_listed(LISTED, emptied, before=LISTED)
    assert merged == LISTED
