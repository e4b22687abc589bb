from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from archive.site.addresses import LONGEST_STEM, file_stems, shelf_order

marks = st.lists(st.text(min_size=1, max_size=80), unique=True, max_size=12)


@given(marks)
def test_no_two_shelfmarks_share_a_file_even_where_capitals_do_not_count(found: list[str]) -> None:
    stems = [stem.casefold() for stem in file_stems(found).values()]
    assert len(set(stems)) == len(found)


@given(marks)
def test_a_file_name_is_plain_on_every_system(found: list[str]) -> None:
    for stem in file_stems(found).values():
        assert re.fullmatch(r"[a-z0-9-]+", stem)
        assert len(stem) <= LONGEST_STEM + 7


@given(marks, st.randoms())
def test_a_file_name_does_not_depend_on_the_order_of_the_records(found, random) -> None:
    turned = list(found)
    random.shuffle(turned)
    assert file_stems(turned) == file_stems(found)


def test_a_name_that_windows_keeps_for_a_device_is_not_used() -> None:
    # Source: Microsoft, Naming Files, Paths, and Namespaces.
    for device in ("con", "PRN", "Aux", "nul", "COM1", "lpt9"):
        assert file_stems([device])[device] != device.lower()


def test_a_plain_shelfmark_keeps_its_letters() -> None:
    assert file_stems(["Bx 12/3", "Tønder 7"]) == {"Bx 12/3": "bx-12-3", "Tønder 7": "tonder-7"}


def test_shelfmarks_stand_as_a_person_would_put_them() -> None:
    shelf = ["B 10", "b 2", "A 1", "B 2a", "B 2"]
    assert sorted(shelf, key=shelf_order) == ["A 1", "B 2", "b 2", "B 2a", "B 10"]


@given(marks, st.randoms())
def test_any_shelfmarks_stand_in_one_order(found: list[str], random) -> None:
    turned = list(found)
    random.shuffle(turned)
    assert sorted(turned, key=shelf_order) == sorted(found, key=shelf_order)
