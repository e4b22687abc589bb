from __future__ import annotations

import json
import re
import string

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from archive.records import Entry
from archive.site import search_index
from archive.site.postings import Postings, updated, weighted_words, words_of
from archive.site.remembering import OfRecord
from archive.site.search_index import parts
from archive.wording import fold
from tests.integration.site.invented import collected, in_order


@given(st.text(string.printable))
def test_plain_letters_are_folded_as_everywhere_else(text: str) -> None:
    assert words_of(text) == re.findall(r"[^\W_]+", fold(text))


def test_accents_ligatures_and_apostrophes_fold_away() -> None:
    assert words_of("Lærredsslag, pié d'Œuvre h’comb") == [
        "laerredsslag", "pie", "doeuvre", "hcomb",
    ]  # fmt: skip


def _parts(*entries: Entry) -> dict[str, object]:
    shelf = collected(entries)
    words = dict(enumerate(map(weighted_words, in_order(entries))))
    postings = updated(Postings(), np.empty(0, np.int32), words)
    records = [OfRecord("", "", b"", b"", pattern) for pattern in shelf.patterns]
    (found,) = parts(shelf, records, postings)
    assert found.path == "data/all.js"
    lines = found.make().decode().splitlines()
    calls = [re.fullmatch(r'takePart\("([a-z0-9-]+)",(.*)\);', line) for line in lines]
    return {call[1]: json.loads(call[2]) for call in calls if call}


def test_every_part_is_one_call_on_one_line_whatever_the_records_say() -> None:
    title = 'line\u2028and\u2029ends </script> \\ " `${1}`'
    found = _parts(Entry(shelfmark="A", title=title))
    assert found["records0"][0][2] == title  # type: ignore[index]


def test_a_beginning_of_many_words_has_a_set_of_its_own_and_its_longer_ones_too(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(search_index, "MANY_BYTES", 18)
    titles = ["pi", "picot", "picots", "pin", "plait"]
    root = _parts(*(Entry(shelfmark=f"{n}", title=title) for n, title in enumerate(titles)))["root"]
    assert " ".join(root["starts"]).split() == ["p", "pi", "pic", "pico", "picot"]  # type: ignore[index]


def test_internal_words_are_not_in_the_index() -> None:
    entry = Entry.model_validate(
        {
            "shelfmark": "A",
            "internal": {"donor": "canary", "private_notes": "canary"},
            "condition": {"state": "canary"},
            "unparsed": [{"field": "x", "words": "canary"}],
            "rights": {"design": {"statement": "inc", "permission_letter": "canary"}},
        }
    )
    assert "canary" not in json.dumps(_parts(entry))


def test_a_broader_technique_counts_the_patterns_of_the_narrower() -> None:
    entry = Entry.model_validate(
        {"shelfmark": "A", "techniques": [{"technique": "honeycomb_ring"}]}
    )
    root = _parts(entry)["root"]
    facets = {facet["id"]: facet["values"] for facet in root["facets"]}  # type: ignore[index]
    found = {value[0]: value[4] for value in facets["technique"]}
    assert found == {"ground": 1, "honeycomb_ground": 1, "honeycomb_ring": 1}


def test_an_edging_with_a_corner_is_found_among_the_edgings() -> None:
    entries = [
        Entry(shelfmark=f"{n}", kind=kind) for n, kind in enumerate(["corner_edging", "edging"])
    ]
    root = _parts(*entries)["root"]
    facets = {facet["id"]: facet["values"] for facet in root["facets"]}  # type: ignore[index]
    assert {value[0]: value[4] for value in facets["kind"]} == {"edging": 2, "corner_edging": 1}
