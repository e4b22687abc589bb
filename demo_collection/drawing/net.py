"""Draws point ground and torchon: pins, gimps and working marks of a net.

Joins lattice, head, figures, pairs and curves into one drawing.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from demo_collection.drawing.canvas import (
    Drawing,
    Facts,
    Ground,
    Line,
    Pin,
    PinRole,
    Points,
    Repeat,
    find_repeat,
)
from demo_collection.drawing.curves import contours, taut
from demo_collection.drawing.figures import PINNED, Placed, Plan, plan
from demo_collection.drawing.head import HeadPins, edge_sites, head_pins
from demo_collection.drawing.lattice import Lattice, Site
from demo_collection.drawing.pairs import PairPaths, count_pairs, follow_pairs
from demo_collection.drawing.recipes import Net


@dataclass(frozen=True)
class NetDrawing:
    """A drawing with the plan and the pair paths it was checked by.

    Of a round lace `plan` and `paths` are those of the strip before it is bent and joined.
    """

    drawing: Drawing
    plan: Plan
    paths: PairPaths


def lattice_of(net: Net) -> Lattice:
    """The lattice of a recipe."""
    return Lattice(
        net.angle,
        net.pitch,
        net.columns,
        net.foot.offset,
        corner_row=net.corner.row if net.corner else None,
        spread_rows=net.corner.spread_rows if net.corner else 0,
        rows_round=net.rows * net.repeats if net.round else None,
    )


def plan_net(net: Net) -> Plan:
    """The net of a recipe with its figures."""
    last = 2 * net.rows * net.repeats
    if net.corner:
        last = 2 * net.corner.row + net.columns
    return plan(net, lattice_of(net), last)


def draw_net(net: Net) -> NetDrawing:
    """The lace of a recipe.

    Raises:
        ValueError: a figure does not fit, or the pairs do not suffice or do not stay constant.
    """
    laid_out = plan_net(net)
    head = head_pins(net, laid_out.lattice, laid_out.last)
    pins = _pins(laid_out, head)
    lines = [Line(way, "working") for way in head.ways]
    for placed in laid_out.placed:
        lines += _gimps(laid_out, placed) + _marks(laid_out, placed)
    if net.fringe:
        lines += _fringe(laid_out)

    strip = plan_net(net.model_copy(update={"round": False})) if net.round else laid_out
    paths = follow_pairs(strip, _picots_after(strip))
    drawing = Drawing(pins, lines, count_pairs(strip, paths), _facts(laid_out, pins))
    if net.foot.side == "left":
        drawing = drawing.mirrored()
    return NetDrawing(drawing, strip, paths)


def _pins(laid_out: Plan, head: HeadPins) -> list[Pin]:
    """All holes: the net row by row, edge pins, spider centres, the head."""
    lattice = laid_out.lattice
    pins = [
        Pin(*lattice.place(site), PINNED[use])
        for site, use in sorted(laid_out.use.items(), key=lambda item: item[0][::-1])
        if use in PINNED
    ]
    pins += [Pin(*lattice.place(site), "foot") for site in _edge_pins(laid_out)]
    for placed in laid_out.placed:
        if placed.figure.fill == "spider":
            x, y = _middle(lattice, placed)
            pins.append(Pin(float(x), float(y), "centre"))
    usual: PinRole = "fan" if laid_out.net.head.kind == "fans" else "picot"
    for index, (x, y) in enumerate(head.places):
        pins.append(Pin(float(x), float(y), "nook" if index in head.nooks else usual))
    return pins


def _edge_pins(laid_out: Plan) -> list[Site]:
    """The sites outside the catch pins that hold an edge pin."""
    lattice = laid_out.lattice
    return sorted(
        {
            outside
            for site, use in laid_out.use.items()
            if use == "catch"
            for outside in (*lattice.outs(site), *lattice.ins(site))
            if not 0 <= lattice.column(outside) < lattice.columns
            and (laid_out.net.round or 0 <= lattice.half_row(outside) <= laid_out.last)
        }
    )


def _picots_after(strip: Plan) -> Counter[int]:
    """How many picots lie between each outermost site and the next, along the head."""
    net = strip.net
    places = head_pins(net, strip.lattice, strip.last).places
    if net.head.kind != "picots" or not len(places):
        return Counter()
    edge = edge_sites(net, strip.lattice, 0, strip.last)
    sites = np.array([strip.lattice.place(site) for site in edge])
    middles = (sites[1:] + sites[:-1]) / 2
    after: Counter[int] = Counter()
    reached = 0
    for place in places:
        reached = max(reached, int(np.argmin(np.hypot(*(middles - place).T))))
        after[reached] += 1
    return after


def _gimps(laid_out: Plan, placed: Placed) -> list[Line]:
    """The gimp of a figure: round it, or along one side of a band."""
    lattice, gimp = laid_out.lattice, placed.figure.gimp
    if gimp == "none":
        return []

    def drawn(site: Site) -> bool:
        if laid_out.net.round:
            return True
        last = laid_out.last if lattice.corner_row is None else lattice.half_row(site)
        return 0 <= lattice.half_row(site) <= last

    outermost = max(lattice.column(site) for site in placed.sites)

    def counted(site: Site) -> bool:
        if gimp == "around":
            return True
        return site in laid_out.use and lattice.column(site) <= outermost

    others = {
        site
        for other in laid_out.placed
        if other is not placed and other.figure.gimp == "around" and other.figure.shape != "band"
        for site in other.sites
    }
    tension = 0.95 if placed.figure.shape == "band" else 0.6
    return [
        Line(
            taut(lattice, contour, tension=tension, fixed=others.__contains__),
            "gimp",
            contour.closed,
            smooth=True,
        )
        for contour in contours(lattice, placed.sites, within=drawn, counted=counted)
    ]


def _marks(laid_out: Plan, placed: Placed) -> list[Line]:
    """Working marks of a figure: what the holes alone do not tell."""
    lattice = laid_out.lattice
    match placed.figure.fill:
        case "cloth" | "half":
            return [Line(_worker_way(laid_out, placed), "working")]
        case "tally":
            return [line for site in sorted(placed.sites) for line in _tally(lattice, site)]
        case "spider":
            centre = _middle(lattice, placed)
            return [
                Line(np.array([lattice.place(site), centre]), "working")
                for site in _leg_pins(lattice, placed)
            ]
        case "rose":
            return [Line(_rose(lattice, cell), "working") for cell in _rose_cells(placed)]
    return []


def _worker_way(laid_out: Plan, placed: Placed) -> Points:
    """The worker's way to and fro between the side pins, each row ending where the figure leans."""
    lattice = laid_out.lattice
    lines: dict[int, list[Site]] = {}
    for site in placed.sites:
        if laid_out.use[site] != "cloth":
            continue
        along = lattice.half_row(site)
        if placed.on_corner:
            along = site[1]
        elif lattice.beyond_corner(site):
            along = 4 * laid_out.last - along
        lines.setdefault(along, []).append(site)
    rows = [
        sorted(lines[along], key=lambda site: (lattice.column(site), site))
        for along in sorted(lines)
    ]
    way: list[Site] = []
    for row, following in zip(rows, [*rows[1:], rows[-1]], strict=True):
        sides = row if len(row) == 1 else [row[0], row[-1]]
        drift = sum(lattice.column(following[end]) - lattice.column(row[end]) for end in (0, -1))
        way += sides if drift >= 0 else sides[::-1]
    return np.array([lattice.place(site) for site in way])


def _tally(lattice: Lattice, site: Site) -> list[Line]:
    """The woven threads of a square tally: four short lines across, in the room of one pin."""
    across, along = 0.42 * lattice.column_mm, 0.36 * lattice.pitch_mm
    lines = []
    for step in (-1.0, -1 / 3, 1 / 3, 1.0):
        weave = np.array([(-across, step * along), (across, step * along)])
        if lattice.beyond_corner(site):
            weave = weave[:, ::-1]
        lines.append(Line(weave + np.array(lattice.place(site)), "tally"))
    return lines


def _middle(lattice: Lattice, placed: Placed) -> Points:
    return np.asarray(np.mean([lattice.place(site) for site in sorted(placed.sites)], axis=0))


def _leg_pins(lattice: Lattice, placed: Placed) -> list[Site]:
    """The pins from which the legs of a spider come, and to which they go."""
    return sorted(
        {
            neighbour
            for site in placed.sites
            for neighbour in (*lattice.ins(site), *lattice.outs(site))
        }
        - placed.sites
    )


def _rose_cells(placed: Placed) -> list[Site]:
    """The first sites of the rhombs of four pins in a block of rose ground."""
    first = min(placed.sites, key=sum)
    return [
        (a, b)
        for a, b in sorted(placed.sites)
        if (a - first[0]) % 2 == 0 and (b - first[1]) % 2 == 0 and (a + 1, b + 1) in placed.sites
    ]


def _rose(lattice: Lattice, cell: Site) -> Points:
    """Lines from pin to pin round the four pins of a rose."""
    a, b = cell
    round_it = [(a, b), (a + 1, b), (a + 1, b + 1), (a, b + 1), (a, b)]
    return np.array([lattice.place(site) for site in round_it])


def _fringe(laid_out: Plan) -> list[Line]:
    """Ends of the pairs below the last row."""
    lattice = laid_out.lattice
    lines = []
    for site in sorted(laid_out.use):
        if lattice.half_row(site) == laid_out.last:
            x, y = lattice.place(site)
            for lean in (-0.3, 0.0, 0.3):
                top = x + lean * lattice.column_mm, y + 0.8 * lattice.pitch_mm
                lines.append(Line(np.array([top, (top[0] + lean, top[1] + 9.0)]), "fringe"))
    return lines


def _facts(laid_out: Plan, pins: list[Pin]) -> Facts:
    net, placed = laid_out.net, laid_out.placed
    rings = [one.figure.pins for one in placed if one.figure.shape == "ring"]
    outlines = {one.figure.shape for one in placed if one.figure.gimp == "around"}
    running = any(one.figure.shape == "band" and one.figure.gimp != "none" for one in placed)
    length_mm = round(net.rows * net.pitch, 6)
    repeat = find_repeat(pins, length_mm, net.rows, net.repeats)
    if net.round:
        repeat = Repeat(length_mm, net.rows, len(pins) // net.repeats, net.repeats)
    return Facts(
        net.foot.side,
        net.pitch,
        Ground(net.angle, net.pitch, laid_out.lattice.column_mm, net.columns),
        repeat,
        length_mm,
        four_pin_rings=rings.count(4),
        six_pin_rings=rings.count(6),
        corner=net.corner is not None,
        round=net.round,
        outlines=(*sorted(outlines - {"band"}), *(["running gimp"] if running else [])),
    )
