"""A folder that is replaced in whole: readers see the old site or the new one, never half.

The new site grows in a folder beside the target and takes its place by renaming. Files that
have not changed are taken over from the old site without being read. A killed build leaves
the folder beside it, which the next build clears away; if it was killed between the two
renames, the next build first puts the old site back.

A site knows itself by its manifest: for every file the fingerprint of what it was made from,
its size and its SHA-256. A folder with anything else in it is not touched.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from archive.errors import UsageError, storage_errors

MANIFEST = "manifest.json"
FORMAT = "prickings-site/1"
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


@dataclass(frozen=True)
class Kept:
    """What the manifest says of one file."""

    made_from: str
    size: int
    sha256: str


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
        self._old: dict[str, Kept] = {}
        self._kept: dict[str, Kept] = {}
        self._folders: set[Path] = set()
        self.written = 0
        self.unchanged = 0

    def begin(self) -> None:
        """Check the target and clear away what an earlier, killed build has left."""
        with storage_errors(self.target):
            if self._before.exists() and not self.target.exists():
                self._before.rename(self.target)
            self._old = _read_manifest(self.target)
            _check_nothing_else(self.target, self._old)
            for left in (self._new, self._before):
                if left.exists():
                    shutil.rmtree(left)
            self._new.mkdir(parents=True)

    def put(self, path: str, made_from: str, make: Callable[[], bytes]) -> None:
        """Put a file into the new site; `make` is only asked where `made_from` is new."""
        old = self._old.get(path)
        place = self._new / path
        with storage_errors(self.target / path):
            if old is not None and old.made_from == made_from and self._take_over(path, old.size):
                self._kept[path] = old
                self.unchanged += 1
                return
            data = make()
            self._make_folder(place.parent)
            place.write_bytes(data)
        self._kept[path] = Kept(made_from, len(data), hashlib.sha256(data).hexdigest())
        self.written += 1

    def _make_folder(self, folder: Path) -> None:
        if folder not in self._folders:
            folder.mkdir(parents=True, exist_ok=True)
            self._folders.add(folder)

    def _take_over(self, path: str, size: int) -> bool:
        """Link or copy a file of the old site; False where it is not there as it was."""
        source, place = self.target / path, self._new / path
        try:
            if source.stat().st_size != size:
                return False
        except OSError:
            return False
        self._make_folder(place.parent)
        try:
            os.link(source, place)
        except OSError:  # file systems of USB sticks know no links
            shutil.copyfile(source, place)
        return True

    def finish(self) -> None:
        """Write the index of files and the manifest, and put the new site in its place."""
        index = "".join(f"{kept.sha256}  {path}\n" for path, kept in sorted(self._kept.items()))
        manifest = {
            "format": FORMAT,
            "files": {
                path: [kept.made_from, kept.size, kept.sha256]
                for path, kept in sorted(self._kept.items())
            },
        }
        told = json.dumps(manifest, indent=0, ensure_ascii=False)
        with storage_errors(self.target):
            (self._new / "files.sha256").write_text(index, encoding="utf-8", newline="\n")
            (self._new / MANIFEST).write_text(told + "\n", encoding="utf-8", newline="\n")
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

    def give_up(self) -> None:
        """Clear away the unfinished site; the old one stays as it was."""
        shutil.rmtree(self._new, ignore_errors=True)


def _read_manifest(target: Path) -> dict[str, Kept]:
    """What an earlier build says of the site in `target`; empty where there is none."""
    try:
        told = json.loads((target / MANIFEST).read_text(encoding="utf-8"))
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return {}
    if not isinstance(told, dict) or told.get("format") != FORMAT:
        return {}
    return {path: Kept(*kept) for path, kept in told["files"].items()}


def _check_nothing_else(target: Path, old: dict[str, Kept]) -> None:
    if target.exists() and not target.is_dir():
        raise NotASite(target, target.name)
    ours = {*old, *(("files.sha256", MANIFEST) if old else ())}
    for folder, folders, files in os.walk(target):
        folders.sort()
        for name in sorted(files):
            path = (Path(folder) / name).relative_to(target).as_posix()
            if path not in ours and name not in LEFT_BY_SYSTEMS:
                raise NotASite(target, path)
