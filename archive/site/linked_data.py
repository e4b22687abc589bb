"""What the site says to programs: a pattern in schema.org's words, the techniques in SKOS.

Addresses are relative to the site, which has none of its own: it works from any folder.
Sources: schema.org CreativeWork; W3C, SKOS Reference, 2009; W3C, RDF 1.1 Turtle, 2014.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from archive.records import Entry
from archive.site import figures
from archive.site.links import level_name, technique_path
from archive.site.pages import Picture
from archive.vocabulary import (
    FROM_MEMORY,
    Technique,
    families,
    kinds,
    rights,
    technique_sources,
    techniques,
)

_PREFIXES = """\
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
"""
_SCHEME = "<#techniques>"


def pattern_data(
    entry: Entry, pictures: Sequence[Picture], collection_name: str, root: str
) -> dict[str, object]:
    """A pattern as a schema.org CreativeWork; `root` leads from its page to the site's folder."""
    designer, design = entry.designer, entry.rights.design
    named = designer.status == "named" and designer.name
    source = figures.source(entry.source)
    told: dict[str, object] = {
        "@context": "https://schema.org",
        "@type": "CreativeWork",
        "identifier": entry.shelfmark,
        "name": entry.heading,
        "alternateName": list(entry.other_titles),
        "genre": [families()[family].name for family in entry.families],
        "additionalType": kinds()[entry.kind].name if entry.kind else "",
        "keywords": [techniques()[one].name for one in dict.fromkeys(entry.technique_ids)],
        "teaches": [
            techniques()[use.technique].name for use in entry.techniques if use.role == "taught"
        ],
        "educationalLevel": level_name(entry.difficulty.level) if entry.difficulty.level else "",
        "creator": {"@type": "Person", "name": designer.name} if named else "",
        "temporal": entry.period,
        "material": entry.material,
        "isBasedOn": source,
        "license": rights()[design.statement].uri if design else "",
        "image": [root + picture.path for picture in pictures],
        "correction": [f"{found.fault} {found.remedy}".strip() for found in entry.corrections],
        "isPartOf": {"@type": "Collection", "name": collection_name},
    }
    return {name: value for name, value in told.items() if value}


def techniques_file() -> bytes:
    """`techniques.ttl`: every technique as a SKOS concept, with what must be known before it."""
    concepts = "\n".join(_concept(technique) for technique in techniques())
    scheme = f'{_SCHEME} a skos:ConceptScheme ;\n  skos:prefLabel "Techniques of lace"@en .\n'
    return f"{_PREFIXES}\n{scheme}\n{concepts}".encode()


def _concept(technique: Technique) -> str:
    told = " ;\n  ".join(_statements(technique))
    return f"<#{technique.id}> a skos:Concept ;\n  {told} .\n"


def _statements(technique: Technique) -> Iterator[str]:
    yield f"skos:inScheme {_SCHEME}"
    if technique.broader:
        yield f"skos:broader <#{technique.broader}>"
    else:
        yield f"skos:topConceptOf {_SCHEME}"
    for narrower in techniques():
        if narrower.broader == technique.id:
            yield f"skos:narrower <#{narrower.id}>"
    told = set()
    languages = set()
    for language, name in technique.names:
        if (language, name) not in told:
            label = "altLabel" if language in languages else "prefLabel"
            yield f"skos:{label} {_words(name, language)}"
        told.add((language, name))
        languages.add(language)
    yield f"skos:definition {_words(technique.definition, 'en')}"
    if technique.part_of:
        yield f"dcterms:isPartOf <#{technique.part_of}>"
    for before in technique.prerequisites:
        yield f"dcterms:requires <#{before}>"
    known = technique_sources()
    for code in technique.source:
        if code in known and code != FROM_MEMORY:
            yield f"dcterms:source {_words(known[code], 'en')}"
    if technique.other_languages and technique.other_languages_from_memory:
        note = "The names in other languages are partly or wholly from memory."
        yield f"skos:editorialNote {_words(note, 'en')}"
    yield f"rdfs:seeAlso <{technique_path(technique.id)}>"


def _words(text: str, language: str) -> str:
    """A literal; JSON's escapes are those of Turtle."""
    return f"{json.dumps(text, ensure_ascii=False)}@{language}"
