"""The index as one file, which is whole and of the right state or not opened at all.

The first line says in JSON what the file is, for which state of the catalogue it was made and
what its bytes must hash to; arrays in NumPy's npz format follow, without pickles. A new file
is written beside the old one and takes its place in one step, so that a program killed
half-way leaves the old index or none.
"""

from __future__ import annotations

import hashlib
import io
import json
import time
from contextlib import suppress
from pathlib import Path
from typing import Any
from uuid import uuid4
from zipfile import BadZipFile

import numpy as np
from numpy.typing import NDArray

from archive import __version__
from archive.errors import storage_errors
from archive.vocabulary import families, kinds, techniques

Arrays = dict[str, NDArray[Any]]

_FORMAT = 1
"""To be raised when what is saved changes between two releases."""

_FILE = "catalogue.index"
_LEFT_BEHIND_S = 3600
"""Age at which a half-written file has no writer any more. Common practice, no source."""


class StaleIndex(Exception):
    """There is no index, or it is damaged, of another version or of another state.

    Not an error a person sees, so not of the tree in `archive.errors`: whoever opens the index
    catches it and builds it anew.
    """


def write_index(folder: Path, arrays: Arrays, *, state: str) -> None:
    """Save the arrays as the index of `folder`, in place of any older one.

    Raises:
        StorageError: There is no room or no permission.
    """
    content = io.BytesIO()
    np.savez(content, **arrays)  # type: ignore[arg-type]
    stamp = {**_stamp(state), "sha256": hashlib.sha256(content.getbuffer()).hexdigest()}
    with storage_errors(folder):
        folder.mkdir(parents=True, exist_ok=True)
        _clear_up(folder)
        beside = folder / f"{uuid4().hex}.new"
        try:
            with beside.open("wb") as file:
                file.write(json.dumps(stamp).encode() + b"\n")
                file.write(content.getbuffer())
            beside.replace(folder / _FILE)
        finally:
            beside.unlink(missing_ok=True)


def read_index(folder: Path, *, state: str) -> Arrays:
    """The saved arrays.

    Raises:
        StaleIndex: There is no whole index of this version and this state.
    """
    try:
        saved = (folder / _FILE).read_bytes()
    except OSError as cause:
        raise StaleIndex(f"there is no index in {folder} that can be read") from cause
    first_line, _, content = saved.partition(b"\n")
    try:
        stamp = json.loads(first_line)
    except ValueError as cause:
        raise StaleIndex("the index does not say what it is") from cause
    if stamp != {**_stamp(state), "sha256": hashlib.sha256(content).hexdigest()}:
        raise StaleIndex("the index is damaged, of another version or of another state")
    try:
        with np.load(io.BytesIO(content), allow_pickle=False) as arrays:
            return dict(arrays)
    except (ValueError, OSError, BadZipFile) as cause:
        raise StaleIndex("the index holds something else than arrays") from cause


def _clear_up(folder: Path) -> None:
    """Remove what killed programs left behind, but nothing another may still be writing."""
    for left in folder.glob("*.new"):
        with suppress(OSError):
            if time.time() - left.stat().st_mtime > _LEFT_BEHIND_S:
                left.unlink()


def _stamp(state: str) -> dict[str, Any]:
    """What an index must say of itself: this program, this vocabulary, this state."""
    vocabulary = [[repr(term) for term in terms()] for terms in (techniques, families, kinds)]
    digest = hashlib.sha256(json.dumps(vocabulary).encode()).hexdigest()
    return {
        "prickings": __version__,
        "format": _FORMAT,
        "vocabulary": digest,
        "state": state,
    }
