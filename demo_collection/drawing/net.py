"""Draws point ground and torchon: pins, gimps and working marks of a net.

Joins lattice, head, figures, pairs and curves into one drawing.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from demo_collection.drawing.canvas import Drawing, Line, PairCount, Pin, PinRole, Points
from demo_collection.drawing.curves import contours, taut
from demo_collection.drawing.figures import PINNED, Placed, Plan, plan
from demo_collection.drawing.head import HeadPins, edge_sites, head_pins
from demo_collection.drawing.lattice import Lattice, Site
from demo_collection.drawing.pairs import PairPaths, count_pairs, follow_pairs
from demo_collection.drawing.recipes import Net


_WEAVES = (-1.0, -1 / 3, 1 / 3, 1.0)


@dataclass(frozen=True)
class NetDrawing:
    """A drawing with the plan and the pair paths it was checked by."""

    drawing: Drawing
    plan: Plan
    paths: PairPaths
    pairs: PairCount


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
    lattice, last = laid_out.lattice, laid_out.last
    head = head_pins(net, lattice, last)
    drawing = Drawing()
    for site in sorted(laid_out.use, key=lambda site: (site[1], site[0])):
        use = laid_out.use[site]
        if use in PINNED:
            drawing.pins.append(Pin(*lattice.place(site), use))
    for site in _edge_pins(laid_out):
        drawing.pins.append(Pin(*lattice.place(site), "foot"))
    for index, (x, y) in enumerate(head.places):
        role: PinRole = "picot" if net.head.kind == "picots" else "fan"
        drawing.pins.append(Pin(float(x), float(y), "nook" if index in head.nooks else role))
    for placed in laid_out.placed:
        _draw_figure(drawing, laid_out, placed)
    drawing.lines += [Line(way, "working") for way in head.zigzag]
    if net.fringe:
        drawing.lines += _fringe(laid_out)

    straight = laid_out if not net.round else plan_net(net.model_copy(update={"round": False}))
    beside = _picots_beside(straight, head_pins(straight.net, straight.lattice, straight.last))
    paths = follow_pairs(straight, beside)
    pairs = count_pairs(straight, paths)
    drawing.pairs = pairs
    drawing.facts = _facts(laid_out, drawing)
    if net.foot.side == "left":
        drawing = drawing.mirrored()
    return NetDrawing(drawing, straight, paths, pairs)


def _edge_pins(laid_out: Plan) -> list[Site]:
    """The sites outside the catch pins that hold an edge pin."""
    lattice = laid_out.lattice
    found: set[Site] = set()
    for site, use in laid_out.use.items():
        if use != "catch":
            continue
        for target in (*lattice.outs(site), *lattice.ins(site)):
            if target in laid_out.use or not (
                lattice.column(target) < 0 or lattice.column(target) >= lattice.columns
            ):
                continue
            if laid_out.net.round or 0 <= lattice.half_row(target) <= laid_out.last:
                found.add(target)
    return sorted(found)


def _picots_beside(laid_out: Plan, head: HeadPins) -> Counter[int]:
    """How many picots lie between each outermost site and the next, along the head."""
    net = laid_out.net
    if net.head.kind != "picots" or not len(head.places):
        return Counter()
    edge = edge_sites(net, laid_out.lattice, 0, laid_out.last)
    places = np.array([laid_out.lattice.place(site) for site in edge])
    middles = (places[1:] + places[:-1]) / 2
    beside: Counter[int] = Counter()
    reached = 0
    for place in head.places:
        gap = int(np.argmin(np.hypot(*(middles - place).T)))
        reached = max(reached, gap)
        beside[reached] += 1
    return beside


def _draw_figure(drawing: Drawing, laid_out: Plan, placed: Placed) -> None:
    """Gimp and working marks of one figure."""
    figure, lattice = placed.figure, laid_out.lattice
    if figure.gimp != "none":
        drawing.lines += _gimp_lines(laid_out, placed)
    if figure.shape != "band" and figure.fill in ("cloth", "half"):
        drawing.lines.append(Line(_worker_way(laid_out, placed), "working"))
    elif figure.fill == "cloth" or figure.fill == "half":
        drawing.lines.append(Line(_worker_way(laid_out, placed), "working"))
    elif figure.fill == "tally":
        for site in sorted(placed.sites):
            drawing.lines += [Line(thread, "tally") for thread in _block(laid_out, site)]
    elif figure.fill == "spider":
        legs, centre = _spider(laid_out, placed)
        drawing.lines += [Line(np.array([leg, centre]), "working") for leg in legs]
        drawing.pins.append(Pin(float(centre[0]), float(centre[1]), "centre"))
    elif figure.fill == "rose":
        drawing.lines += [
            Line(_rose(lattice, cell), "working") for cell in _roses(placed)
        ]


def _gimp_lines(laid_out: Plan, placed: Placed) -> list[Line]:
    """The gimp of a figure: round it, or along one side of a band."""
    lattice, use, gimp = laid_out.lattice, laid_out.use, placed.figure.gimp

    def drawn(site: Site) -> bool:
        if laid_out.net.round:
            return True
        half_row = lattice.half_row(site)
        if lattice.corner_row is not None:
            return half_row >= 0
        return 0 <= half_row <= laid_out.last

    def counted(site: Site) -> bool:
        if gimp == "around":
            return True
        outside = site not in use or lattice.column(site) > _outer(placed, lattice)
        return outside == (gimp == "head side")

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


def _outer(placed: Placed, lattice: Lattice) -> int:
    return max(lattice.column(site) for site in placed.sites)


def _worker_way(laid_out: Plan, placed: Placed) -> Points:
    """The worker's way to and fro between the side pins of a cloth figure."""
    lattice = laid_out.lattice
    pins = [site for site in placed.sites if laid_out.use.get(site) == "cloth"]
    lines: dict[int, list[Site]] = {}
    for site in pins:
        along = site[1] if placed.on_corner else _along(laid_out, site)
        lines.setdefault(along, []).append(site)
    way = []
    for along in sorted(lines):
        ordered = sorted(lines[along], key=lambda site: (lattice.column(site), site))
        ends = [ordered[0]] if len(ordered) == 1 else [ordered[0], ordered[-1]]
        way += ends
    return np.array([lattice.place(site) for site in way])


def _along(laid_out: Plan, site: Site) -> int:
    half_row = laid_out.lattice.half_row(site)
    return 4 * laid_out.last - half_row if laid_out.lattice.beyond_corner(site) else half_row


def _block(laid_out: Plan, site: Site) -> list[Points]:
    """The woven threads of a square tally: four short lines across, in the room of one pin."""
    lattice = laid_out.lattice
    x, y = lattice.place(site)
    across, along = 0.42 * lattice.column_mm, 0.36 * lattice.pitch_mm
    lines = [np.array([(-across, step * along), (across, step * along)]) for step in _WEAVES]
    if lattice.beyond_corner(site):
        lines = [line[:, ::-1] for line in lines]
    return [line + (x, y) for line in lines]


def _spider(laid_out: Plan, placed: Placed) -> tuple[list[Points], Points]:
    """Where the legs of a spider come from and go to, and its centre."""
    lattice, sites = laid_out.lattice, placed.sites
    centre = np.mean([lattice.place(site) for site in sites], axis=0)
    feet = {
        neighbour
        for site in sites
        for neighbour in (*lattice.ins(site), *lattice.outs(site))
        if neighbour not in sites
    }
    return [np.array(lattice.place(site)) for site in sorted(feet)], centre


def _roses(placed: Placed) -> list[Site]:
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
            for lean in (-0.25, 0.0, 0.25):
                start = np.array([x + lean * lattice.column_mm, y + 0.8 * lattice.pitch_mm])
                lines.append(Line(np.array([start, start + (lean * 1.2, 9.0)]), "fringe"))
    return lines


def _facts(laid_out: Plan, drawing: Drawing) -> dict[str, object]:
    """What a measurement of the pricking should find, in the analyser's words."""
    net, lattice = laid_out.net, laid_out.lattice
    rings = [placed.figure for placed in laid_out.placed if placed.figure.shape == "ring"]
    kinds = sorted(
        {placed.figure.shape for placed in laid_out.placed if placed.figure.gimp == "around"}
    )
    running = any(placed.figure.gimp in ("foot side", "head side") for placed in laid_out.placed)
    return {
        "foot": {"side": net.foot.side, "pitch_mm": net.pitch},
        "ground": {
            "angle_deg": net.angle,
            "pitch_mm": net.pitch,
            "column_mm": lattice.column_mm,
            "columns": net.columns,
        },
        "rings": {
            "four_pin": sum(ring.pins == 4 for ring in rings),
            "six_pin": sum(ring.pins == 6 for ring in rings),
        },
        "repeat": {
            "length_mm": net.rows * net.pitch,
            "rows": net.rows,
            "pins": _repeat_pins(laid_out, drawing),
            "count": net.repeats,
        },
        "corner": {"present": net.corner is not None},
        "round": net.round,
        "outlines": kinds + (["running gimp"] if running else []),
    }


def _repeat_pins(laid_out: Plan, drawing: Drawing) -> int | None:
    """Pins of one repeat away from the ends; None where no whole one lies straight."""
    net = laid_out.net
    if net.round:
        return len(drawing.pins) // net.repeats
    start = net.rows * net.pitch * (1 if net.repeats > 2 else 0)
    inside = sum(
        start - 1e-6 <= pin.y < start + net.rows * net.pitch - 1e-6 for pin in drawing.pins
    )
    return None if net.corner else inside
