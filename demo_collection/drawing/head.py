"""The headside: how far the net reaches in each half row, and the pins beyond it.

Knows recipes, lattices and curves; nothing of figures or pairs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from demo_collection.drawing.canvas import Points
from demo_collection.drawing.curves import hull_left, length, offset_outwards, spaced
from demo_collection.drawing.lattice import Lattice, Site, site_at
from demo_collection.drawing.recipes import Net


@dataclass(frozen=True)
class HeadPins:
    """Pins outside the net, along the head from start to end."""

    places: Points
    nooks: frozenset[int]
    """Which of them are nook pins, by index."""
    zigzag: list[Points]
    """The worker's way through each fan."""


def period(net: Net) -> int:
    """Half rows of one scallop."""
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
    head = net.head
    across = 2 * at / period(net) - 1
    match head.shape:
        case "arch":
            share = math.sqrt(max(0.0, 1 - across**2))
        case "wave":
            share = 0.5 + 0.5 * math.cos(math.pi * across)
        case _:
            share = 1.0
    return math.floor(head.depth * share + 0.5)


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
        return HeadPins(np.empty((0, 2)), frozenset(), [])
    if net.head.kind == "fans":
        return _fans(net, lattice, last)
    return _picots(net, lattice, last)


def _is_turn(net: Net, lattice: Lattice, site: Site) -> bool:
    return lattice.half_row(site) % period(net) == 0


def _picots(net: Net, lattice: Lattice, last: int) -> HeadPins:
    """Picots at even distances outside the scallops, a pin in every hollow."""
    reach = net.head.reach * net.pitch
    scalloped = net.head.depth > 0
    margin = period(net) if scalloped else 0
    sites = edge_sites(net, lattice, -margin, last + (0 if net.corner else margin))
    if not scalloped:
        sites = [site for site in sites if lattice.column(site) == net.columns - 1]
    places = np.array([lattice.place(site) for site in sites])
    if not scalloped:
        line = offset_outwards(hull_left(places), reach)
        pitch = net.head.picot_pitch * net.pitch
        if net.corner is None:
            count = max(1, round(net.pitch * net.rows / pitch)) * net.repeats
            step = net.pitch * net.rows * net.repeats / count
            line = line + (0, step / 2)
            return HeadPins(spaced(line, count)[:-1], frozenset(), [])
        return HeadPins(spaced(line, round(length(line) / pitch)), frozenset(), [])
    turns = [i for i, site in enumerate(sites) if _is_turn(net, lattice, site)]
    lines = [
        offset_outwards(hull_left(places[i : j + 1]), reach)
        for i, j in zip(turns, turns[1:], strict=False)
    ]
    pins: list[Points] = []
    nooks: set[int] = set()
    for before, line, after in zip(lines, lines[1:], lines[2:], strict=False):
        outline = _between(before, line, after)
        count = round(length(outline) / (net.head.picot_pitch * net.pitch * _growth(net, lattice)))
        drawn = spaced(outline, count)
        nooks.add(len(pins))
        pins.extend(drawn[:-1])
        final = drawn[-1]
    if net.round:
        return HeadPins(np.array(pins), frozenset(nooks) if net.head.nook else frozenset(), [])
    nooks.add(len(pins))
    pins.append(final)
    return HeadPins(np.array(pins), frozenset(nooks) if net.head.nook else frozenset(), [])


def _growth(net: Net, lattice: Lattice) -> float:
    """How much wider the mesh is at the head than at the foot: on a round lace only."""
    if not net.round:
        return 1.0
    return lattice.radius(net.columns - 1) / lattice.radius(0)


def _between(before: Points, line: Points, after: Points) -> Points:
    """The part of a line from where it meets the one before to where it meets the one after."""
    first, start = _meeting(before, line)
    last, end = _meeting(after, line[::-1])
    kept = line[first + 1 : len(line) - 1 - last]
    return np.vstack([start, kept, end])


def _meeting(before: Points, line: Points) -> tuple[int, Points]:
    """Where `line` first crosses `before`: the piece of `line` and the point."""
    for i, (p, q) in enumerate(zip(line, line[1:], strict=False)):
        for r, s in zip(before, before[1:], strict=False):
            across = (q - p)[0] * (s - r)[1] - (q - p)[1] * (s - r)[0]
            if abs(across) < 1e-12:
                continue
            t = ((r - p)[0] * (s - r)[1] - (r - p)[1] * (s - r)[0]) / across
            u = ((r - p)[0] * (q - p)[1] - (r - p)[1] * (q - p)[0]) / across
            if -1e-9 <= t <= 1 + 1e-9 and -1e-9 <= u <= 1 + 1e-9:
                return i, p + t * (q - p)
    return -1, (before[-1] + line[0]) / 2


def _fans(net: Net, lattice: Lattice, last: int) -> HeadPins:
    """Outer pins of the fans, one fewer than the inner ones, on a curve from tip to tip."""
    sites = edge_sites(net, lattice, 0, last)
    places = np.array([lattice.place(site) for site in sites])
    turns = [i for i, site in enumerate(sites) if _is_turn(net, lattice, site)]
    pins: list[Points] = []
    zigzag = []
    for i, j in zip(turns, turns[1:], strict=False):
        start, end, inner = places[i], places[j], places[i + 1 : j]
        at_corner = lattice.beyond_corner(sites[j]) and not lattice.beyond_corner(sites[i])
        bulge = (net.head.corner_bulge if at_corner else net.head.bulge) * net.pitch
        turn = np.linspace(0, np.pi, 181)[:, None]
        chord = end - start
        outwards = np.array([-chord[1], chord[0]]) / np.hypot(*chord)
        curve = (start + end) / 2 - np.cos(turn) * chord / 2 + np.sin(turn) * bulge * outwards
        outer = spaced(curve, len(inner))[1:-1]
        way = [start]
        for step, pin in enumerate(inner):
            way.append(pin)
            if step < len(outer):
                way.append(outer[step])
        zigzag.append(np.array([*way, end]))
        pins.extend(outer)
    return HeadPins(np.array(pins), frozenset(), zigzag)
