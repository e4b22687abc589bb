import errno
import inspect
import re
from pathlib import Path

import pytest

from archive import errors
from archive.errors import (
    PrickingsError,
    StorageError,
    UnreadableFile,
    reading_errors,
    storage_errors,
)


def test_the_drawn_tree_is_the_real_tree() -> None:
    """Every class is drawn once, under its base, at the depth it has."""
    drawn = []
    for line in (errors.__doc__ or "").splitlines():
        if found := re.match(r"^    ([│├└─ ]*)([A-Z]\w+)", line):
            drawn.append((len(found[1]) // 4, found[2]))
    real = [
        (len(cls.__mro__) - len(PrickingsError.__mro__), name)
        for name, cls in vars(errors).items()
        if inspect.isclass(cls) and issubclass(cls, PrickingsError)
    ]
    assert sorted(drawn) == sorted(real)


def test_every_exit_code_is_the_one_drawn() -> None:
    codes = {
        found[1]: int(found[2])
        for found in re.finditer(r"([A-Z]\w+Error|NotFound) +(\d) ", errors.__doc__ or "")
    }
    assert codes
    for name, code in codes.items():
        assert getattr(errors, name).exit_code == code


@pytest.mark.parametrize(
    ("number", "words"),
    [(errno.ENOSPC, "full"), (errno.EROFS, "read-only"), (errno.EACCES, "permission")],
)
def test_a_refusal_of_the_disk_is_told_in_plain_words(number: int, words: str) -> None:
    with pytest.raises(StorageError, match=words), storage_errors("x"):
        raise OSError(number, "whatever the system calls it")


@pytest.mark.parametrize(
    ("refusal", "reason"),
    [
        (FileNotFoundError(), "there is no such file"),
        (NotADirectoryError(), "there is no such file"),
        (PermissionError(), "permission is denied"),
        (OSError(errno.EIO, "whatever the system calls it"), "the disk refuses it"),
        (UnicodeDecodeError("utf-8", b"\xff", 0, 1, "whatever"), "it is not text in UTF-8"),
    ],
)
def test_why_a_file_cannot_be_read_is_told_in_plain_words(refusal: Exception, reason: str) -> None:
    with pytest.raises(UnreadableFile) as told, reading_errors(Path("x"), "Look at it."):
        raise refusal
    assert (told.value.reason, told.value.advice) == (reason, "Look at it.")


def test_a_folder_is_told_as_one_whatever_the_system_says(tmp_path: Path) -> None:
    """Windows denies permission to read a folder."""
    with pytest.raises(UnreadableFile, match="it is a folder"), reading_errors(tmp_path, "Look."):
        raise PermissionError
