import pytest
from pydantic import ValidationError

from archive.records import (
    Entry,
    Gimps,
    PairCount,
    PairEstimate,
    Pairs,
    Pattern,
    Right,
    Rights,
    TechniqueUse,
)


def test_a_technique_must_be_in_the_vocabulary_and_the_nearest_is_named() -> None:
    with pytest.raises(ValidationError, match="picot"):
        Pattern(shelfmark="P 1", techniques=(TechniqueUse(technique="piccot"),))


@pytest.mark.parametrize("mark", ["", "   ", "a\nb", "x" * 81])
def test_a_shelfmark_is_one_visible_line(mark: str) -> None:
    with pytest.raises(ValidationError):
        Pattern(shelfmark=mark)


def test_unknown_fields_are_refused() -> None:
    with pytest.raises(ValidationError, match="colour"):
        Pattern.model_validate({"shelfmark": "P 1", "colour": "red"})


def test_pairs_prefer_counted_to_stated_to_estimated() -> None:
    estimate = PairEstimate(value=20, low=18, high=22)
    stated = PairCount(start=16, most=18)
    assert Pairs().best is None
    assert Pairs(estimated=estimate).best == 20
    assert Pairs(estimated=estimate, stated=stated).best == 18
    assert Pairs(estimated=estimate, stated=stated, counted=PairCount(start=17)).best == 17
    assert Pairs(estimated=estimate, stated=PairCount(corner_extra=2)).how == "estimated"


def test_a_gimp_is_unknown_until_somebody_says() -> None:
    assert Pattern(shelfmark="1").has_gimp is None
    assert Pattern(shelfmark="1", gimps=Gimps()).has_gimp is False
    assert Pattern(shelfmark="1", techniques=(TechniqueUse(technique="gimp"),)).has_gimp is True


def test_a_corner_is_told_by_the_kind_and_the_techniques_where_nobody_says() -> None:
    assert Pattern(shelfmark="1").has_corner is None
    assert Pattern(shelfmark="1", kind="corner_edging").has_corner is True
    assert Pattern(shelfmark="1", techniques=(TechniqueUse(technique="corner"),)).has_corner is True
    assert Pattern(shelfmark="1", kind="corner_edging", corner=False).has_corner is False


def test_a_right_nobody_looked_at_allows_no_picture() -> None:
    free = Right(statement="cc0")
    assert not Rights().allow_picture_of("pricking")
    assert not Rights(pricking=free).allow_picture_of("pricking"), "the design is not cleared"
    assert Rights(design=free, pricking=free).allow_picture_of("pricking")


def test_a_protected_sheet_needs_a_letter_of_permission() -> None:
    without = Right(statement="inc")
    with_letter = Right(statement="inc", permission_letter="2024/7")
    unclear = Right(statement="und", permission_letter="2024/7")
    assert not Rights(design=without, pricking=without).allow_picture_of("pricking")
    assert Rights(design=with_letter, pricking=with_letter).allow_picture_of("pricking")
    assert not Rights(design=unclear, pricking=unclear).allow_picture_of("pricking")


def test_an_entry_gives_its_bare_record_back() -> None:
    pattern = Pattern(shelfmark="P 1", title="Fern", techniques=(TechniqueUse(technique="picot"),))
    entry = Entry.model_validate(pattern.model_dump())
    assert entry.pattern == pattern
