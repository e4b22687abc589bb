import pytest

from archive.errors import InvalidRecord, UnknownField
from archive.records import Pattern
from archive.records.reading import field_paths, read_pattern, with_fields


def test_all_faults_of_a_record_are_named_at_once() -> None:
    with pytest.raises(InvalidRecord) as caught:
        read_pattern({"shelfmark": "P 1", "kind": "edgin", "size": {"width_mm": -2}})
    fields = [field for field, _ in caught.value.faults]
    assert fields == ["kind", "size.width_mm"]
    assert "edging" in caught.value.problem


def test_an_unknown_field_names_the_nearest_one() -> None:
    with pytest.raises(UnknownField) as caught:
        read_pattern({"shelfmark": "P 1", "size": {"widht_mm": 3}})
    assert "size.width_mm" in caught.value.nearest


def test_typed_text_is_read_as_the_field_asks() -> None:
    pattern = with_fields(
        Pattern(shelfmark="P 1"),
        {
            "title": "no",
            "corner": "yes",
            "size.width_mm": "25.5",
            "pairs.stated.start": "18",
            "families": "[bucks]",
            "internal.location": "12",
            "gimps.singles": "2",
        },
    )
    assert pattern.title == "no"
    assert pattern.corner is True
    assert pattern.size.width_mm == 25.5
    assert pattern.pairs.stated is not None
    assert pattern.pairs.stated.start == 18
    assert pattern.families == ("bucks",)
    assert pattern.internal.location == "12"
    assert pattern.gimps is not None
    assert pattern.gimps.singles == 2


def test_the_paths_are_those_of_the_record() -> None:
    paths = field_paths()
    assert {"title", "internal.donor", "pairs.stated.start", "rights.design.holder"} <= set(paths)
    assert "pairs" not in paths
    assert "techniques" in paths


def test_an_empty_value_empties_the_field() -> None:
    full = with_fields(
        Pattern(shelfmark="P 1", title="Fern"), {"families": "[bucks]", "pairs.stated.start": "9"}
    )
    emptied = with_fields(full, {"title": "", "families": "", "pairs": ""})
    assert emptied == Pattern(shelfmark="P 1")
