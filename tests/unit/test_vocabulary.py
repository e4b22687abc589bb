import networkx
import pytest

from archive import vocabulary
from archive.errors import UnknownTerm
from archive.vocabulary import Terms, families, kinds, levels, rights, techniques


def test_there_are_84_techniques_and_every_one_is_defined() -> None:
    assert len(techniques()) == 84
    assert all(term.definition and term.source for term in techniques())


def test_what_a_technique_points_to_exists() -> None:
    for term in techniques():
        targets = {*term.prerequisites, *filter(None, (term.broader, term.part_of))}
        assert targets <= {other.id for other in techniques()}, term.id
        assert set(term.families) <= {family.id for family in families()} | {"all"}, term.id
        assert set(term.source) <= set(vocabulary.technique_sources()), term.id


def test_nothing_must_be_known_before_itself() -> None:
    """Cycles would make a course impossible; networkx is the oracle."""
    for edges in (
        [(first, term.id) for term in techniques() for first in term.prerequisites],
        [(term.broader, term.id) for term in techniques() if term.broader],
    ):
        assert networkx.is_directed_acyclic_graph(networkx.DiGraph(edges))


@pytest.mark.parametrize(
    ("word", "technique"),
    [
        # Die Klöppelspitzen, ed. Dillmont, c. 1900-10: Halbschlag is cross and twist once
        ("Halbschlag", "half_stitch"),
        ("halbschlag", "half_stitch"),
        # the same: Flechtenschlag is made with two pairs
        ("Flechtenschlag", "plait"),
        # Encyclopédie t. 4, 1754, DENTELLE: demi-point
        ("demi point", "half_stitch"),
        # Kellogg, Bobbins of Belgium, 1920
        ("fond clair", "point_ground"),
        # Dillmont, Encyclopedia of Needlework, c. 1886: linen passing
        ("Linen passing", "cloth_stitch"),
        ("picots", "picot"),
        ("laerredsslag", "cloth_stitch"),
    ],
)
def test_a_word_is_known_in_every_language_and_spelling(word: str, technique: str) -> None:
    found = techniques().find(word)
    assert found is not None
    assert found.id == technique


def test_a_broader_technique_includes_the_narrower_ones() -> None:
    """Honeycomb rings are honeycomb, and honeycomb is a ground (common practice, no source)."""
    below = techniques().with_narrower("ground")
    assert {"ground", "honeycomb_ground", "honeycomb_ring", "kat_stitch"} <= below
    assert "picot" not in below
    assert techniques().with_broader("honeycomb_ring") == (
        "honeycomb_ring",
        "honeycomb_ground",
        "ground",
    )


def test_an_unknown_word_names_the_nearest_ones() -> None:
    with pytest.raises(UnknownTerm) as caught:
        techniques().get("honycomb")
    assert "honeycomb" in caught.value.nearest
    assert "honeycomb" in caught.value.advice


@pytest.mark.parametrize("terms", [techniques(), families(), kinds(), levels(), rights()])
def test_every_name_finds_a_term_of_that_name(terms: Terms) -> None:  # type: ignore[type-arg]
    for term in terms:
        assert terms.find(term.id) is term
        assert terms.find(term.name) is not None


def test_the_rights_are_the_twelve_statements_and_creative_commons() -> None:
    """RightsStatements.org 1.0 lists twelve statements; CC has six licences, CC0 and the mark."""
    uris = [term.uri for term in rights()]
    assert len([uri for uri in uris if uri.startswith("http://rightsstatements.org/vocab/")]) == 12
    assert len([uri for uri in uris if uri.startswith("https://creativecommons.org/")]) == 8
    assert len(set(uris)) == len(uris)


def test_names_from_memory_say_so() -> None:
    assert techniques()["kat_stitch"].other_languages_from_memory
    assert not techniques()["half_stitch"].other_languages_from_memory


@pytest.mark.parametrize("terms", [techniques(), families(), kinds(), levels(), rights()])
def test_no_name_is_torn_at_a_comma(terms: Terms) -> None:  # type: ignore[type-arg]
    for term in terms:
        for _, name in term.names:
            assert name.count("(") == name.count(")"), term.id
