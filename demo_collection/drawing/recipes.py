"""What a recipe may say: the words for the catalogue, and what to draw.

Knows the recipe files only; nothing of lattices or sheets.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

FOLDER = Path(__file__).parent.parent / "recipes"

Point = tuple[float, float]
Place = tuple[int, int]
"""Column (0 is the catch-pin column) and half row (0 is the top of the repeat)."""


class Part(BaseModel):
    """A part of a recipe: unknown words are refused, nothing changes once read."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Techniques(Part):
    """Technique ids by the role they play in the pattern."""

    taught: list[str] = []
    practised: list[str] = []
    optional: list[str] = []

    def roles(self) -> list[dict[str, str]]:
        """The techniques as `{"id", "role"}`, taught ones first."""
        return [
            {"id": technique, "role": role}
            for role in ("taught", "practised", "optional")
            for technique in getattr(self, role)
        ]


class Correction(Part):
    """What is wrong on the sheet and how it is put right, with its date."""

    date: str
    text: str


class Foot(Part):
    """The footside: its side, and how far outside the catch pins its edge pins stand.

    In torchon the edge pins are the next column of the lattice: `offset` 1.
    """

    side: Literal["left", "right", "both"] = "right"
    offset: float = Field(default=1.6, description="in column widths")
    passives: int = 2


class Head(Part):
    """The headside.

    `plain`: the last pair of a row turns round its pin; `picots`: passives and picots along
    straight or scalloped rows; `fans`: cloth fans between the tips of the net.
    """

    kind: Literal["plain", "picots", "fans"] = "picots"
    shape: Literal["straight", "point", "arch", "wave"] = "straight"
    depth: int = Field(default=0, description="columns between nook and crest")
    scallops: int = Field(default=1, description="in one repeat")
    passives: int = 2
    reach: float = Field(default=1.15, description="picots outside the last pins, in foot pitches")
    picot_pitch: float = Field(default=0.85, description="in foot pitches")
    nook: bool = True
    bulge: float = Field(default=1.2, description="height of a fan's curve, in foot pitches")
    corner_bulge: float = 2.0


class Figure(Part):
    """A figure on the lattice: a shape, what fills it, and its gimp.

    Repeated with the pattern, except `corner` figures, which lie once on the corner line.
    """

    shape: Literal["ring", "diamond", "leaf", "flower", "band", "points"]
    fill: Literal[
        "net", "honeycomb", "chain", "kat", "cloth", "half", "tally", "spider", "rose"
    ] = "net"
    gimp: Literal["none", "around", "foot side"] = "none"
    at: Place | None = None
    size: int = 0
    left: int = 0
    right: int = 0
    pins: Literal[4, 6] = 4
    points: list[Place] = []
    inner: list[Place] = Field(default=[], description="a band's foot-side border")
    outer: list[Place] = Field(default=[], description="a band's head-side border; none: the head")
    phase: Place = (0, 0)
    corner: bool = False

    @model_validator(mode="after")
    def _has_a_place(self) -> Figure:
        if (self.shape not in ("band", "points")) != (self.at is not None):
            raise ValueError("bands and points say where they lie; every other figure needs `at`")
        return self


class Corner(Part):
    """A corner: the slanting row it lies on, and over how many rows the net is redrawn."""

    row: int
    spread_rows: int = 0


class Net(Part):
    """A lace on a lattice of pins: point ground or torchon."""

    angle: float = Field(description="degrees between ground lines and footside")
    pitch: float = Field(description="foot pitch, mm")
    columns: int
    rows: int = Field(description="foot pins in one repeat")
    repeats: int
    foot: Foot = Foot()
    head: Head = Head()
    figures: list[Figure] = []
    corner: Corner | None = None
    round: bool = Field(default=False, description="bent round, the footside within")
    fringe: bool = Field(default=False, description="ends in a fringe")

    @model_validator(mode="after")
    def _has_a_corner_for_corner_figures(self) -> Net:
        if self.corner is None and any(figure.corner for figure in self.figures):
            raise ValueError("a corner figure needs a corner")
        return self


class Plait(Part):
    """A plait, or a leaf worked instead of it: two pairs from its first to its last point."""

    points: list[Point] = Field(min_length=2)
    leaf: float = Field(default=0.0, description="width of the leaf, mm; 0 draws a plait")
    picots: int = 0
    picot_side: Literal["left", "right", "both"] = "left"


class Plaited(Part):
    """Plaits, leaves and foot strips, in millimetres from the foot, y down the repeat."""

    pitch: float = Field(description="foot pitch, mm")
    repeat: float = Field(default=0.0, description="mm; 0 for a motif worked once")
    repeats: int = 1
    foot: Literal["right", "both", "none"] = "right"
    strip: float = Field(default=0.0, description="width of the foot strip, mm")
    strip_pairs: int = 0
    width: float = Field(default=0.0, description="from foot to foot of an insertion, mm")
    plaits: list[Plait]


class Braid(Part):
    """One braid: a line with pins on either side."""

    curve: Literal["line", "wave", "circle", "garland"]
    at: float = Field(default=0.0, description="middle of the line, mm from the left; for rings 0")
    swing: float = Field(default=0.0, description="half the width of a wave, mm")
    swell: float = Field(default=0.0, description="how far the bends of a wave overhang, mm")
    turn: Literal["as drawn", "mirrored"] = "as drawn"
    radius: float = 0.0
    lobes: int = 0
    width: float
    pitch: float = Field(description="between pins of one side, measured in the middle, mm")
    passives: int
    vein: bool = Field(default=False, description="an open line down the middle")


class Tape(Part):
    """A lace of braids sewn to each other."""

    repeat: float = Field(default=0.0, description="mm; 0 for a closed piece")
    repeats: int = 1
    foot: Literal["right", "none"] = "none"
    braids: list[Braid]


class Fault(Part):
    """A hole planted or left out, at millimetres from the top left of the pins."""

    kind: Literal["missing", "extra"]
    at: Point


class Sheet(Part):
    """How the pricking came to us: as a clean drawing, or as a scan of an older sheet."""

    style: Literal["drawing", "scan"] = "drawing"
    paper: Literal["white", "cream", "brown card", "photocopy"] = "white"
    tilt: float = Field(default=0.0, description="degrees, clockwise")
    blur: float = Field(default=0.0, description="mm")
    stains: int = 0
    hole: float = Field(default=0.3, description="radius of a hole, mm")
    tagged: bool = Field(default=True, description="the file states its resolution")
    lossless: bool = False
    seed: int = 1
    faults: list[Fault] = []


class Recipe(Part):
    """One pricking of the demo guild."""

    shelfmark: str
    title: str
    families: list[str]
    kind: Literal["edging", "insertion", "corner_edging", "motif", "mat", "bookmark"]
    difficulty: int = Field(ge=1, le=5)
    thread: str
    gimps: int = Field(default=0, ge=0, description="single gimps to wind")
    working_notes: list[str] = Field(min_length=2, max_length=5)
    easily_wrong: str
    techniques: Techniques
    corrections: list[Correction] = []
    sheet: Sheet = Sheet()
    net: Net | None = None
    plaited: Plaited | None = None
    tape: Tape | None = None

    @model_validator(mode="after")
    def _draws_one_lace(self) -> Recipe:
        if sum(part is not None for part in (self.net, self.plaited, self.tape)) != 1:
            raise ValueError("a recipe draws exactly one of net, plaited, tape")
        return self

    @property
    def sheet_file(self) -> str:
        """The sheet's path inside the demo folder."""
        ending = "svg"
        if self.sheet.style == "scan":
            ending = "png" if self.sheet.lossless else "jpg"
        return f"sheets/{self.shelfmark.lower()}.{ending}"


def read_recipe(path: Path) -> Recipe:
    """The recipe in one TOML file."""
    return Recipe.model_validate(tomllib.loads(path.read_text(encoding="utf-8")))


def read_recipes(folder: Path = FOLDER) -> list[Recipe]:
    """All recipes, in the order of their shelfmarks."""
    return [read_recipe(path) for path in sorted(folder.glob("*.toml"))]
