"""Where the pins of a net lie, and which way its pairs go.

A site is `(a, b)`: `a` counts steps down towards the head, `b` steps down towards the
foot, so that its column is `a - b` and its half row `a + b`; b is also the number of the
slanting row. The footside is at the right. Formulae (s: foot pitch, w: column width,
theta: ground angle from the footside): w = s tan(theta) / 2; neighbouring columns are
shifted by s / 2.

A corner mirrors the strip about one of its slanting rows. In torchon that row already lies
at 45°; in point ground the last rows before it are spread from theta to 45°. A round lace
bends the columns to circles; each next radius grows so that the angle stays the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

Site = tuple[int, int]


def site_at(column: int, half_row: int) -> Site:
    """The site at a column and a half row, which are both even or both odd."""
    if (column + half_row) % 2:
        raise ValueError(f"no pin at column {column}, half row {half_row}: one is even, one odd")
    return (half_row + column) // 2, (half_row - column) // 2


@dataclass(frozen=True)
class Lattice:
    """The sites of one net and their places on the sheet."""

    angle_deg: float
    pitch_mm: float
    columns: int
    foot_offset: float
    corner_row: int | None = None
    spread_rows: int = 0
    rows_round: int | None = None

    @property
    def column_mm(self) -> float:
        """Width of one column."""
        return self.pitch_mm * math.tan(math.radians(self.angle_deg)) / 2

    # -- names of sites ---------------------------------------------------------------

    def wrapped(self, site: Site) -> Site:
        """The same site under its own name: on a round lace the last row meets the first."""
        if self.rows_round is None:
            return site
        turns = (site[0] + site[1]) // (2 * self.rows_round)
        return site[0] - turns * self.rows_round, site[1] - turns * self.rows_round

    def beyond_corner(self, site: Site) -> bool:
        """Whether the site lies on the side worked after the corner."""
        return self.corner_row is not None and site[1] > self.corner_row

    def reflected(self, site: Site) -> Site:
        """The site on the other side of the corner line."""
        assert self.corner_row is not None
        return site[0], 2 * self.corner_row - site[1]

    def before_corner(self, site: Site) -> Site:
        """The site itself, or the one it mirrors."""
        return self.reflected(site) if self.beyond_corner(site) else site

    def column(self, site: Site) -> int:
        """Columns from the catch pins (0) towards the head."""
        a, b = self.before_corner(site)
        return a - b

    def half_row(self, site: Site) -> int:
        """Half rows from the top; beyond a corner, from the end."""
        return sum(self.before_corner(site))

    # -- neighbours --------------------------------------------------------------------

    def ins(self, site: Site) -> tuple[Site, Site]:
        """Where the two pairs of a site come from: head side, foot side."""
        a, b = site
        if self.beyond_corner(site):
            return self.wrapped((a + 1, b)), self.wrapped((a, b - 1))
        return self.wrapped((a, b - 1)), self.wrapped((a - 1, b))

    def outs(self, site: Site) -> tuple[Site, Site]:
        """Where the two pairs of a site go: head side, foot side."""
        a, b = site
        if self.beyond_corner(site):
            return self.wrapped((a, b + 1)), self.wrapped((a - 1, b))
        return self.wrapped((a + 1, b)), self.wrapped((a, b + 1))

    def triangles(self, cell: Site) -> tuple[tuple[Site, Site, Site], tuple[Site, Site, Site]]:
        """The two triangles of the rhomb below a site, split along the footside."""
        a, b = cell
        top, left, right, low = (a, b), (a + 1, b), (a, b + 1), (a + 1, b + 1)
        if self.corner_row is not None and b >= self.corner_row:
            halves = (top, left, right), (left, right, low)
        else:
            halves = (top, left, low), (top, right, low)
        first, second = ((self.wrapped(p), self.wrapped(q), self.wrapped(r)) for p, q, r in halves)
        return first, second

    def cells_round(self, site: Site) -> Iterator[Site]:
        """The four rhombs that meet at a site, by their first corner."""
        a, b = site
        yield from ((a - 1, b - 1), (a - 1, b), (a, b - 1), (a, b))

    def neighbours(self, site: Site) -> set[Site]:
        """The six sites (five or seven beside a corner) that share a triangle with a site."""
        own = self.wrapped(site)
        return {
            corner
            for cell in self.cells_round(site)
            for triangle in self.triangles(cell)
            if own in triangle
            for corner in triangle
        } - {own}

    # -- places ------------------------------------------------------------------------

    def place(self, site: Site) -> tuple[float, float]:
        """Where a site lies: mm, the first catch pin at the origin, the head to the left."""
        if self.rows_round is not None:
            return self._place_round(site)
        if self.beyond_corner(site):
            x, y = self.place(self.reflected(site))
            return self._mirror(x, y)
        a, b = site
        column = a - b
        x_mm = -column * self.column_mm
        if column == -1:
            x_mm = self.column_mm * self.foot_offset
        elif column == self.columns:
            x_mm = -self.column_mm * (self.columns - 1 + self.foot_offset)
        if self.corner_row is None:
            return x_mm, (a + b) * self.pitch_mm / 2
        if column == -1:
            return x_mm, self._foot_y(b)
        return x_mm, b * self.pitch_mm + column * self.column_mm * self._cotangent(b)

    def _cotangent(self, row: int) -> float:
        """Cotangent of the angle at which a slanting row leaves the footside."""
        straight = 1 / math.tan(math.radians(self.angle_deg))
        assert self.corner_row is not None
        if self.spread_rows == 0:
            return straight
        done = min(max((row - self.corner_row + self.spread_rows) / self.spread_rows, 0.0), 1.0)
        return straight + (1 - straight) * done

    def _foot_y(self, row: int) -> float:
        """Edge pins keep their pitch, but close up over four pins to meet the corner pin."""
        assert self.corner_row is not None
        usual = (row - 0.5) * self.pitch_mm
        corner_y = self.corner_row * self.pitch_mm - self.column_mm * self.foot_offset
        early = (self.corner_row - 0.5) * self.pitch_mm - corner_y
        return usual - early * max(0.0, 1 - (self.corner_row - row) / 5)

    def _mirror(self, x: float, y: float) -> tuple[float, float]:
        assert self.corner_row is not None
        corner_y = self.corner_row * self.pitch_mm
        return corner_y - y, corner_y - x

    def _place_round(self, site: Site) -> tuple[float, float]:
        assert self.rows_round is not None
        column = site[0] - site[1]
        turn = math.pi * (site[0] + site[1]) / self.rows_round
        radius = self.radius(column)
        return -radius * math.sin(turn), -radius * math.cos(turn)

    def radius(self, column: int) -> float:
        """Radius of a column of a round lace; column -1 holds the edge pins."""
        assert self.rows_round is not None
        first = self.rows_round * self.pitch_mm / (2 * math.pi)
        if column == -1:
            return first - self.foot_offset * self.column_mm
        growth = 1 + math.pi / self.rows_round * math.tan(math.radians(self.angle_deg))
        return float(first * growth**column)
