"""A folder that is replaced in whole: readers see the old site or the new one, never half.

The new site grows in a folder beside the target and takes its place by renaming. Files that
have not changed are taken over from the old site without being read. A killed build leaves
the folder beside it, which the next build clears away; if it was killed between the two
renames, the next build first puts the old site back. Where nothing has changed, nothing is
touched.

A site knows itself by its manifest: for every file its size and its SHA-256. A folder with
anything else in it is not touched.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, NamedTuple

from archive.errors import UsageError, storage_errors

MANIFEST = "manifest.json"
INDEX = "files.sha256"
FORMAT = "prickings-site/2"
LEFT_BY_SYSTEMS = {".DS_Store", "Thumbs.db", "desktop.ini"}
"""Files that desktops leave in folders that people look into; they may go."""


class NotASite(UsageError):
    """The target folder holds something that a site would overwrite."""

    def __init__(self, target: Path, found: str) -> None:
        super().__init__(
            f"“{target}” holds “{found}”, which is not part of a published site.",
            "Choose a new or empty folder, or move that file away first; nothing was changed.",
        )
        self.target = target
        self.found = found


class Kept(NamedTuple):
    """What the manifest says of one file."""

    size: int
    sha256: str


class NewFiles:
    """Writes files of a site that is not in its place yet, in whatever process.

    Args:
        target: where the site is to lie; named if a file cannot be written.
        folder: where it lies for now.
    """

    def __init__(self, target: Path, folder: Path) -> None:
        self._target = target
        self._folder = folder
        self._folders: set[str] = set()

    def write(self, path: str, data: bytes, *, unless: str) -> Kept:
        """Write a file, but not if its SHA-256 is `unless`; either way, say what it holds."""
        kept = Kept(len(data), hashlib.sha256(data).hexdigest())
        if kept.sha256 != unless:
            with storage_errors(f"{self._target}/{path}"):
                Path(self.place(path)).write_bytes(data)
        return kept

    def place(self, path: str) -> str:
        """Where a file is to be put, in a folder that is there."""
        place = f"{self._folder}/{path}"
        folder = place[: place.rindex("/")]
        if folder not in self._folders:
            with storage_errors(self._target / path):
                Path(folder).mkdir(parents=True, exist_ok=True)
            self._folders.add(folder)
        return place


class SiteFolder:
    """The site's folder while a new site is built for it.

    Args:
        target: where the site is to lie; made where it does not exist.

    Raises:
        UsageError: the target is a whole disk.
        NotASite: the target holds something else.
        StorageError: there is no room or no permission.
    """

    def __init__(self, target: Path) -> None:
        self.target = target.absolute()
        if not self.target.name:
            raise UsageError(
                f"“{target}” is a whole disk, which cannot be replaced by a site.",
                "Name a folder on it, such as one called “lace”; it is made if need be.",
            )
        self._new = self.target.with_name(f".{self.target.name}.building")
        self._before = self.target.with_name(f".{self.target.name}.before")
        self._kept: dict[str, Kept] = {}
        self.new_files = NewFiles(self.target, self._new)
        self.written = 0
        with storage_errors(self.target):
            if self._before.exists() and not self.target.exists():
                self._before.rename(self.target)
            self._manifest = _read_manifest(self.target)
            old = _files_of(self._manifest)
            self._old = _present(self.target, old)
            self._lacking = len(old) - len(self._old)

    def is_as_left(self, manifest_sha256: str) -> bool:
        """Whether the site is the one with this manifest, with nothing missing or half done."""
        return (
            bool(self._manifest)
            and hashlib.sha256(self._manifest).hexdigest() == manifest_sha256
            and not self._lacking
            and (self.target / INDEX).exists()
            and not self._new.exists()
            and not self._before.exists()
        )

    def begin(self) -> None:
        """Clear away what an earlier, killed build has left, and begin a new site."""
        with storage_errors(self.target):
            for left in (self._new, self._before):
                if left.exists():
                    shutil.rmtree(left)
            self._new.mkdir(parents=True)

    def take_over(self, path: str, sha256: str) -> bool:
        """Put a file of the old site into the new one; False where it has no such file."""
        old = self._old.get(path)
        if old is None or old.sha256 != sha256:
            return False
        source, place = f"{self.target}/{path}", self.new_files.place(path)
        try:
            os.link(source, place)
        except OSError:  # file systems of USB sticks know no links
            with storage_errors(source):
                shutil.copyfile(source, place)
        self._kept[path] = old
        return True

    @contextmanager
    def old_file(self, path: str, sha256: str) -> Iterator[BinaryIO | None]:
        """A file of the old site to read; None where it does not hold what it should."""
        try:
            file = (self.target / path).open("rb")
        except OSError:
            yield None
            return
        with file:
            whole = hashlib.file_digest(file, "sha256").hexdigest() == sha256
            file.seek(0)
            yield file if whole else None

    @contextmanager
    def growing(self, path: str) -> Iterator[Callable[[bytes], None]]:
        """Put a file into the new site by what is yielded, bit by bit: it is much to hold."""
        sha256 = hashlib.sha256()
        place = Path(self.new_files.place(path))
        with storage_errors(self.target / path), place.open("wb") as file:

            def add(data: bytes) -> None:
                sha256.update(data)
                file.write(data)

            yield add
        kept = Kept(place.stat().st_size, sha256.hexdigest())
        if kept.sha256 == self.sha256_of_old(path):
            place.unlink()
        self.accept(path, kept)

    def put(self, path: str, data: bytes) -> str:
        """Put a file into the new site, and return its SHA-256."""
        kept = self.new_files.write(path, data, unless=self.sha256_of_old(path))
        self.accept(path, kept)
        return kept.sha256

    def sha256_of_old(self, path: str) -> str:
        """What a file of the old site holds; empty where there is no such file."""
        old = self._old.get(path)
        return old.sha256 if old else ""

    def sha256_of_new(self, path: str) -> str:
        """What a file of the new site holds."""
        return self._kept[path].sha256

    def accept(self, path: str, kept: Kept) -> None:
        """Take up a file that `new_files` has written, or has not since the old site has it."""
        if not self.take_over(path, kept.sha256):
            self._kept[path] = kept
            self.written += 1

    @property
    def paths(self) -> Collection[str]:
        """The files of the new site, or of the old one where none was begun."""
        return (self._kept or self._old).keys()

    def finish(self) -> str:
        """Write the index of files and the manifest, and put the new site in its place.

        Returns:
            The SHA-256 of the manifest.
        """
        ordered = sorted(self._kept.items())
        index = "".join(f"{kept.sha256}  {path}\n" for path, kept in ordered)
        told = json.dumps({"format": FORMAT, "files": dict(ordered)}, ensure_ascii=False)
        manifest = told.replace("], ", "],\n").encode() + b"\n"
        with storage_errors(self.target):
            (self._new / INDEX).write_text(index, encoding="utf-8", newline="\n")
            (self._new / MANIFEST).write_bytes(manifest)
            if self.target.exists():
                self.target.rename(self._before)
            try:
                self._new.rename(self.target)
            except OSError:
                if self._before.exists():
                    self._before.rename(self.target)
                raise
            if self._before.exists():
                shutil.rmtree(self._before)
        return hashlib.sha256(manifest).hexdigest()

    def give_up(self) -> None:
        """Clear away the unfinished site; the old one stays as it was."""
        shutil.rmtree(self._new, ignore_errors=True)


def _read_manifest(target: Path) -> bytes:
    """The manifest of an earlier build in `target`; empty where there is none."""
    try:
        return (target / MANIFEST).read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return b""


def _files_of(manifest: bytes) -> dict[str, Kept]:
    """What a manifest says of each file; empty where it is none of ours."""
    try:
        told = json.loads(manifest)
    except ValueError:
        return {}
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        return {}
    return {path: Kept(*kept) for path, kept in told["files"].items()}


def _present(target: Path, old: dict[str, Kept]) -> dict[str, Kept]:
    """The files of the old site that lie there with their size.

    Raises:
        NotASite: something else lies there.
    """
    if target.exists() and not target.is_dir():
        raise NotASite(target, target.name)
    ours = {INDEX, MANIFEST} if old else set()
    present = {}
    for path, size in _walk(target, ""):
        kept = old.get(path)
        if kept is not None:
            if kept.size == size:
                present[path] = kept
        elif path not in ours and path.rpartition("/")[2] not in LEFT_BY_SYSTEMS:
            raise NotASite(target, path)
    return present


def _walk(folder: Path, below: str) -> Iterator[tuple[str, int]]:
    """Every file under a folder by its path in the site, with its size, in a fixed order."""
    if not folder.exists():
        return
    with os.scandir(folder) as found:
        entries = sorted(found, key=lambda entry: entry.name)
    for entry in entries:
        if entry.is_dir(follow_symlinks=False):
            yield from _walk(Path(entry.path), f"{below}{entry.name}/")
        else:
            yield f"{below}{entry.name}", entry.stat(follow_symlinks=False).st_size
