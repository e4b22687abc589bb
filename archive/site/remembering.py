"""What was worked out for the last publication, so that the next works out only what is new.

Of each record: what a list shows of it, and its words. Of each file: what it was made from. This
lies in the collection's cache and not in the site, since what a page was made from is told by
the hash of a whole record, and even a hash of what is private stays at home. It may be thrown
away at any time.
"""

from __future__ import annotations

import json
import os
import zipfile
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from archive.errors import storage_errors
from archive.site.following import NextPattern
from archive.site.likeness import Places
from archive.site.postings import Postings
from archive.site.shelved import Shelved, restored

FILE = "site.npz"
_NOT_WHOLE = (OSError, ValueError, KeyError, TypeError, EOFError, zipfile.BadZipFile)


class OfFile(NamedTuple):
    """What a file of the site was made from, and the SHA-256 of what it became."""

    made_from: str
    sha256: str


class OfRecord(NamedTuple):
    """What was worked out of one record by itself.

    `key` is a digest of the record and its pictures, `listed` one of `shelved`.
    """

    key: str
    listed: str
    shelved: Shelved


class Last(NamedTuple):
    """Which publication is remembered.

    `makers` is a digest of the programs and templates that made it, `whole` one of everything.
    """

    makers: str = ""
    whole: str = ""
    manifest_sha256: str = ""


@dataclass(frozen=True)
class Remembered:
    """What was worked out for a publication.

    `likeness` and `leading_on` are digests of what `alike` and `comes_next` were worked out from.
    """

    files: dict[str, OfFile] = field(default_factory=dict)
    records: Sequence[OfRecord] = ()
    postings: Postings = field(default_factory=Postings)
    likeness: str = ""
    alike: Places = field(default_factory=lambda: np.empty((0, 4), np.int32))
    measured_alike: Places = field(default_factory=lambda: np.empty((0, 4), np.int32))
    leading_on: str = ""
    comes_next: Sequence[Sequence[NextPattern]] = ()


def recall_last(cache: Path) -> Last:
    """Which publication is remembered; none where the file is not there or not whole."""
    try:
        with _opened(cache) as kept:
            return Last(*_words(kept["last"]))
    except _NOT_WHOLE:
        return Last()


def recall(cache: Path) -> Remembered:
    """What this version remembers; nothing where the file is not there or not whole."""
    try:
        with _opened(cache) as kept:
            head = json.loads(kept["head"].tobytes())
            return Remembered(
                files={path: OfFile(*told) for path, told in head["files"].items()},
                records=[
                    OfRecord(key, listed, restored(shelved))
                    for key, listed, shelved in zip(
                        _words(kept["key"]),
                        _words(kept["listed"]),
                        json.loads(kept["shelved"].tobytes()),
                        strict=True,
                    )
                ],
                postings=Postings(
                    _words(kept["terms"]),
                    kept["term"],
                    kept["record"],
                    kept["weight"],
                ),
                likeness=head["likeness"],
                alike=kept["alike"],
                measured_alike=kept["measured_alike"],
                leading_on=head["leading_on"],
                comes_next=[
                    [NextPattern(other, tuple(new)) for other, new in told]
                    for told in head["comes_next"]
                ],
            )
    except _NOT_WHOLE:
        return Remembered()


@contextmanager
def _opened(cache: Path) -> Iterator[Mapping[str, NDArray[Any]]]:
    # Reading checks each part's CRC-32, and takes no objects, which could run code.
    with (cache / FILE).open("rb") as file, np.load(file) as kept:
        yield kept


def remember(cache: Path, last: Last, found: Remembered) -> None:
    """Keep what was worked out for the next publication."""
    path = cache / FILE
    with storage_errors(path):
        cache.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f"{FILE}.{os.getpid()}.half")
        with zipfile.ZipFile(half, "w") as kept:
            for name, part in _parts(last, found):
                with kept.open(f"{name}.npy", "w", force_zip64=True) as file:
                    np.lib.format.write_array(file, part, allow_pickle=False)
        half.replace(path)


def _parts(last: Last, found: Remembered) -> Iterator[tuple[str, NDArray[Any]]]:
    """What is written down, one after the other, since together it would be much to hold."""
    records = found.records
    head = {
        "files": found.files,
        "likeness": found.likeness,
        "leading_on": found.leading_on,
        "comes_next": found.comes_next,
    }
    yield "last", _bytes([digest.encode() for digest in last])
    yield "head", _bytes([json.dumps(head).encode()])
    yield "key", _bytes([record.key.encode() for record in records])
    yield "listed", _bytes([record.listed.encode() for record in records])
    yield "shelved", _bytes([json.dumps([record.shelved for record in records]).encode()])
    yield "terms", _bytes([term.encode() for term in found.postings.terms])
    yield "term", found.postings.term
    yield "record", found.postings.record
    yield "weight", found.postings.weight
    yield "alike", found.alike
    yield "measured_alike", found.measured_alike


def _bytes(lines: Sequence[bytes]) -> NDArray[np.uint8]:
    return np.frombuffer(b"\n".join((*lines, b"")), dtype=np.uint8)


def _words(data: NDArray[np.uint8]) -> list[str]:
    return data.tobytes().decode().split("\n")[:-1]
