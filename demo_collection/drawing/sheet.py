"""The paper round a drawing: caption, scale bar, and the faults of an older sheet.

Knows drawings and recipes; nothing of files.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from demo_collection.drawing.canvas import Drawing, Line, Points
from demo_collection.drawing.net import draw_net
from demo_collection.drawing.plaited import draw_plaited
from demo_collection.drawing.recipes import Recipe
from demo_collection.drawing.tape import draw_tape

GUILD = "Thistlemere Guild of Lacemakers"
MARGIN_MM = 9.0
CAPTION_MM = 21.0
FOOTER_MM = 15.0
LEAST_WIDTH_MM = 84.0

_KINDS = {"corner_edging": "corner edging"}
_FAMILIES = {
    "point_ground": "point ground",
    "torchon": "torchon",
    "bedfordshire": "plaits and leaves",
    "russian": "tape",
    "milanese": "tape",
}


@dataclass(frozen=True)
class Text:
    """A line of lettering; `y` is its base line, `size` in mm."""

    x: float
    y: float
    size: float
    words: str
    weight: str = "plain"


@dataclass(frozen=True)
class PlantedFault:
    """A hole that is missing or too many, on the sheet in mm."""

    kind: str
    x: float
    y: float


@dataclass(frozen=True)
class LaidOut:
    """One finished sheet, not yet turned into a file."""

    recipe: Recipe
    drawing: Drawing
    width: float
    height: float
    texts: list[Text]
    ruler: list[Line]
    faults: list[PlantedFault]

    def holes(self) -> Points:
        """The holes on the sheet: the pins, less the missing ones, and the ones too many."""
        points = self.drawing.pin_points()
        missing = {(fault.x, fault.y) for fault in self.faults if fault.kind == "missing"}
        kept = [(x, y) for x, y in points if (x, y) not in missing]
        extra = [(fault.x, fault.y) for fault in self.faults if fault.kind == "extra"]
        return np.array(kept + extra)


def draw(recipe: Recipe) -> Drawing:
    """The lace of a recipe."""
    if recipe.net:
        return draw_net(recipe.net).drawing
    if recipe.plaited:
        return draw_plaited(recipe.plaited).drawing
    assert recipe.tape is not None
    return draw_tape(recipe.tape)


def lay_out(recipe: Recipe, drawing: Drawing) -> LaidOut:
    """The sheet of a recipe, with its lace on it.

    Raises:
        ValueError: a planted fault is not where the recipe says.
    """
    points = drawing.pin_points()
    lowest, highest = points.min(axis=0), points.max(axis=0)
    below = max([float(highest[1]), *(float(line.points[:, 1].max()) for line in drawing.lines)])
    wide = float(highest[0] - lowest[0])
    width = float(round(max(LEAST_WIDTH_MM, wide + 2 * MARGIN_MM + 4)))
    height = float(round(CAPTION_MM + MARGIN_MM + (below - float(lowest[1])) + FOOTER_MM))
    left, top = (width - wide) / 2, CAPTION_MM + 5.0
    placed = drawing.moved(left - float(lowest[0]), top - float(lowest[1]))
    ruler, ruler_text = _ruler(height)
    return LaidOut(
        recipe,
        placed,
        width,
        height,
        [*_caption(recipe, placed), *ruler_text],
        ruler,
        _faults(recipe, placed, left, top),
    )


def _caption(recipe: Recipe, drawing: Drawing) -> list[Text]:
    family = _FAMILIES[recipe.families[0]]
    kind = _KINDS.get(recipe.kind, recipe.kind)
    pairs = f"{drawing.pairs.start} pairs"
    if drawing.pairs.most > drawing.pairs.start:
        pairs += f" (+{drawing.pairs.most - drawing.pairs.start})"
    if recipe.gimps:
        pairs += f" · {recipe.gimps} gimp{'s' if recipe.gimps > 1 else ''}"
    return [
        Text(MARGIN_MM, 10.5, 5.2, recipe.title, "title"),
        Text(MARGIN_MM, 15.0, 2.7, f"{recipe.shelfmark} · {kind}, {family}"),
        Text(MARGIN_MM, 18.8, 2.7, f"{pairs} · {recipe.thread}"),
    ]


def _ruler(height: float) -> tuple[list[Line], list[Text]]:
    """A bar of 50 mm to check a copy against, and the guild's name."""
    y = height - 8.0
    lines = [Line(np.array([(MARGIN_MM, y), (MARGIN_MM + 50, y)]), "ruler")]
    for step in range(11):
        tall = 1.6 if step % 2 == 0 else 0.9
        x = MARGIN_MM + 5 * step
        lines.append(Line(np.array([(x, y - tall), (x, y)]), "ruler"))
    texts = [
        Text(MARGIN_MM + 51.5, y, 2.3, "50 mm"),
        Text(MARGIN_MM, height - 3.6, 2.2, f"{GUILD} · CC0 1.0"),
    ]
    return lines, texts


def _faults(recipe: Recipe, drawing: Drawing, left: float, top: float) -> list[PlantedFault]:
    points = drawing.pin_points()
    planted = []
    for fault in recipe.sheet.faults:
        wanted = np.array([left + fault.at[0], top + fault.at[1]])
        distances = np.hypot(*(points - wanted).T)
        nearest = int(np.argmin(distances))
        if fault.kind == "missing":
            if distances[nearest] > 1.0:
                raise ValueError(f"{recipe.shelfmark}: no hole to leave out near {fault.at}")
            wanted = points[nearest]
        elif distances[nearest] < 0.7:
            raise ValueError(f"{recipe.shelfmark}: a hole lies already near {fault.at}")
        planted.append(PlantedFault(fault.kind, float(wanted[0]), float(wanted[1])))
    return planted
