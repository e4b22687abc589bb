"""Which sites a figure takes, and what is done at each.

Knows recipes and lattices; nothing of pairs or places on paper.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

from demo_collection.drawing.canvas import PinRole
from demo_collection.drawing.head import last_column
from demo_collection.drawing.lattice import Lattice, Site, site_at
from demo_collection.drawing.recipes import Figure, Net, Place

Use = Literal[
    "ground", "catch", "honeycomb", "kat", "cloth", "ring",  # a pin, two pairs meet
    "within",  # no pin: passives and worker cross inside cloth
    "tally",  # no pin: the two pairs weave a tally
    "empty",  # no pin: the two pairs pass without meeting
    "spider",  # no pin: a leg passes on its way to the centre
]  # fmt: skip
PINNED: dict[Use, PinRole] = {
    "ground": "ground",
    "catch": "catch",
    "honeycomb": "honeycomb",
    "kat": "kat",
    "cloth": "cloth",
    "ring": "ring",
}
"""The uses that set a pin, and what kind of pin."""


@dataclass(frozen=True)
class Placed:
    """One figure where it lies."""

    figure: Figure
    sites: frozenset[Site]
    on_corner: bool = False


@dataclass
class Plan:
    """Every site of the net with its use, and the figures placed on it."""

    net: Net
    lattice: Lattice
    last: int
    """The last half row drawn (of a corner: the last before which a slanting row may end)."""
    use: dict[Site, Use] = field(default_factory=dict)
    placed: list[Placed] = field(default_factory=list)
    passed: dict[Site, set[str]] = field(default_factory=dict)
    """At the widest pins of cloth: the sides (head, foot) on which a pair passes by outside."""


def plan(net: Net, lattice: Lattice, last: int) -> Plan:
    """The net with all its figures.

    Raises:
        ValueError: a figure leaves the net, touches the catch pins or overlaps another.
    """
    drawn = Plan(net, lattice, last)
    for site in _net_sites(net, lattice, last):
        drawn.use[site] = "catch" if _is_catch(net, lattice, site) else "ground"
    taken: set[Site] = set()
    for figure in net.figures:
        for placed in _placed(figure, drawn):
            if beyond := sorted(placed.sites - drawn.use.keys()):
                raise ValueError(f"a {figure.shape} reaches beyond the net at {beyond[:3]}")
            if figure.shape != "band" and taken & placed.sites:
                raise ValueError(f"figures overlap at {sorted(taken & placed.sites)[:3]}")
            if any(drawn.use[site] == "catch" for site in placed.sites):
                raise ValueError(f"a {figure.shape} reaches the catch pins")
            if figure.shape != "band":
                taken |= placed.sites
            drawn.placed.append(placed)
            _fill(drawn, placed)
    return drawn


def _is_catch(net: Net, lattice: Lattice, site: Site) -> bool:
    column = lattice.column(site)
    return column == 0 or (net.foot.side == "both" and column == net.columns - 1)


def _net_sites(net: Net, lattice: Lattice, last: int) -> Iterator[Site]:
    end = last if net.round else last + 1
    for half_row in range(end):
        for column in range(half_row % 2, last_column(net, half_row) + 1, 2):
            site = site_at(column, half_row)
            if lattice.corner_row is None:
                yield site
            elif site[1] <= lattice.corner_row:
                yield site
                if site[1] < lattice.corner_row:
                    yield lattice.reflected(site)


def _placed(figure: Figure, drawn: Plan) -> Iterator[Placed]:
    """Every place of a figure: once in each repeat it fits into, on both sides of a corner."""
    net, lattice = drawn.net, drawn.lattice
    row = lattice.corner_row
    if figure.shape == "band":
        yield Placed(figure, frozenset(_band(figure, drawn)))
        return
    if figure.corner:
        assert row is not None
        yield Placed(figure, frozenset(_on_corner(figure, row)), on_corner=True)
        return
    for repeat in range(-1, drawn.last // (2 * net.rows) + 1):
        shift = repeat * net.rows
        for shape in _shapes(figure):
            sites = frozenset((a + shift, b + shift) for a, b in shape)
            if net.round:
                if 0 <= repeat < net.repeats:
                    yield Placed(figure, frozenset(lattice.wrapped(site) for site in sites))
            elif any(not 2 <= a + b <= drawn.last - 2 for a, b in sites):
                continue  # cut by the end of the sheet
            elif row is None:
                yield Placed(figure, sites)
            elif all(b < row for _, b in sites) and sites <= drawn.use.keys():
                yield Placed(figure, sites)
                yield Placed(figure, frozenset(lattice.reflected(site) for site in sites))


def _on_corner(figure: Figure, row: int) -> Iterator[Site]:
    """A square of sites about a column on the corner line."""
    assert figure.at is not None
    middle = figure.at[0] + row
    for a in range(middle - figure.size, middle + figure.size + 1):
        for b in range(row - figure.size, row + figure.size + 1):
            yield a, b


def _rhomb(top: Place, left: int, right: int) -> Iterator[Site]:
    a, b = site_at(*top)
    for i in range(left + 1):
        for j in range(right + 1):
            yield a + i, b + j


_DIRECTIONS = [(1, 1), (0, 1), (-1, 0), (-1, -1), (0, -1), (1, 0)]
"""The six ways to a neighbouring pin, from straight down towards the foot and on round."""


def _shapes(figure: Figure) -> Iterator[set[Site]]:
    """The sites of a figure in the first repeat; of a flower, of each petal."""
    if figure.shape == "points":
        yield {site_at(*place) for place in figure.points}
        return
    assert figure.at is not None
    column, half_row = figure.at
    match figure.shape:
        case "ring" if figure.pins == 4:
            yield set(_rhomb((column, half_row - 1), 1, 1))
        case "ring":
            a, b = site_at(column, half_row)
            yield {(a + i, b + j) for i, j in [(0, 0), *_DIRECTIONS]}
        case "diamond":
            yield set(_rhomb(figure.at, figure.size, figure.size))
        case "leaf":
            yield set(_rhomb(figure.at, figure.left, figure.right))
        case "flower":
            a, b = site_at(column, half_row)
            for (i, j), (k, m) in pairwise([*_DIRECTIONS, _DIRECTIONS[0]]):
                steps = range(1, figure.size + 2)
                yield {(a + n * i + o * k, b + n * j + o * m) for n in steps for o in steps}


def _border(points: list[Place], half_row: int, long: int) -> float:
    """Column of a band's border, straight between given points, repeating."""
    at = half_row % long
    known = sorted((row, column) for column, row in points)
    known = [(known[-1][0] - long, known[-1][1]), *known, (known[0][0] + long, known[0][1])]
    for (r, c), (s, d) in pairwise(known):
        if r <= at <= s and s > r:
            return c + (d - c) * (at - r) / (s - r)
    raise ValueError("a band's border lies outside its repeat")


def _band(figure: Figure, drawn: Plan) -> Iterator[Site]:
    """The sites between two borders that repeat with the pattern."""
    long = 2 * drawn.net.rows
    for site in drawn.use:
        column, half_row = drawn.lattice.column(site), drawn.lattice.half_row(site)
        if column < _border(figure.inner, half_row, long) - 1e-9:
            continue
        if figure.outer and column > _border(figure.outer, half_row, long) + 1e-9:
            continue
        yield site


def _fill(drawn: Plan, placed: Placed) -> None:
    """Give every site of a figure its use."""
    figure, sites, use = placed.figure, placed.sites, drawn.use
    if figure.shape == "ring":
        use.update(dict.fromkeys(sites, "ring"))
        if figure.pins == 6:
            use[_middle_site(sites)] = "empty"
        return
    match figure.fill:
        case "honeycomb" | "kat":
            for site in sites:
                use[site] = "empty" if _is_gap(placed, drawn, site) else figure.fill
        case "chain":
            use.update(dict.fromkeys(sites, "honeycomb"))
        case "cloth" | "half":
            _fill_cloth(drawn, placed)
        case "tally":
            use.update(dict.fromkeys(sites, "tally"))
        case "spider":
            use.update(dict.fromkeys(sites, "spider"))


def _middle_site(sites: frozenset[Site]) -> Site:
    return sum(a for a, _ in sites) // len(sites), sum(b for _, b in sites) // len(sites)


def _is_gap(placed: Placed, drawn: Plan, site: Site) -> bool:
    """Whether honeycomb or kat stitch leaves a site out: every second one of every second row.

    At the edge of the net every site has its pin, or the edge would gape.
    """
    a, b = site
    around = (*drawn.lattice.ins(site), *drawn.lattice.outs(site))
    if any(neighbour not in drawn.use for neighbour in around):
        return False
    if placed.figure.shape == "band":
        a, b = drawn.lattice.before_corner(site)
        first = site_at(*placed.figure.phase)
    else:
        first = min(a for a, _ in placed.sites), min(b for _, b in placed.sites)
    return (a - first[0]) % 2 == 1 and (b - first[1]) % 2 == 1


def _fill_cloth(drawn: Plan, placed: Placed) -> None:
    """Pins round the edge, none within; at the widest pins nothing comes in or goes out."""
    lattice, sites = drawn.lattice, placed.sites
    for site in sites:
        edge = any(neighbour not in sites for neighbour in lattice.neighbours(site))
        drawn.use[site] = "cloth" if edge else "within"
        a, b = site
        upright = {(a + 1, b + 1), (a - 1, b - 1)}
        if lattice.beyond_corner(site):
            upright = {(a + 1, b - 1), (a - 1, b + 1)}
        if upright & sites:
            continue
        (head_in, foot_in), (head_out, foot_out) = lattice.ins(site), lattice.outs(site)
        if {head_in, head_out}.isdisjoint(sites) and {foot_in, foot_out} <= sites:
            drawn.passed.setdefault(site, set()).add("head")
        if {foot_in, foot_out}.isdisjoint(sites) and {head_in, head_out} <= sites:
            drawn.passed.setdefault(site, set()).add("foot")
