"""The path of every pair, and how many are on the pillow.

Every pin of a net takes two pairs in and gives two out. Where a site has no pin, the two pairs
pass it without meeting (honeycomb, kat stitch), weave a tally, cross inside cloth, or run as
legs to the centre of a spider. At the foot a pair goes from each catch pin to the edge pin,
meets the edge pair and comes back to the next catch pin. At the head a pair that leaves the
net joins the head passives until a site of the opening scallop asks for one. At a corner one
pair is hung in at the inner corner pin and one laid back at the head.

Knows plans and lattices; nothing of places on paper.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

from demo_collection.drawing.canvas import PairCount
from demo_collection.drawing.figures import Plan
from demo_collection.drawing.head import edge_sites
from demo_collection.drawing.lattice import Site

Node = tuple[str, int, int]
"""Kind and two numbers: ("site", a, b), ("foot", a, b), ("spider", number, 0),
("head", outermost site, 0 before and 1 after its stitch),
("picot", outermost site before it, number)."""

START: Node = ("start", 0, 0)
END: Node = ("end", 0, 0)
HUNG_IN: Node = ("hung in", 0, 0)
LAID_BACK: Node = ("laid back", 0, 0)


@dataclass
class PairPaths:
    """How many pairs go from where to where."""

    edges: Counter[tuple[Node, Node]] = field(default_factory=Counter)

    def add(self, source: Node, target: Node, pairs: int = 1) -> None:
        """Lead pairs from one place to the next."""
        if pairs:
            self.edges[source, target] += pairs

    def balance(self) -> dict[Node, tuple[int, int]]:
        """Pairs in and pairs out of every node."""
        came: Counter[Node] = Counter()
        went: Counter[Node] = Counter()
        for (source, target), pairs in self.edges.items():
            went[source] += pairs
            came[target] += pairs
        return {node: (came[node], went[node]) for node in {*came, *went}}

    def crossing(self, clock: Clock) -> list[int]:
        """Pairs that are in the air, between a worked place and one still to be worked.

        One number for each of the clock's moments.

        Raises:
            ValueError: a pair would have to run back to a place worked earlier.
        """
        counts: Counter[int] = Counter()
        watched, latest = set(clock.moments), max(clock.moments)
        for (source, target), pairs in self.edges.items():
            if source == HUNG_IN or target == LAID_BACK:
                continue
            left, met = clock.worked_at(source), clock.worked_at(target)
            for moment in range(max(left, 0), min(met, latest + 1)):
                counts[moment] += pairs
            if not watched.isdisjoint(range(met, left)):
                raise ValueError(f"a pair runs backwards from {source} to {target}")
        return [counts[moment] for moment in clock.moments]


@dataclass(frozen=True)
class Clock:
    """An order of work: at which moment a place is worked, and the moments to look at."""

    worked_at: Callable[[Node], int]
    moments: list[int]


def follow_pairs(plan: Plan, picots_after: Counter[int]) -> PairPaths:
    """The paths of all pairs of a plan (of a round lace: before it is bent and joined).

    Args:
        plan: The net with its figures.
        picots_after: How many picots lie between one outermost site and the next, by the
            index of the first.

    Raises:
        ValueError: pairs do not suffice for the picots.
    """
    return _Follower(plan, picots_after).paths


class _Follower:
    """Builds the paths of one plan."""

    def __init__(self, plan: Plan, picots_after: Counter[int]) -> None:
        self.plan, self.lattice, self.paths = plan, plan.lattice, PairPaths()
        self.spiders: dict[Site, Node] = {
            site: ("spider", number, 0)
            for number, placed in enumerate(plan.placed)
            if placed.figure.fill == "spider"
            for site in placed.sites
        }
        self.edge = edge_sites(plan.net, plan.lattice, 0, plan.last)
        self.place_at_head = {site: index for index, site in enumerate(self.edge)}
        self.to_head: Counter[int] = Counter()
        self.from_head: Counter[int] = Counter()
        for site in sorted(site for site, use in plan.use.items() if use != "empty"):
            for side in (0, 1):
                if ("head", "foot")[side] not in plan.passed.get(site, ()):
                    self._lead_out(site, side)
                    self._lead_in(site, side)
        self._work_feet()
        if plan.net.foot.side != "both":
            self._work_head(picots_after)

    def _node(self, site: Site) -> Node:
        return self.spiders.get(site, ("site", *site))

    def _passes(self, site: Site, side: int) -> bool:
        """Whether a pair that comes to a site from one side goes on without meeting another."""
        passed = self.plan.passed.get(site, ())
        return self.plan.use[site] == "empty" or ("head", "foot")[side] in passed

    def _lead_out(self, site: Site, side: int) -> None:
        node, before, target = self._node(site), site, self.lattice.outs(site)[side]
        if self.spiders.get(target) == node:
            return
        while target in self.plan.use:
            came = self.lattice.ins(target).index(before)
            if not self._passes(target, came):
                self.paths.add(node, self._node(target))
                return
            before, target = target, self.lattice.outs(target)[came]
        half_row = self.lattice.half_row(target)
        if self.lattice.corner_row is None:
            ends = half_row > self.plan.last
        else:
            ends = self.lattice.beyond_corner(before) and half_row < 0
        if ends:
            self.paths.add(node, END)
        elif self._is_foot(target):
            self.paths.add(node, ("foot", *target))
        else:
            self.to_head[self.place_at_head[before]] += 1
            self.paths.add(node, ("head", self.place_at_head[before], 1))

    def _lead_in(self, site: Site, side: int) -> None:
        """Only pairs from outside the net: the others were led out of where they come from."""
        node, after, source = self._node(site), site, self.lattice.ins(site)[side]
        while source in self.plan.use:
            went = self.lattice.outs(source).index(after)
            if not self._passes(source, went):
                return
            after, source = source, self.lattice.ins(source)[went]
        if not self.lattice.beyond_corner(after) and self.lattice.half_row(source) < 0:
            self.paths.add(START, node)
        elif self._is_foot(source):
            self.paths.add(("foot", *source), node)
        else:
            self.from_head[self.place_at_head[after]] += 1
            self.paths.add(("head", self.place_at_head[after], 0), node)

    def _is_foot(self, site: Site) -> bool:
        column = self.lattice.column(site)
        return column < 0 or (self.plan.net.foot.side == "both" and column >= self.lattice.columns)

    def _work_feet(self) -> None:
        """Edge pairs from edge pin to edge pin, passives beside them, one pair more at a corner."""
        pins = {node for ends in self.paths.edges for node in ends if node[0] == "foot"}
        for second in (False, True):
            line = [
                node for node in pins if (self.lattice.column((node[1], node[2])) > 0) == second
            ]
            if not line:
                continue
            line.sort(key=self._foot_order)
            for node, following in zip([START, *line], [*line, END], strict=True):
                self.paths.add(node, following)
            self.paths.add(START, END, self.plan.net.foot.passives)
        if self.lattice.corner_row is not None:
            corner: Node = ("foot", self.lattice.corner_row - 1, self.lattice.corner_row)
            came, went = self.paths.balance()[corner]
            self.paths.add(HUNG_IN, corner, went - came)

    def _foot_order(self, node: Node) -> int:
        site = node[1], node[2]
        half_row = self.lattice.half_row(site)
        return 4 * self.plan.last - half_row if self.lattice.beyond_corner(site) else half_row

    def _work_head(self, picots_after: Counter[int]) -> None:
        """Lead the pairs that wait at the head, never fewer than the passives.

        A picot is made by any one pair of the head, once between two outermost sites.
        """
        passives = self.plan.net.head.passives if self.plan.net.head.kind != "plain" else 0
        held, least = 0, 0
        for index in range(len(self.edge)):
            least = min(least, held - self.from_head[index])
            held += self.to_head[index] - self.from_head[index]
        held = passives - least
        surplus = self.to_head.total() - self.from_head.total()
        previous, beyond = START, False
        for index, site in enumerate(self.edge):
            before, after = ("head", index, 0), ("head", index, 1)
            picots = picots_after[index - 1]
            if picots > held:
                raise ValueError(f"{picots} picots beside {site}, but {held} pairs to make them")
            for number in range(picots):
                self.paths.add(previous, ("picot", index - 1, number))
                self.paths.add(("picot", index - 1, number), before)
            self.paths.add(previous, before, held - picots)
            held -= self.from_head[index]
            self.paths.add(before, after, held)
            held += self.to_head[index]
            if self.lattice.beyond_corner(site) and not beyond:
                self.paths.add(after, LAID_BACK, surplus)
                held -= surplus
                beyond = True
            previous = after
        self.paths.add(previous, END, held)


def count_pairs(plan: Plan, paths: PairPaths) -> PairCount:
    """Pairs at the start, at most, and more than usual at a corner.

    Raises:
        ValueError: the number changes although no pair is hung in or laid back.
    """
    counts = [count for clock in clocks(plan) for count in paths.crossing(clock)]
    hung_in = sum(pairs for (source, _), pairs in paths.edges.items() if source == HUNG_IN)
    start = counts[0]
    if not set(counts) <= {start, start + hung_in}:
        raise ValueError(f"the number of pairs changes: {counts}")
    return PairCount(start, start + hung_in, hung_in)


def clocks(plan: Plan) -> list[Clock]:
    """Half row by half row, and round a corner slanting row by slanting row."""
    edge = edge_sites(plan.net, plan.lattice, 0, plan.last)
    lattice, row = plan.lattice, plan.lattice.corner_row
    start, end = -1, 4 * plan.last

    def site_of(node: Node) -> Site:
        kind, first, second = node
        if kind in ("head", "picot"):
            return edge[max(first, 0)]
        if kind == "spider":
            sites = sorted(plan.placed[first].sites, key=lambda site: (sum(site), site))
            return sites[len(sites) // 2]
        return first, second

    def half_row(node: Node) -> int:
        if node in (START, END):
            return start if node == START else end
        site = site_of(node)
        return end if lattice.beyond_corner(site) else lattice.half_row(site)

    def slanting_row(node: Node) -> int:
        if node in (START, END):
            return start if node == START else end
        site = site_of(node)
        above = node[0] == "foot" and not lattice.beyond_corner(site)
        return site[1] - above

    if row is None:
        return [Clock(half_row, list(range(plan.last)))]
    astride = {
        limit
        for placed in plan.placed
        if placed.figure.fill == "spider"
        for limit in range(min(b for _, b in placed.sites), max(b for _, b in placed.sites))
    }  # a spider is worked in one go, so no slanting line of work ends within it
    return [
        Clock(half_row, list(range(2 * row - 1))),
        Clock(slanting_row, sorted(set(range(2 * row)) - astride)),
    ]
