"""What measuring its sheets tells a record."""

from pathlib import Path

from archive.records import Pattern
from archive.records.settings import CollectionSettings
from archive.store import create_collection, open_collection
from archive.workflows.attaching import attach_file
from archive.workflows.measuring import measure_all
from tests.strip import draw_strip


def test_the_estimate_of_pairs_is_that_of_the_first_sheet(tmp_path: Path) -> None:
    create_collection(tmp_path / "guild", CollectionSettings(name="Guild"))
    with open_collection(tmp_path / "guild") as guild:
        with guild.writing() as writer:
            writer.save([Pattern(shelfmark="T 1")], how="added")
        for columns in (7, 13):
            attach_file(guild, "T 1", draw_strip(tmp_path / f"{columns}.svg", columns=columns))
        assert measure_all(guild).measured == 2
        entry = guild.get_entry("T 1")
        narrow, wide = (guild.get_measurement(one.sha256) for one in entry.attachments)
        assert narrow is not None
        assert narrow.pairs is not None
        assert wide is not None
        assert wide.pairs is not None
        assert wide.pairs.estimate > narrow.pairs.estimate
        assert entry.pairs.estimated is not None
        assert entry.pairs.estimated.value == narrow.pairs.estimate
        assert [change.how for change in guild.history("T 1")] == ["added", "measured"]
