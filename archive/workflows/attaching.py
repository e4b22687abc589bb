"""Attaching files to records: stored unchanged, and looked at before."""

from __future__ import annotations

from pathlib import Path

from archive.errors import UnreadableFile
from archive.geometry import read_drawing
from archive.geometry.measuring import looks_like_svg
from archive.geometry.pixels import read_scan
from archive.records import Attachment, AttachmentRole
from archive.store import Collection

MM_PER_INCH = 25.4

_PDF = b"%PDF-"
_HEAD_BYTES = 65536


def attach_file(
    collection: Collection,
    shelfmark: str,
    path: Path,
    *,
    role: AttachmentRole = "pricking",
    dpi: float | None = None,
    caption: str = "",
    alternative_text: str = "",
) -> Attachment:
    """Store a file, unchanged, with a record.

    `dpi` is the scan's resolution where the file does not know it.

    Raises:
        UnknownShelfmark: there is no such record.
        UnreadableFile: the file cannot be read; or, unless its role is “other”, it is no
            picture, drawing or PDF, or a damaged one.
    """
    entry = collection.get_entry(shelfmark)
    if role != "other":
        _check_can_be_seen(path)
    with collection.writing() as writer:
        return writer.attach(
            entry.shelfmark,
            path,
            role=role,
            px_per_mm=dpi / MM_PER_INCH if dpi else None,
            scale_known_by="given" if dpi else "unknown",
            caption=caption,
            alternative_text=alternative_text,
        )


def _check_can_be_seen(path: Path) -> None:
    """Raise `UnreadableFile` for what is no picture, drawing or PDF, or a damaged one."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
    except OSError:
        return  # The store reads it next, and says what is the matter.
    if not head or head.startswith(_PDF):
        return
    try:
        if looks_like_svg(head):
            read_drawing(path)
        else:
            read_scan(path)
    except UnreadableFile as error:
        advice = f"{error.advice} With “--role other” any file is kept as it is."
        raise UnreadableFile(path, error.reason, advice) from error
