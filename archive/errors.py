"""Everything a person can cause to go wrong, in one tree.

    PrickingsError
    ├── UsageError            2  the command was used in a wrong way
    │   └── UnknownField         a field that records do not have
    ├── InputError            3  input that cannot be read or is not valid
    │   ├── UnreadableFile       a file that is missing, empty, damaged or of another kind
    │   └── InvalidRecord        a record that breaks a rule; says which
    ├── NotFound              4  no such thing
    │   ├── NoCollection         the folder holds no collection
    │   ├── UnknownShelfmark
    │   └── UnknownTerm          a word that the vocabulary does not know
    ├── CollectionError       5  the collection is in use or damaged
    │   ├── CollectionInUse
    │   ├── CollectionDamaged
    │   └── CollectionTooNew     written by a newer version
    └── StorageError          6  no room or no permission on the disk

Each error says the problem in one sentence, the advice in another, and keeps its facts
as attributes. `archive.cli` turns it into two lines on stderr and the exit code; any
other exception is a bug and keeps its traceback. This module knows nobody.
"""

from __future__ import annotations

import copyreg
import errno
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any


class PrickingsError(Exception):
    """A problem that a person can mend, with the advice how."""

    exit_code = 1

    def __init__(self, problem: str, advice: str) -> None:
        super().__init__(problem)
        self.problem = problem
        self.advice = advice

    def __reduce__(self) -> tuple[Any, ...]:
        """An error crosses from one process to another whole, whatever its class is made with."""
        return copyreg.__newobj__, (type(self), *self.args), self.__dict__  # type: ignore[attr-defined]


class UsageError(PrickingsError):
    """The command was used in a wrong way."""

    exit_code = 2


class UnknownField(UsageError):
    """A field that records do not have."""

    def __init__(self, field: str, nearest: Sequence[str]) -> None:
        super().__init__(
            f"Records have no field called “{field}”.",
            did_you_mean(nearest, else_see="“prickings show SHELFMARK --json” names every field."),
        )
        self.field = field
        self.nearest = tuple(nearest)


class InputError(PrickingsError):
    """Input that cannot be read or is not valid."""

    exit_code = 3


class UnreadableFile(InputError):
    """A file that is missing, empty, damaged or of another kind than it should be."""

    def __init__(self, path: Path | str, reason: str, advice: str) -> None:
        super().__init__(f"“{path}” cannot be read: {reason}.", advice)
        self.path = Path(path)
        self.reason = reason


class InvalidRecord(InputError):
    """A record that breaks a rule.

    `faults` is a list of (field, what is wrong with it).
    """

    def __init__(self, shelfmark: str, faults: Sequence[tuple[str, str]]) -> None:
        told = "; ".join(f"{field}: {fault}" for field, fault in faults)
        super().__init__(
            f"The record “{shelfmark}” is not valid: {told}.",
            "Correct the named fields and try again; nothing has been changed.",
        )
        self.shelfmark = shelfmark
        self.faults = tuple(faults)


class NotFound(PrickingsError):
    """There is no such thing."""

    exit_code = 4


class NoCollection(NotFound):
    """The folder holds no collection."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"There is no collection in “{folder}”.",
            "Name its folder with --collection, or start one with “prickings new FOLDER”.",
        )
        self.folder = folder


class UnknownShelfmark(NotFound):
    """No record has this shelfmark."""

    def __init__(self, shelfmark: str, nearest: Sequence[str] = ()) -> None:
        super().__init__(
            f"No record has the shelfmark “{shelfmark}”.",
            did_you_mean(nearest, else_see="“prickings find” lists what there is."),
        )
        self.shelfmark = shelfmark
        self.nearest = tuple(nearest)


class UnknownTerm(NotFound):
    """A word that the vocabulary does not know."""

    def __init__(self, word: str, kind: str, nearest: Sequence[str]) -> None:
        super().__init__(
            f"“{word}” is not a {kind} that prickings knows.",
            did_you_mean(nearest, else_see="“prickings vocabulary” lists the words it knows."),
        )
        self.word = word
        self.kind = kind
        self.nearest = tuple(nearest)


class CollectionError(PrickingsError):
    """The collection is in use or damaged."""

    exit_code = 5


class CollectionInUse(CollectionError):
    """Another program is writing to the collection; `kept` says what was saved before."""

    def __init__(self, folder: Path, kept: str = "nothing has been changed") -> None:
        super().__init__(
            f"Another program is writing to the collection in “{folder}”.",
            f"Wait until it has finished, then try again; {kept}.",
        )
        self.folder = folder
        self.kept = kept


class CollectionDamaged(CollectionError):
    """The catalogue or a stored file is not as it was written."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(
            f"“{path}” is damaged: {reason}.",
            "Leave the folder as it is and work on from your last backup.",
        )
        self.path = path
        self.reason = reason


class CollectionTooNew(CollectionError):
    """The collection was written by a newer version of prickings."""

    def __init__(self, folder: Path, found: str) -> None:
        super().__init__(
            f"The collection in “{folder}” was written by a newer version of prickings ({found}).",
            "Install the newest prickings and try again; nothing has been changed.",
        )
        self.folder = folder
        self.found = found


class StorageError(PrickingsError):
    """There is no room or no permission on the disk."""

    exit_code = 6

    def __init__(self, path: Path | str, reason: str, *, wrong_place: bool = False) -> None:
        mend = (
            "Choose another name or place, or make the missing folder first"
            if wrong_place
            else "Make room there, allow writing there or choose another place, then try again"
        )
        super().__init__(
            f"“{path}” cannot be written: {reason}.", f"{mend}; nothing already saved is lost."
        )
        self.path = Path(path)
        self.reason = reason


_DISK_REASONS = {
    errno.ENOSPC: "the disk is full",
    errno.EDQUOT: "your share of the disk is used up",
    errno.EFBIG: "the disk does not take files of this size",
    errno.EROFS: "the disk is read-only",
    errno.EACCES: "permission is denied",
    errno.EPERM: "permission is denied",
    errno.ENOTDIR: "a part of the path is a file, not a folder",
    errno.ENOENT: "the folder it should go into is not there",
    errno.EISDIR: "it is a folder",
    errno.EEXIST: "something of that name is there already",
}

_WRONG_PLACE = {errno.ENOTDIR, errno.ENOENT, errno.EISDIR, errno.EEXIST}


@contextmanager
def storage_errors(path: Path | str) -> Iterator[None]:
    """Turn the operating system's refusals to write `path` into `StorageError`."""
    try:
        yield
    except OSError as refusal:
        reason = _DISK_REASONS.get(refusal.errno or 0, refusal.strerror or "the system refused")
        wrong_place = refusal.errno in _WRONG_PLACE
        raise StorageError(path, reason, wrong_place=wrong_place) from refusal


@contextmanager
def reading_errors(path: Path, advice: str) -> Iterator[None]:
    """Turn the operating system's refusals to read `path` into `UnreadableFile`."""
    try:
        yield
    except UnicodeDecodeError as cause:
        raise UnreadableFile(path, "it is not text in UTF-8", advice) from cause
    except OSError as refusal:
        raise UnreadableFile(path, _reading_reason(path, refusal), advice) from refusal


def _reading_reason(path: Path, refusal: OSError) -> str:
    if os.path.isdir(path):  # noqa: PTH112 Path.is_dir fails where nobody may look
        return "it is a folder"
    if isinstance(refusal, FileNotFoundError | NotADirectoryError):
        return "there is no such file"
    return "permission is denied" if isinstance(refusal, PermissionError) else "the disk refuses it"


def did_you_mean(nearest: Sequence[str], *, else_see: str = "Check the spelling.") -> str:
    """Advice that names the nearest known words; where there are none, where to look."""
    if not nearest:
        return else_see
    return f"Did you mean {' or '.join(f'“{word}”' for word in nearest)}?"
