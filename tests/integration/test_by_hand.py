"""What is said by hand stays with its sheet, whatever is measured again."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from archive.errors import InputError
from archive.records import Pattern
from archive.records.byhand import NOTHING_SAID, make_by_hand
from archive.records.settings import CollectionSettings
from archive.store import Collection, create_collection, open_collection
from archive.workflows import measuring
from archive.workflows.attaching import attach_file
from archive.workflows.measuring import find_current, measure_all, measure_record
from tests.strip import draw_strip

GAP = (20.0, 60.0)
"""The place, in millimetres, at which the sheet lacks a hole."""


@pytest.fixture
def guild(tmp_path: Path) -> Iterator[Collection]:
    """A collection with one record, T 1, and its sheet."""
    create_collection(tmp_path / "guild", CollectionSettings(name="Guild"))
    with open_collection(tmp_path / "guild") as opened:
        with opened.writing() as writer:
            writer.save([Pattern(shelfmark="T 1")], how="added")
        attach_file(opened, "T 1", draw_strip(tmp_path / "t1.svg", columns=9, gap=GAP))
        yield opened


@pytest.fixture
def sha256(guild: Collection) -> str:
    return guild.get_entry("T 1").attachments[0].sha256


GAP_FILLED = make_by_hand(holes=["20,60 mm"])


def test_what_is_said_is_kept_with_the_sheet_in_pixels(guild: Collection, sha256: str) -> None:
    _, found = measure_record(guild, "T 1", said=GAP_FILLED)
    assert found.doubts == ()
    (mark,) = guild.get_by_hand(sha256).marks
    assert (mark.unit, mark.x, mark.y) == ("px", pytest.approx(75.591), pytest.approx(226.772))


def test_it_holds_when_the_sheet_is_measured_again(guild: Collection) -> None:
    _, unmended = measure_record(guild, "T 1")
    assert [doubt.kind for doubt in unmended.doubts] == ["missing"]
    _, mended = measure_record(guild, "T 1", said=GAP_FILLED)
    _, again = measure_record(guild, "T 1")
    assert again == mended


def test_it_holds_when_a_newer_analyser_measures_every_sheet(
    guild: Collection, sha256: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    measure_record(guild, "T 1", said=GAP_FILLED)
    assert measure_all(guild).current == 1
    monkeypatch.setattr(measuring, "ANALYSER", "newer")
    assert measure_all(guild).measured == 1
    kept = guild.get_measurement(sha256)
    assert kept is not None
    assert kept.by_hand is not None
    assert (kept.by_hand.added, kept.doubts) == (1, ())


def test_what_is_said_makes_an_earlier_measurement_outdated(guild: Collection, sha256: str) -> None:
    measure_record(guild, "T 1")
    (attachment,) = guild.get_entry("T 1").attachments
    assert find_current(guild, attachment) is not None
    with guild.writing() as writer:
        writer.keep_by_hand(sha256, GAP_FILLED)
    assert find_current(guild, attachment) is None
    assert measure_all(guild).measured == 1
    assert find_current(guild, attachment) is not None


def test_saying_more_adds_to_what_was_said(guild: Collection, sha256: str) -> None:
    measure_record(guild, "T 1", said=GAP_FILLED)
    measure_record(guild, "T 1", said=make_by_hand(foot="left"))
    said = guild.get_by_hand(sha256)
    assert len(said.marks) == 1
    assert said.foot == "left"


def test_starting_afresh_forgets_what_was_said(guild: Collection, sha256: str) -> None:
    _, before = measure_record(guild, "T 1")
    measure_record(guild, "T 1", said=GAP_FILLED)
    _, after = measure_record(guild, "T 1", afresh=True)
    assert after == before
    assert guild.get_by_hand(sha256) == NOTHING_SAID
    assert measure_all(guild).current == 1


def test_the_record_tells_of_it(guild: Collection) -> None:
    measure_record(guild, "T 1", said=GAP_FILLED)
    measured = guild.get_entry("T 1").measured
    assert measured is not None
    assert measured.by_hand is not None
    assert measured.by_hand.added == 1


def test_what_cannot_be_meant_is_refused_and_nothing_is_kept(
    guild: Collection, sha256: str
) -> None:
    before = guild.state()
    with pytest.raises(InputError, match="beside the sheet"):
        measure_record(guild, "T 1", said=make_by_hand(holes=["41,5 mm"]))
    assert guild.state() == before
    assert guild.get_by_hand(sha256) == NOTHING_SAID
