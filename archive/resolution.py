"""Resolutions: what a picture file says of its own, and how much of that can be believed.

Resolutions are pixels to the inch, across and down. Knows no pictures.
"""

from __future__ import annotations

Resolution = tuple[float, float]

MM_PER_INCH = 25.4
"""Source: the international inch of 1959."""

EQUAL = 0.001
"""Two resolutions that differ by less are one, rounded."""

LONGEST_PIXEL = 4.0
"""Times a pixel may be longer than wide: a telefax has 204 to the inch across by 98, 196 or 391
down. Source: ITU-T T.4."""

_LEAST, _MOST = 50, 4800
"""Coarser and finer than any scanner or telefax; common practice, no source."""

_UNKNOWING = (72.0, 96.0)
"""Written by programs that know nothing of the paper: screen defaults of old and new systems."""

_ON_ITS_SIDE = range(5, 9)
"""Source: Exif 2.32, tag 274, Orientation: rows of the file are columns of the picture."""


def believe(told: object, orientation: object = 1) -> Resolution | None:
    """The resolution of a picture set upright; None where one of the two says nothing.

    Args:
        told: what the file says of its rows and columns, as a picture library hands it on.
        orientation: how the picture lies in the file, by Exif.
    """
    try:
        across, down = (float(side) for side in told)  # type: ignore[attr-defined]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    lower, higher = sorted((across, down))
    if not (lower >= _LEAST and higher <= min(_MOST, LONGEST_PIXEL * lower)):
        return None
    if any(abs(side - unknowing) < 0.5 for side in (across, down) for unknowing in _UNKNOWING):
        return None
    return (down, across) if orientation in _ON_ITS_SIDE else (across, down)


def is_equal(resolution: Resolution) -> bool:
    """Whether pixels are as wide as they are long."""
    across, down = resolution
    return abs(across - down) <= EQUAL * max(resolution)


def drawn_out(size: tuple[int, int], resolution: Resolution) -> tuple[int, int]:
    """The size of a picture with as many pixels to the inch both ways, the finer of the two."""
    if is_equal(resolution):
        return size
    width, height = (
        round(side * max(resolution) / own) for side, own in zip(size, resolution, strict=True)
    )
    return width, height
