"""The headside: how far the net reaches in each half row, and the pins beyond it.

Knows recipes, lattices and curves; nothing of figures or pairs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from demo_collection.drawing.canvas import Points
from demo_collection.drawing.curves import (
    hull_outwards,
    length,
    meeting,
    offset_outwards,
    spaced,
)
from demo_collection.drawing.lattice import Lattice, Site, site_at
from demo_collection.drawing.recipes import Net


@dataclass(frozen=True)
class HeadPins:
    """Pins outside the net, along the head from start to end."""

    places: Points
    nooks: frozenset[int] = frozenset()
    """Which of them are nook pins, by index."""
    ways: tuple[Points, ...] = ()
    """The worker's way through each fan."""


def period(net: Net) -> int:
    """Half rows of one scallop.

    Raises:
        ValueError: the scallops do not fill the repeat.
    """
    half_rows = 2 * net.rows
    if half_rows % net.head.scallops:
        raise ValueError("a repeat holds whole scallops")
    return half_rows // net.head.scallops


def last_column(net: Net, half_row: int) -> int:
    """The furthest column the net may reach in a half row.

    Scallops begin in the hollow (half row 0), fans at the tip of the net between two of them.
    Neighbouring half rows differ by one column at most, so that the edge follows ground lines.
    """
    head, long = net.head, period(net)
    widest = net.columns - 1
    if net.foot.side == "both" or head.depth == 0:
        return widest
    at = half_row % long
    if head.kind == "fans":
        return widest - min(at, long - at, head.depth)
    return widest - head.depth + min(_rise(net, at), at, long - at)


def _rise(net: Net, at: int) -> int:
    """Columns above the hollow that the curve of the scallop reaches."""
    across = 2 * at / period(net) - 1
    match net.head.shape:
        case "arch":
            share = math.sqrt(max(0.0, 1 - across**2))
        case "wave":
            share = 0.5 + 0.5 * math.cos(math.pi * across)
        case _:
            share = 1.0
    return math.floor(net.head.depth * share + 0.5)


def edge_sites(net: Net, lattice: Lattice, first: int, last: int) -> list[Site]:
    """The outermost site of each half row, from start to end, round the corner if there is one."""
    sites = []
    for half_row in range(first, last + 1):
        column = last_column(net, half_row)
        site = site_at(column - (column + half_row) % 2, half_row)
        if lattice.corner_row is None or site[1] <= lattice.corner_row:
            sites.append(site)
    if lattice.corner_row is not None:
        row = lattice.corner_row
        sites += [lattice.reflected(site) for site in reversed(sites) if site[1] < row]
    return sites


def head_pins(net: Net, lattice: Lattice, last: int) -> HeadPins:
    """The pins beyond the net: none for a plain head or a second footside."""
    if net.head.kind == "plain" or net.foot.side == "both":
        return HeadPins(np.empty((0, 2)))
    if net.head.kind == "fans":
        return _fans(net, lattice, last)
    if net.head.depth:
        return _scallops(net, lattice, last)
    return _straight_picots(net, lattice, last)


def _turns(net: Net, lattice: Lattice, sites: list[Site]) -> list[int]:
    """Where one scallop or fan ends and the next begins."""
    return [i for i, site in enumerate(sites) if lattice.half_row(site) % period(net) == 0]


def _straight_picots(net: Net, lattice: Lattice, last: int) -> HeadPins:
    """Picots beside a straight edge: a whole number in each repeat, or round a corner."""
    edge = [
        lattice.place(site)
        for site in edge_sites(net, lattice, 0, last)
        if lattice.column(site) == net.columns - 1
    ]
    line = offset_outwards(hull_outwards(np.array(edge)), net.head.reach * net.pitch)
    pitch = net.head.picot_pitch * net.pitch
    if net.corner:
        return HeadPins(spaced(line, round(length(line) / pitch)))
    count = round(net.pitch * net.rows / pitch) * net.repeats
    y = (np.arange(count) + 0.5) * (net.pitch * net.rows * net.repeats / count)
    return HeadPins(np.column_stack([np.full(count, line[0, 0]), y]))


def _scallops(net: Net, lattice: Lattice, last: int) -> HeadPins:
    """Picots at even distances outside the scallops, and a pin in every hollow."""
    margin = period(net)
    sites = edge_sites(net, lattice, -margin, last + (0 if net.corner else margin))
    places = np.array([lattice.place(site) for site in sites])
    outlines = [
        offset_outwards(hull_outwards(places[i : j + 1]), net.head.reach * net.pitch)
        for i, j in pairwise(_turns(net, lattice, sites))
    ]
    pitch = net.head.picot_pitch * net.pitch * _growth(net, lattice)
    pins: list[Points] = []
    hollows = []
    for before, outline, after in zip(outlines, outlines[1:], outlines[2:], strict=False):
        first, start = meeting(before, outline)
        last_piece, end = meeting(after, outline[::-1])
        kept = outline[first + 1 : len(outline) - 1 - last_piece]
        scallop = np.vstack([start, kept, end])
        drawn = spaced(scallop, round(length(scallop) / pitch))
        hollows.append(len(pins))
        pins.extend(drawn[:-1])
    if not net.round:
        hollows.append(len(pins))
        pins.append(drawn[-1])
    return HeadPins(np.array(pins), frozenset(hollows if net.head.nook else ()))


def _growth(net: Net, lattice: Lattice) -> float:
    """How much wider the mesh is at the head than at the foot: on a round lace only."""
    if not net.round:
        return 1.0
    return lattice.radius(net.columns - 1) / lattice.radius(0)


def _fans(net: Net, lattice: Lattice, last: int) -> HeadPins:
    """Outer pins of the fans, one fewer than the inner ones, on a curve from tip to tip."""
    sites = edge_sites(net, lattice, 0, last)
    places = np.array([lattice.place(site) for site in sites])
    turn = np.linspace(0, np.pi, 181)[:, None]
    pins: list[Points] = []
    ways = []
    for i, j in pairwise(_turns(net, lattice, sites)):
        start, end, inner = places[i], places[j], places[i + 1 : j]
        at_corner = lattice.beyond_corner(sites[j]) and not lattice.beyond_corner(sites[i])
        bulge = (net.head.corner_bulge if at_corner else net.head.bulge) * net.pitch
        chord = end - start
        outwards = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
        curve = (start + end) / 2 - np.cos(turn) * chord / 2 + np.sin(turn) * bulge * outwards
        outer = spaced(curve, len(inner))[1:-1]
        to_and_fro = [pin for both in zip(inner, outer, strict=False) for pin in both]
        ways.append(np.array([start, *to_and_fro, inner[-1], end]))
        pins.extend(outer)
    return HeadPins(np.array(pins), ways=tuple(ways))
