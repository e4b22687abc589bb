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
    records = [OfRecord("", "", pattern) for pattern in shelf.patterns]
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


@pytest.mark.parametrize(
    ("threads", "measured", "span"),
    [
        ([{"label": "x", "wraps_per_cm": 30}, {"label": "y", "wraps_per_cm": 34}], True, (30, 34)),
        ([{"label": "perle 12", "wraps_per_cm": 12, "use": "gimp"}], True, (33, 42)),
        ([{"label": "cotton Ne 60/2"}], True, (33, 42)),
        ([{"label": "cotton Ne 60/2"}], False, (36.4, 49.2)),
        ([{"label": "whatever lies in the basket"}], False, (0, 0)),
    ],
)  # fmt: skip
def test_the_wraps_of_a_lace_are_known_in_the_surest_way(
    threads: list[dict[str, object]], measured: bool, span: tuple[float, float]
) -> None:
    """As `prickings find` takes them: stated, by the pins, by the number (estimate)."""
    sheet = {"sha256": "0" * 64, "analyser": "1", "pins": 9}
    sheet |= {"wraps_per_cm_low": 33, "wraps_per_cm_high": 42}
    told = {"shelfmark": "A", "threads": threads, "measured": sheet if measured else None}
    parts = _parts(Entry.model_validate(told))
    for name, wraps in zip(("from", "to"), span, strict=True):
        known, _, _ = parts[f"number-wraps{name}"]  # type: ignore[misc]
        assert known == [round(10 * wraps)]


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
