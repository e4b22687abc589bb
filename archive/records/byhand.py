"""What a person says of a sheet, over what the analyser finds on it.

A place is written as across and down from the top left corner of the sheet, with its unit:
“21.6,22.0 mm” or “640,512 px”. Knows how it is written; reads no files and measures nothing.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Annotated, Any, Literal, get_args

from pydantic import Field

from archive.errors import InputError, UnreadableFile
from archive.records.base import Record

Unit = Literal["mm", "px"]
FootSide = Literal["left", "right", "both", "none"]

_PLACE = re.compile(
    r"\s*(?P<x>\d+(?:\.\d+)?)\s*,\s*(?P<y>\d+(?:\.\d+)?)\s*(?P<unit>mm|px)\s*", re.ASCII
)
_HOW_A_PLACE_IS_WRITTEN = (
    "Write how far across and how far down from the top left corner, and the unit, with a point "
    "for decimals: “21.6,22.0 mm” or “640,512 px”."
)
_HOW_A_FILE_IS_WRITTEN = (
    'Write lines such as hole = ["21.6,22.0 mm"], no_hole = ["640,512 px"] and foot = "left".'
)


class Mark(Record):
    """A place on the sheet, and whether a hole is there."""

    hole: bool
    x: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    y: Annotated[float, Field(ge=0, allow_inf_nan=False)]
    unit: Unit

    def in_px(self, px_per_mm: float | None) -> Mark:
        """The same mark in pixels.

        Raises:
            InputError: it is in millimetres and the scale is not known.
        """
        if self.unit == "px":
            return self
        if px_per_mm is None:
            raise InputError(
                f"The scale of the sheet is not known, so “{self.x:g},{self.y:g} mm” cannot be "
                "found on it.",
                "Give the place in px, or say the scan's resolution with --dpi first.",
            )
        x, y = (round(length * px_per_mm, 3) for length in (self.x, self.y))
        return Mark(hole=self.hole, x=x, y=y, unit="px")


class ByHand(Record):
    """Marks in the order in which they were made, a later one overruling an earlier one.

    `foot` names the side of the footside as the report does, the lace set upright; None
    leaves it to the analyser.
    """

    marks: tuple[Mark, ...] = ()
    foot: FootSide | None = None

    def then(self, later: ByHand) -> ByHand:
        """This, and what was said later."""
        return ByHand(marks=self.marks + later.marks, foot=later.foot or self.foot)

    def in_px(self, px_per_mm: float | None) -> ByHand:
        """The same with every place in pixels; raises `InputError` where one has no scale."""
        marks = tuple(mark.in_px(px_per_mm) for mark in self.marks)
        return self.model_copy(update={"marks": marks})


NOTHING_SAID = ByHand()


def make_by_hand(
    *, holes: Iterable[str] = (), no_holes: Iterable[str] = (), foot: str | None = None
) -> ByHand:
    """What a person says by places as they are written, holes first.

    Raises:
        InputError: a place or a side is not written as it must be.
    """
    marks = [_read_mark(place, hole=True) for place in holes]
    marks += [_read_mark(place, hole=False) for place in no_holes]
    side = next((known for known in get_args(FootSide) if known == foot), None)
    if side is None and foot is not None:
        raise InputError(f"“{foot}” is not a side of the lace.", "Write left, right, both or none.")
    return ByHand(marks=tuple(marks), foot=side)


def read_by_hand(text: str, path: Path) -> ByHand:
    """What is said in a TOML file with the keys `hole`, `no_hole` and `foot`.

    Raises:
        UnreadableFile: it is not TOML, or says something else; `path` is the file it stands in.
    """
    try:
        said = tomllib.loads(text)
    except tomllib.TOMLDecodeError as cause:
        raise UnreadableFile(path, f"it is not TOML ({cause})", _HOW_A_FILE_IS_WRITTEN) from cause
    try:
        return make_by_hand(
            holes=_texts(said.pop("hole", []), "hole"),
            no_holes=_texts(said.pop("no_hole", []), "no_hole"),
            foot=_nothing_else(said),
        )
    except InputError as error:
        raise UnreadableFile(path, error.problem.rstrip("."), error.advice) from error


def tell_place(x_px: float, y_px: float, px_per_mm: float | None) -> str:
    """A place as it is written, in millimetres where the scale is known."""
    if px_per_mm is None:
        return f"{x_px:.0f},{y_px:.0f} px"
    return f"{x_px / px_per_mm:.1f},{y_px / px_per_mm:.1f} mm"


def _read_mark(place: str, *, hole: bool) -> Mark:
    found = _PLACE.fullmatch(place)
    if found is None:
        raise InputError(f"“{place}” is not a place on a sheet.", _HOW_A_PLACE_IS_WRITTEN)
    unit: Unit = "mm" if found["unit"] == "mm" else "px"
    return Mark(hole=hole, x=float(found["x"]), y=float(found["y"]), unit=unit)


def _texts(value: Any, key: str) -> list[str]:
    if not isinstance(value, list) or not all(isinstance(item, str) for item in value):
        raise InputError(f"“{key}” is not a list of places in quotes", _HOW_A_FILE_IS_WRITTEN)
    return value


def _nothing_else(said: dict[str, Any]) -> str | None:
    """The side in what is left of a file; raises `InputError` if it holds anything else."""
    foot = said.pop("foot", None)
    if said:
        raise InputError(f"“{next(iter(said))}” is not known", _HOW_A_FILE_IS_WRITTEN)
    if foot is not None and not isinstance(foot, str):
        raise InputError("“foot” is not a word in quotes", _HOW_A_FILE_IS_WRITTEN)
    return foot
