"""Where files that people bring are read: apart from the program, under limits."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from archive.apart import Apart
from archive.limits import Limits

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def reading_room(time_limit_s: float | None = None) -> Apart:
    """A process that reads and measures sheets, each in `time_limit_s` seconds of computing.

    Where no limit is given, the usual one holds.
    """
    usual = Limits()
    cpu_s = usual.cpu_s if time_limit_s is None else time_limit_s
    return Apart(
        advice="Save the sheet anew from a picture or drawing program, a scan with 300 dpi. A "
        "large one on a slow computer may need “prickings measure --time-limit SECONDS”.",
        limits=replace(
            usual, cpu_s=cpu_s, wall_s=max(usual.wall_s, cpu_s * usual.wall_s / usual.cpu_s)
        ),
    )


def draw_page(path: Path, *, page: int) -> NDArray[np.uint8]:
    """A page of a document in colour, as the analyser's reader draws it; for use apart.

    The analyser is loaded only here, in the other process: who publishes a collection without
    documents need not wait for it.
    """
    from archive.geometry import draw_page as draw

    return draw(path, page=page)
