"""What is drawn looks like lace: checked in millimetres, on the finished drawing."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.spatial import cKDTree
from shapely import LineString, MultiPoint, Point, Polygon

from demo_collection.drawing.canvas import Drawing
from demo_collection.drawing.curves import (
    flattened,
    hull_outwards,
    meeting,
    offset_outwards,
    spaced,
)
from demo_collection.drawing.net import draw_net
from demo_collection.drawing.recipes import Figure, Net
from demo_collection.drawing.tape import draw_tape


def places(drawing: Drawing, *roles: str) -> np.ndarray:
    return np.array([(pin.x, pin.y) for pin in drawing.pins if pin.role in roles]).reshape(-1, 2)


def straight_nets(nets):
    for mark, drawn in nets.items():
        if not drawn.drawing.facts.round and not drawn.drawing.facts.corner:
            yield mark, drawn.drawing, drawn.plan.net


def test_the_drawn_pins_have_the_angle_of_the_recipe(nets):
    for mark, drawing, net in straight_nets(nets):
        points = places(drawing, "ground", "catch")
        near = cKDTree(points).query_pairs(0.75 * net.pitch / math.cos(math.radians(net.angle)))
        steps = np.array([points[j] - points[i] for i, j in near])
        slanting = np.abs(steps[np.abs(steps[:, 0]) > 0.3 * net.pitch])
        slanting = slanting[slanting[:, 1] > 0.3 * net.pitch]
        angles = np.degrees(np.arctan2(slanting[:, 0], slanting[:, 1]))
        assert np.median(angles) == pytest.approx(net.angle, abs=0.01), mark


def test_the_edge_pins_stand_at_the_foot_pitch_half_a_pitch_below_the_catch_pins(nets):
    for mark, drawing, net in straight_nets(nets):
        for side in (min, max) if net.foot.side == "both" else (max,):
            flip = -1 if net.foot.side == "left" else 1
            feet, catches = (places(drawing, role) * (flip, 1) for role in ("foot", "catch"))
            edge = feet[np.isclose(feet[:, 0], side(feet[:, 0]))]
            caught = catches[np.isclose(catches[:, 0], side(catches[:, 0]))]
            assert np.diff(np.sort(edge[:, 1])) == pytest.approx(net.pitch), mark
            offset = abs(edge[0, 0] - caught[0, 0])
            width = net.pitch * math.tan(math.radians(net.angle)) / 2
            assert offset == pytest.approx(net.foot.offset * width), mark
            low, high = (1, 1) if net.angle == 45 else (1.5, 2)
            assert low <= net.foot.offset <= high, mark
            halves = (edge[:, 1] - caught[:, 1].min()) / net.pitch
            assert halves % 1 == pytest.approx(0.5), mark


def test_the_footside_lies_where_the_recipe_says(nets):
    for mark, drawing, net in straight_nets(nets):
        feet, points = places(drawing, "foot"), drawing.pin_points()
        if net.foot.side in ("left", "both"):
            assert feet[:, 0].min() == pytest.approx(points[:, 0].min()), mark
        if net.foot.side in ("right", "both"):
            assert feet[:, 0].max() == pytest.approx(points[:, 0].max()), mark


def test_a_repeat_moved_by_its_length_lies_on_the_next(nets):
    for mark, drawing, net in straight_nets(nets):
        points, length = drawing.pin_points(), drawing.facts.repeat.length_mm
        tall = net.pitch * net.rows * net.repeats
        inner = points[(points[:, 1] > length) & (points[:, 1] < tall - length - 1)]
        assert len(inner), mark
        distances, _ = cKDTree(points).query(inner + np.array([0, length]))
        assert distances.max() < 1e-6, mark


def test_the_smallest_repeat_of_the_pins_may_be_part_of_what_was_drawn(sheets):
    def repeat(mark: str) -> tuple[float, int]:
        found = sheets[mark].drawing.facts.repeat
        return found.length_mm, found.rows

    assert repeat("P-01") == (2.8, 1)  # plain net: every foot pin begins a new one
    assert repeat("T-10") == (18.0, 6)  # cloth and half stitch on the same pins
    assert repeat("P-07") == (26.4, 12)


def test_a_redrawn_corner_leaves_no_whole_repeat_and_a_torchon_corner_does(sheets):
    assert sheets["P-20"].drawing.facts.repeat is None
    assert sheets["T-06"].drawing.facts.repeat.rows == 5


def test_no_two_pins_stand_in_each_other_s_way(sheets):
    for mark, sheet in sheets.items():
        points = sheet.drawing.pin_points()
        nearest = cKDTree(points).query(points, k=2)[0][:, 1]
        assert nearest.min() > 2.5 * sheet.recipe.sheet.hole, mark


def test_gimps_close_or_run_from_start_to_end(nets):
    for mark, drawn in nets.items():
        net, points = drawn.plan.net, drawn.drawing.pin_points()
        for line in drawn.drawing.lines:
            if line.role != "gimp" or line.closed:
                continue
            assert not drawn.drawing.facts.round, mark
            ends = line.points[[0, -1]]
            if net.corner:
                assert ends[0, 1] == pytest.approx(0, abs=net.pitch), mark
                assert ends[1, 0] == pytest.approx(points[:, 0].max(), abs=net.pitch), mark
            else:
                tall = net.pitch * net.rows * net.repeats
                assert sorted(ends[:, 1]) == pytest.approx([0, tall], abs=net.pitch), mark


def test_no_gimp_runs_through_a_hole(nets, recipes):
    gimp_mm = 0.34
    for mark, drawn in nets.items():
        tree = cKDTree(drawn.drawing.pin_points())
        for line in drawn.drawing.lines:
            if line.role == "gimp":
                along = flattened(line.points, closed=line.closed, steps=12)
                clear = recipes[mark].sheet.hole + gimp_mm / 2
                assert tree.query(along)[0].min() > 0.85 * clear, mark


def test_a_closed_gimp_holds_the_pins_of_its_figure_and_no_others(nets):
    for mark, drawn in nets.items():
        pins = drawn.drawing.pins
        for line in drawn.drawing.lines:
            if line.role == "gimp" and line.closed:
                inside = Polygon(flattened(line.points, closed=True))
                held = {pin.role for pin in pins if inside.contains(Point(pin.x, pin.y))}
                assert held in ({"ring"}, {"cloth"}, {"honeycomb"}, {"kat"}), mark


def test_picots_stand_outside_the_net_and_follow_it(nets):
    for mark, drawn in nets.items():
        drawing, net = drawn.drawing, drawn.plan.net
        head = places(drawing, "picot", "nook")
        if not len(head) or drawing.facts.round:
            continue
        net_pins = drawing.pin_points()[
            [pin.role not in ("picot", "nook", "foot") for pin in drawing.pins]
        ]
        distances = cKDTree(net_pins).query(head)[0] / net.pitch
        assert distances.min() > 0.85 * net.head.reach, mark
        assert distances.max() < 1.5 * net.head.reach, mark
        if not net.corner:
            order = head[np.argsort(head[:, 1])]
            gaps = np.hypot(*np.diff(order, axis=0).T) / net.pitch
            assert gaps.min() > 0.6, mark
            assert gaps.max() < 1.1, mark


def test_a_nook_pin_is_the_innermost_of_its_scallop(nets):
    for mark, drawing, net in straight_nets(nets):
        nooks, picots = places(drawing, "nook"), places(drawing, "picot")
        for x, y in nooks:
            near = picots[np.abs(picots[:, 1] - y) < 0.4 * net.pitch * net.rows]
            assert (near[:, 0] < x).all(), mark


def test_fans_curve_from_tip_to_tip_and_their_worker_visits_every_pin(nets):
    for mark, drawn in nets.items():
        if drawn.plan.net.head.kind != "fans":
            continue
        outer = {(round(p.x, 6), round(p.y, 6)) for p in drawn.drawing.pins if p.role == "fan"}
        ways = [line for line in drawn.drawing.lines if line.role == "working"]
        visited = {(round(x, 6), round(y, 6)) for line in ways for x, y in line.points}
        assert outer <= visited, mark


def test_a_torchon_corner_mirrors_pin_on_pin(nets):
    corners = [
        drawn
        for drawn in nets.values()
        if drawn.drawing.facts.corner and drawn.plan.net.angle == 45
    ]
    assert corners
    for drawn in corners:
        points, net = drawn.drawing.pin_points(), drawn.plan.net
        corner_y = net.corner.row * net.pitch
        mirrored = np.column_stack([corner_y - points[:, 1], corner_y - points[:, 0]])
        assert cKDTree(points).query(mirrored)[0].max() < 1e-6


def test_a_corner_drawn_round_a_square_has_the_published_outer_length():
    """A square of side a in lace of width W: footside 4a, outer edge 4(a + 2W).

    9 in square, 1 in lace: four pieces of 11 in (graciousjanemarie.blogspot.com, 2014/03).
    """
    net = Net.model_validate(
        {"angle": 52, "pitch": 2, "columns": 10, "rows": 6, "repeats": 4,
         "corner": {"row": 24, "spread_rows": 8}, "head": {"kind": "plain"}}
    )  # fmt: skip
    drawing = draw_net(net).drawing
    feet, outer = places(drawing, "foot"), places(drawing, "ground")
    foot_x, outer_x = feet[np.argmin(feet[:, 1]), 0], outer[:, 0].min()
    foot_length = feet[np.isclose(feet[:, 0], foot_x), 1].max()
    outer_length = outer[np.isclose(outer[:, 0], outer_x), 1].max()
    assert outer_length - foot_length == pytest.approx(foot_x - outer_x)


def test_a_tally_takes_the_room_of_one_pin(nets):
    for mark, drawn in nets.items():
        tree = cKDTree(drawn.drawing.pin_points())
        for line in drawn.drawing.lines:
            if line.role == "tally":
                assert tree.query(line.points)[0].min() > 0.4 * drawn.plan.net.pitch, mark


def test_spiders_clear_the_room_for_their_legs(nets):
    for mark, drawn in nets.items():
        centres, points = places(drawn.drawing, "centre"), drawn.drawing.pin_points()
        for centre in centres:
            distances = np.sort(np.hypot(*(points - centre).T))
            assert distances[0] == pytest.approx(0)
            assert distances[1] > drawn.plan.net.pitch, mark


def test_braids_keep_their_width(recipes):
    lace = recipes["K-02"].tape
    straight = lace.braids[0]
    pins = draw_tape(lace.model_copy(update={"braids": [straight]})).pin_points()
    assert np.ptp(pins[:, 0]) == pytest.approx(straight.width)
    for side in (pins[pins[:, 0] < straight.at], pins[pins[:, 0] > straight.at]):
        assert np.diff(np.sort(side[:, 1])) == pytest.approx(straight.pitch)


def test_lines_that_never_meet_make_no_hollow():
    beside = np.array([(0.0, 0.0), (0.0, 5.0)])
    with pytest.raises(ValueError, match="too shallow"):
        meeting(beside, beside + np.array([1.0, 0.0]))


def test_a_figure_beyond_the_net_is_refused():
    net = Net(
        angle=60, pitch=2.0, columns=9, rows=6, repeats=3,
        figures=[Figure(shape="ring", gimp="around", at=(9, 4))],
    )  # fmt: skip
    with pytest.raises(ValueError, match="beyond the net"):
        draw_net(net)


def test_evenly_spaced_points_keep_their_distance():
    turn = np.linspace(0, np.pi, 400)
    points = spaced(np.column_stack([np.cos(turn), np.sin(turn)]), 12)
    assert np.hypot(*np.diff(points, axis=0).T) == pytest.approx(2 * np.sin(np.pi / 24), rel=1e-3)


def test_the_outer_points_of_a_line_are_its_hull():
    line = np.array([(0, 0), (-1, 1), (-1.2, 2), (-3, 3), (-2, 4), (-1, 5), (0, 6)], dtype=float)
    hull = hull_outwards(line)
    expected = MultiPoint(line).convex_hull
    assert {tuple(point) for point in hull} <= {tuple(p) for p in expected.exterior.coords}
    assert len(hull) == len(expected.exterior.coords) - 1


def test_an_offset_line_keeps_its_distance():
    line = np.array([(0, 0), (-3, 3), (-3, 6), (0, 9)], dtype=float)
    outline = offset_outwards(line, 2.0)
    base = LineString(line)
    assert [base.distance(Point(p)) for p in outline] == pytest.approx([2.0] * len(outline))
