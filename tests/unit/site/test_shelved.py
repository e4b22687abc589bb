from __future__ import annotations

import json

from hypothesis import given
from hypothesis import strategies as st

from archive.records import Entry, Measured, Pattern
from archive.site.pages import Thumbnail
from archive.site.shelved import restored, shelve
from tests import strategies

MEASURED = Measured(sha256="0" * 64, analyser="1", pins=7, width_mm=30.5, ground_angle_deg=45.0)


@given(
    strategies.patterns(),
    st.sampled_from([None, MEASURED]),
    st.sampled_from([None, Thumbnail("pictures/b-1-1-small.webp", 480, 360)]),
)
def test_what_is_remembered_of_a_pattern_is_what_was_told(
    pattern: Pattern, measured: Measured | None, thumbnail: Thumbnail | None
) -> None:
    entry = Entry.model_validate(pattern.model_dump() | {"measured": measured})
    shelved = shelve(entry, "b-1", thumbnail)
    assert repr(restored(json.loads(json.dumps(shelved)))) == repr(shelved)


def test_a_stated_width_goes_before_a_measured_one_which_is_said_to_be_so() -> None:
    measured = Entry(shelfmark="A", measured=MEASURED)
    assert shelve(measured, "a").width_words.replace("\u00a0", " ") == "30.5 mm (measured)"
    both = Entry.model_validate({"shelfmark": "A", "measured": MEASURED, "size": {"width_mm": 28}})
    assert (shelve(both, "a").width_mm, shelve(both, "a").width_words) == (28, "28\u00a0mm")


def test_a_corner_is_found_where_the_kind_or_a_technique_tells_of_it() -> None:
    assert shelve(Entry(shelfmark="A", kind="corner_edging"), "a").corner is True
    assert shelve(Entry(shelfmark="A", kind="corner_edging", corner=False), "a").corner is False


def test_the_techniques_come_with_their_roles() -> None:
    uses = [{"technique": "gimp", "role": "taught"}, {"technique": "picot"}]
    shelved = shelve(Entry.model_validate({"shelfmark": "A", "techniques": uses}), "a")
    assert [(use.technique, use.role) for use in shelved.techniques] == [
        ("gimp", "taught"),
        ("picot", "practised"),
    ]
