"""Attaching files to records: stored unchanged, and looked at before."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

from archive.apart import Apart
from archive.errors import UnreadableFile
from archive.geometry import check_sheet
from archive.records import Attachment, AttachmentRole
from archive.resolution import MM_PER_INCH
from archive.store import Collection
from archive.workflows.reading import reading_room


def attach_file(
    collection: Collection,
    shelfmark: str,
    path: Path,
    *,
    role: AttachmentRole | None = None,
    dpi: float | None = None,
    caption: str = "",
    alternative_text: str = "",
    room: Apart | None = None,
) -> Attachment:
    """Store a file, unchanged, with a record.

    Without a `role` the file is a pricking, or what it was if it hangs on the record already.
    `dpi` is the scan's resolution where the file does not know it. `room` is where the file is
    looked at; who attaches many files gives one for all.

    Raises:
        UnknownShelfmark: there is no such record.
        UnreadableFile: the file cannot be read; or, unless its role is “other”, it is no
            picture, drawing or PDF, or a damaged one.
    """
    mark = collection.get_entry(shelfmark).shelfmark
    if role != "other":
        with nullcontext(room) if room else reading_room() as here:
            _check_can_be_seen(path, here)
    with collection.writing() as writer:
        return writer.attach(
            mark,
            path,
            role=role,
            px_per_mm=dpi / MM_PER_INCH if dpi else None,
            caption=caption,
            alternative_text=alternative_text,
        )


def _check_can_be_seen(path: Path, room: Apart) -> None:
    """Raise `UnreadableFile` for what is no picture, drawing or PDF, or a damaged one."""
    try:
        if path.stat().st_size == 0:
            return
    except OSError:
        return  # The store reads it next, and says what is the matter.
    try:
        room.read(check_sheet, path)
    except UnreadableFile as error:
        advice = f"{error.advice} With “--role other” any file is kept as it is."
        raise UnreadableFile(path, error.reason, advice) from error
