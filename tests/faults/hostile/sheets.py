"""Every hostile file by its kind and name, and sound ones to break."""

from __future__ import annotations

import random
import zlib
from collections.abc import Iterator

from tests.faults.hostile.documents import FILLED, IMAGE, PDF, PDF_DOTS, WITH_X
from tests.faults.hostile.drawings import DOTS, SVG, svg
from tests.faults.hostile.made import Made
from tests.faults.hostile.pictures import PICTURES, picture, saved
from tests.pdf_writing import one_page, stream

HOSTILE: dict[tuple[str, str], Made] = {
    (kind, name): made
    for kind, files in (("SVG", SVG), ("PDF", PDF), ("picture", PICTURES))
    for name, made in files.items()
}


def sound() -> dict[str, bytes]:
    """Files with nothing wrong, one of each kind."""
    return {
        "svg": svg(DOTS),
        "pdf": one_page(PDF_DOTS),
        "scanned pdf": one_page(
            FILLED,
            WITH_X,
            stream(
                zlib.compress(picture().tobytes()),
                IMAGE + b"/Width 420/Height 500/Filter/FlateDecode",
            ),
        ),
        "png": saved("PNG"),
        "jpeg": saved("JPEG"),
        "tiff": saved("TIFF", compression="tiff_lzw"),
        "webp": saved("WEBP"),
        "gif": saved("GIF"),
    }


def cut_off() -> Iterator[tuple[str, bytes]]:
    """Each sound file, broken off after each tenth."""
    for kind, content in sound().items():
        for tenth in range(1, 10):
            yield f"{kind} after {tenth} tenths", content[: len(content) * tenth // 10]


def altered() -> Iterator[tuple[str, bytes]]:
    """Each sound file, with a few bytes changed at random."""
    for kind, content in sound().items():
        for seed in range(12):
            chance = random.Random(f"{kind} {seed}")
            changed = bytearray(content)
            for _ in range(chance.randint(1, 9)):
                changed[chance.randrange(len(changed))] = chance.randrange(256)
            yield f"{kind} altered, seed {seed}", bytes(changed)
