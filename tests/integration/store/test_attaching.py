"""Original files and their measurements: stored once, by their hash, and never changed."""

import hashlib
import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from archive.errors import (
    CollectionDamaged,
    InvalidRecord,
    StorageError,
    UnknownShelfmark,
    UnreadableFile,
)
from archive.records import Attachment, Pattern
from archive.records.entry import Measured
from archive.records.measurement import Measurement
from archive.store import Collection, files
from archive.store.tables import AttachmentRow
from tests.strategies import attachments

SVG = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"/>'


@pytest.fixture
def guild(guild: Collection) -> Collection:
    """A collection with the records P 1 and P 2."""
    with guild.writing() as writer:
        writer.save([Pattern(shelfmark="P 1"), Pattern(shelfmark="P 2")], how="added")
    return guild


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "Fan edging.SVG"
    path.write_bytes(SVG)
    return path


def attach(guild: Collection, source: Path, shelfmark: str = "P 1", **facts: object) -> Attachment:
    with guild.writing() as writer:
        return writer.attach(shelfmark, source, **facts)  # type: ignore[arg-type]


def stored(folder: Path) -> list[Path]:
    return sorted(path for path in (folder / "files").rglob("*") if path.is_file())


def test_a_file_is_stored_unchanged_under_its_hash(
    guild: Collection, folder: Path, sheet: Path
) -> None:
    attachment = attach(guild, sheet, "p1", px_per_mm=11.8, caption="Front")
    digest = hashlib.sha256(SVG).hexdigest()
    assert attachment == Attachment(
        sha256=digest,
        file_name="Fan edging.SVG",
        media_type="image/svg+xml",
        size_bytes=len(SVG),
        px_per_mm=11.8,
        scale_known_by="given",
        caption="Front",
    )
    assert guild.get_entry("P 1").attachments == (attachment,)
    assert guild.path_of(attachment) == folder / "files" / digest[:2] / f"{digest}.svg"
    assert stored(folder) == [guild.path_of(attachment)]
    assert guild.path_of(attachment).read_bytes() == sheet.read_bytes() == SVG


def test_the_same_file_again_is_stored_once_and_changes_nothing(
    guild: Collection, folder: Path, sheet: Path
) -> None:
    attachment = attach(guild, sheet)
    state = guild.state()
    sheet.rename(sheet.with_name("copy.svg"))
    assert attach(guild, sheet.with_name("copy.svg")) == attachment
    assert guild.state() == state
    attach(guild, sheet.with_name("copy.svg"), "P 2")
    assert len(stored(folder)) == 1


def test_attaching_again_adds_what_is_said_and_keeps_the_rest(
    guild: Collection, sheet: Path
) -> None:
    attach(guild, sheet, px_per_mm=11.8, caption="Front")
    again = attach(guild, sheet, role="working diagram", alternative_text="A fan")
    assert (again.role, again.caption) == ("working diagram", "Front")
    assert (again.alternative_text, again.px_per_mm) == ("A fan", 11.8)
    assert guild.get_entry("P 1").attachments == (again,)


def test_a_scale_that_is_given_anew_takes_the_place_of_the_one_before(
    guild: Collection, sheet: Path
) -> None:
    assert attach(guild, sheet).scale_known_by == "unknown"
    assert attach(guild, sheet, px_per_mm=7).scale_known_by == "given"
    assert attach(guild, sheet, px_per_mm=9).px_per_mm == 9
    assert attach(guild, sheet).px_per_mm == 9


def test_attachments_stand_in_the_sequence_in_which_they_came(
    guild: Collection, tmp_path: Path
) -> None:
    for name in ("b", "a", "c", "a"):
        (tmp_path / name).write_text(name, encoding="utf-8")
        attach(guild, tmp_path / name, role="other")
    found = guild.get_entry("P 1").attachments
    assert [(one.sequence, one.file_name) for one in found] == [(1, "b"), (2, "a"), (3, "c")]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(attachment=attachments())
def test_an_attachment_is_read_back_as_it_was_written(
    guild: Collection, attachment: Attachment
) -> None:
    with guild.writing() as writer:
        writer._put(
            AttachmentRow,
            {"pattern_id": 1, "sha256": attachment.sha256},
            attachment.model_dump(),
        )
        assert attachment in guild.get_entry("P 1").attachments


@pytest.mark.parametrize(
    ("content", "name", "media_type"),
    [
        (b"\x89PNG\r\n\x1a\n....", "scan.jpg", "image/png"),
        (b"\xff\xd8\xff\xe0....", "scan", "image/jpeg"),
        (b"II*\x00....", "scan.tif", "image/tiff"),
        (b"RIFF....WEBPVP8 ", "scan.webp", "image/webp"),
        (b"%PDF-1.7\n", "book.pdf", "application/pdf"),
        (b"words", "notes.txt", "text/plain"),
        (b"words", "notes", "application/octet-stream"),
    ],
)
def test_a_file_is_what_it_holds_rather_than_what_it_is_called(
    guild: Collection, tmp_path: Path, content: bytes, name: str, media_type: str
) -> None:
    (tmp_path / name).write_bytes(content)
    assert attach(guild, tmp_path / name, role="other").media_type == media_type


def refused(
    guild: Collection, source: Path, error: type[Exception], match: str, **facts: object
) -> None:
    before = stored(guild.folder)
    with pytest.raises(error, match=match):
        attach(guild, source, **facts)
    assert guild.get_entry("P 1").attachments == ()
    assert stored(guild.folder) == before


def test_what_is_no_file_or_empty_is_refused(guild: Collection, tmp_path: Path) -> None:
    (tmp_path / "empty.png").touch()
    refused(guild, tmp_path / "empty.png", UnreadableFile, "it is empty")
    refused(guild, tmp_path, UnreadableFile, "it is a folder")
    refused(guild, tmp_path / "none.png", UnreadableFile, "there is no such file")


def test_a_scale_that_cannot_be_is_refused(guild: Collection, sheet: Path) -> None:
    refused(guild, sheet, InvalidRecord, "px_per_mm", px_per_mm=-1)


def test_nothing_is_attached_to_a_record_that_is_not_there(guild: Collection, sheet: Path) -> None:
    with pytest.raises(UnknownShelfmark):
        attach(guild, sheet, "P 3")


def test_a_file_that_changes_while_it_is_read(
    guild: Collection, sheet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def read_then_change(source: Path) -> files.Content:
        content = read_content(source)
        source.write_bytes(b"changed")
        return content

    read_content = files.read_content
    monkeypatch.setattr("archive.store.writer.read_content", read_then_change)
    refused(guild, sheet, UnreadableFile, "it changed while it was read")


def test_a_stored_file_that_was_damaged_is_told_and_left_alone(
    guild: Collection, sheet: Path
) -> None:
    damaged = guild.path_of(attach(guild, sheet, "P 2"))
    for content in (b"", SVG.replace(b"1.0", b"1.1")):
        damaged.write_bytes(content)
        refused(guild, sheet, CollectionDamaged, "its content is not what it was")
        assert damaged.read_bytes() == content


def test_a_folder_in_which_nothing_can_be_put(guild: Collection, folder: Path, sheet: Path) -> None:
    (folder / "files").rmdir()
    (folder / "files").write_bytes(b"")
    with pytest.raises(StorageError):
        attach(guild, sheet)
    assert guild.get_entry("P 1").attachments == ()


def measurement(**figures: object) -> Measurement:
    """A measurement of a sheet without scale, but for what is told."""
    return Measurement.model_validate(
        {
            "analyser": "1",
            "source": None,
            "scale": {"px_per_mm": None, "how": "unknown"},
            "tilt_deg": None,
            "pins": {"count": 2, "positions_px": [(0, 0), (1, 2.5)], "positions_mm": None},
            "extent_mm": None,
            "foot": {
                "side": "none", "pitch_mm": None, "pitch_px": None, "pitch_sd_mm": None, "pins": 0,
            },
            "ground": None,
            "areas": (),
            "rings": {"four_pin": 0, "six_pin": 0},
            "repeat": None,
            "corner": {"present": False},
            "pairs": None,
            "thread": None,
            "doubts": (),
            **figures,
        }
    )  # fmt: skip


def test_a_measurement_is_kept_whole_and_with_its_settings(guild: Collection) -> None:
    first, second = measurement(), measurement(analyser="2", tilt_deg=1.5)
    assert guild.get_measurement("a" * 64) is None
    for number, kept in enumerate((first, second)):
        with guild.writing() as writer:
            writer.keep_measurement("a" * 64, kept, f"rules {number}")
        assert guild.get_measurement("a" * 64) == kept
    assert guild.get_measurement("a" * 64, settings_fingerprint="rules 1") == second
    assert guild.get_measurement("a" * 64, settings_fingerprint="rules 0") is None


def test_the_same_measurement_again_changes_nothing(guild: Collection) -> None:
    states = set()
    for _ in range(2):
        with guild.writing() as writer:
            writer.keep_measurement("a" * 64, measurement(), "rules")
        states.add(guild.state())
    assert len(states) == 1


def test_an_entry_tells_the_figures_of_its_first_measured_pricking(
    guild: Collection, tmp_path: Path
) -> None:
    digests, doubt = [], [{"x_px": 1, "y_px": 2, "kind": "extra"}]
    for name, role in (("a", "photograph"), ("b", "pricking"), ("c", "pricking")):
        (tmp_path / name).write_text(name, encoding="utf-8")
        digests.append(attach(guild, tmp_path / name, role=role).sha256)
    assert guild.get_entry("P 1").measured is None
    for digest, doubts in zip(digests, ((), (), doubt), strict=True):
        with guild.writing() as writer:
            writer.keep_measurement(digest, measurement(doubts=doubts, extent_mm=(20, 90)))
    expected = Measured(
        sha256=digests[1], analyser="1", pins=2, width_mm=20, length_mm=90, foot_side="none"
    )
    assert guild.get_entry("P 1").measured == expected
    assert [entry.measured for entry in guild.entries()] == [expected, None]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows forces no folders")
def test_a_file_is_on_the_disk_before_it_is_named_and_its_name_before_the_block_goes_on(
    guild: Collection, folder: Path, sheet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is forced is told by its number on the disk, which a renaming does not change."""
    steps: list[object] = []
    force, rename = os.fsync, Path.rename

    def forced(handle: int) -> None:
        force(handle)
        steps.append(os.fstat(handle).st_ino)

    def named(path: Path, target: Path) -> Path:
        steps.append("named")
        return rename(path, target)

    with guild.writing() as writer, monkeypatch.context() as watching:
        watching.setattr(os, "fsync", forced)
        watching.setattr(Path, "rename", named)
        writer.attach("P 1", sheet)
    (kept,) = stored(folder)
    places = [path.stat().st_ino for path in (kept, kept.parent, folder / "files")]
    assert steps == [places[0], "named", *places[1:]]
