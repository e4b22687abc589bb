"""Original files, stored once by their SHA-256 and never changed.

A file is whole before it has its name: it is written under another name, forced to the disk
and only then renamed. Only one writer works at a time (the collection's lock), so there is
one unfinished file at most, and the next one takes its place.
"""

from __future__ import annotations

import hashlib
import mimetypes
import os
from dataclasses import dataclass
from pathlib import Path

from archive.errors import CollectionDamaged, UnreadableFile, reading_errors, storage_errors

_UNFINISHED = "unfinished.part"
_BLOCK_BYTES = 1 << 20
_SIGNATURES = (
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"II*\x00", "image/tiff"),
    (b"MM\x00*", "image/tiff"),
    (b"GIF87a", "image/gif"),
    (b"GIF89a", "image/gif"),
    (b"BM", "image/bmp"),
    (b"%PDF-", "application/pdf"),
)
"""First bytes by which a file shows what it is.

Source: PNG (ISO/IEC 15948) 5.2, JPEG (ITU-T T.81) annex B, TIFF 6.0 section 2, GIF89a 17,
PDF (ISO 32000-1) 7.5.2; BMP by its documented file header.
"""
_BY_ENDING = mimetypes.MimeTypes()


@dataclass(frozen=True)
class Content:
    """What a file holds: its SHA-256, its size and what it is."""

    sha256: str
    size_bytes: int
    media_type: str


def read_content(source: Path) -> Content:
    """Read a file through.

    Raises:
        UnreadableFile: it is missing, a folder, empty, or may not be read.
    """
    digest, size_bytes, head = hashlib.sha256(), 0, b""
    advice = "Check its name and whether it can be opened."
    with reading_errors(source, advice), source.open("rb") as stream:
        while block := stream.read(_BLOCK_BYTES):
            head = head or block
            size_bytes += len(block)
            digest.update(block)
    if not size_bytes:
        raise UnreadableFile(source, "it is empty", "Scan or save it again.")
    return Content(digest.hexdigest(), size_bytes, _media_type(source.name, head))


def keep_file(source: Path, content: Content, target: Path, *, files: Path) -> None:
    """Store a copy of `source`, whose content was read before, as `target` below `files`.

    Raises:
        CollectionDamaged: a file of that name is there and holds something else.
        UnreadableFile: the source changed since it was read.
        StorageError: there is no room or no permission.
    """
    with storage_errors(target):
        if not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            _move_in(source, content, target, unfinished=files / _UNFINISHED)
        else:
            check_kept(target, content.sha256)
        # Also for a file that is there: who wrote it may have been stopped before this.
        force_folder(target.parent)
        force_folder(files)


def check_kept(path: Path, sha256: str) -> None:
    """Raise `CollectionDamaged` unless the stored file is there and is what it was."""
    try:
        found = _sha256(path)
    except FileNotFoundError as cause:
        raise CollectionDamaged(path, "it is not there any more") from cause
    if found != sha256:
        raise CollectionDamaged(path, "its content is not what it was when it was stored")


def _move_in(source: Path, content: Content, target: Path, *, unfinished: Path) -> None:
    try:
        if _copy(source, unfinished) != content.sha256:
            raise UnreadableFile(source, "it changed while it was read", "Try again.")
        unfinished.rename(target)
    finally:
        unfinished.unlink(missing_ok=True)


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def write_text(path: Path, text: str) -> None:
    """Write a file of text and force it to the disk."""
    with path.open("w", encoding="utf-8") as stream:
        stream.write(text)
        stream.flush()
        os.fsync(stream.fileno())


def _copy(source: Path, unfinished: Path) -> str:
    """Copy a file, force the copy to the disk, and say the SHA-256 of what was copied."""
    digest = hashlib.sha256()
    with source.open("rb") as stream, unfinished.open("wb") as copy:
        while block := stream.read(_BLOCK_BYTES):
            digest.update(block)
            copy.write(block)
        copy.flush()
        os.fsync(copy.fileno())
    return digest.hexdigest()


def force_folder(folder: Path) -> None:
    """Force a folder's new names to the disk, where the system has a way to do so."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:  # Windows opens no folders, and keeps names safe by itself.
        return
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _media_type(name: str, head: bytes) -> str:
    """What a file is, by its first bytes and else by its ending."""
    for signature, media_type in _SIGNATURES:
        if head.startswith(signature):
            return media_type
    if head[:4] == b"RIFF" and head[8:12] == b"WEBP":
        return "image/webp"
    if b"<svg" in head[:4096]:
        return "image/svg+xml"
    return _BY_ENDING.guess_type(name)[0] or "application/octet-stream"
