from __future__ import annotations

from collections import Counter

import pytest
from pyshacl import validate
from rdflib import DCTERMS, RDF, SKOS, Graph, URIRef

from archive.records import Entry
from archive.site.linked_data import pattern_data, techniques_file
from archive.vocabulary import techniques

BASE = "file:///site/techniques.ttl"

SHAPES = """
@prefix sh: <http://www.w3.org/ns/shacl#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix dcterms: <http://purl.org/dc/terms/> .
[] a sh:NodeShape ; sh:targetClass skos:Concept ;
  sh:property [ sh:path skos:prefLabel ; sh:minCount 1 ; sh:uniqueLang true ] ;
  sh:property [ sh:path skos:prefLabel ; sh:disjoint skos:altLabel ] ;
  sh:property [ sh:path skos:definition ; sh:minCount 1 ] ;
  sh:property [ sh:path skos:inScheme ; sh:minCount 1 ; sh:class skos:ConceptScheme ] ;
  sh:property [ sh:path skos:broader ; sh:class skos:Concept ] ;
  sh:property [ sh:path skos:narrower ; sh:class skos:Concept ] ;
  sh:property [ sh:path dcterms:requires ; sh:class skos:Concept ] ;
  sh:property [ sh:path dcterms:isPartOf ; sh:class skos:Concept ] .
"""
"""Source: W3C, SKOS Reference, integrity conditions S13 and S14, and that no link leads nowhere."""


@pytest.fixture(scope="module")
def thesaurus() -> Graph:
    return Graph().parse(data=techniques_file(), format="turtle", publicID=BASE)


def test_the_techniques_are_a_sound_thesaurus(thesaurus: Graph) -> None:
    sound, _, told = validate(thesaurus, shacl_graph=Graph().parse(data=SHAPES, format="turtle"))
    assert sound, told


@pytest.mark.parametrize(
    "fault",
    [
        '<#gimp> skos:prefLabel "another name"@en .',
        '<#gimp> skos:altLabel "gimp"@en .',
        "<#gimp> skos:broader <#nothing> .",
        '<#new> a skos:Concept ; skos:prefLabel "new"@en .',
    ],
)
def test_a_fault_in_a_thesaurus_is_found(fault: str) -> None:
    data = techniques_file() + fault.encode()
    graph = Graph().parse(data=data, format="turtle", publicID=BASE)
    assert not validate(graph, shacl_graph=Graph().parse(data=SHAPES, format="turtle"))[0]


def test_every_technique_is_in_it_with_what_must_be_known_before(thesaurus: Graph) -> None:
    assert len(set(thesaurus.subjects(RDF.type, SKOS.Concept))) == len(techniques())
    for technique in techniques():
        told = thesaurus.objects(URIRef(f"{BASE}#{technique.id}"), DCTERMS.requires)
        assert {str(one).partition("#")[2] for one in told} == set(technique.prerequisites)


def test_narrower_is_told_wherever_broader_is(thesaurus: Graph) -> None:
    """Source: SKOS Reference, S25: skos:narrower is the inverse of skos:broader."""
    broader = set(thesaurus.subject_objects(SKOS.broader))
    assert broader == {(low, high) for high, low in thesaurus.subject_objects(SKOS.narrower)}
    assert broader


def test_nothing_is_broader_than_itself(thesaurus: Graph) -> None:
    for concept in thesaurus.subjects(RDF.type, SKOS.Concept):
        above = Counter(thesaurus.transitive_objects(concept, SKOS.broader))
        assert all(count == 1 for count in above.values())
        assert (concept, SKOS.broader, concept) not in thesaurus


def test_a_pattern_is_told_in_the_words_of_schema_org() -> None:
    entry = Entry.model_validate(
        {
            "shelfmark": "A 1",
            "title": "Edge",
            "techniques": [{"technique": "gimp", "role": "taught"}, {"technique": "picot"}],
            "designer": {"status": "named", "name": "A. Invented"},
            "rights": {"design": {"statement": "cc0", "permission_letter": "canary"}},
            "internal": {"donor": "canary"},
        }
    )
    told = pattern_data(entry, (), "The Dewpond Lacemakers", "../")
    assert told["@context"] == "https://schema.org"
    assert told["teaches"] == ["gimp"]
    assert told["creator"] == {"@type": "Person", "name": "A. Invented"}
    assert "creativecommons.org/publicdomain/zero" in str(told["license"])
    assert "canary" not in repr(told)
