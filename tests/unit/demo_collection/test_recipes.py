from __future__ import annotations

import math
import re
from collections import Counter

import pytest
from pydantic import ValidationError

from archive.vocabulary import families, kinds, techniques
from demo_collection.drawing.net import NetDrawing
from demo_collection.drawing.recipes import FOLDER, Figure, Net, Recipe, read_recipe
from demo_collection.drawing.sheet import LaidOut


def named(recipe: Recipe) -> set[str]:
    return {*recipe.techniques.taught, *recipe.techniques.practised, *recipe.techniques.optional}


def test_a_recipe_lies_under_its_shelfmark(recipes):
    names = {path.stem for path in FOLDER.glob("*.toml")}
    assert names == {mark.lower() for mark in recipes}
    assert len({recipe.title for recipe in recipes.values()}) == len(recipes)


def test_the_collection_holds_what_the_guild_says_it_does(recipes):
    by_family = Counter(recipe.families[0] for recipe in recipes.values())
    point_ground = [r for r in recipes.values() if r.families == ["point_ground"]]
    by_kind = Counter(recipe.kind for recipe in point_ground)
    assert len(recipes) >= 42
    assert len(point_ground) >= 24
    assert by_kind["insertion"] == 2
    assert by_kind["corner_edging"] >= 3
    assert by_kind["mat"] == by_kind["bookmark"] == 1
    assert by_family["torchon"] >= 8
    assert by_family["bedfordshire"] >= 4


def test_every_word_of_a_recipe_is_in_the_vocabulary(recipes):
    for recipe in recipes.values():
        assert named(recipe) <= {term.id for term in techniques()}, recipe.shelfmark
        assert set(recipe.families) <= {term.id for term in families()}, recipe.shelfmark
        assert recipe.kind in kinds(), recipe.shelfmark


def test_no_technique_plays_two_roles(recipes):
    for recipe in recipes.values():
        roles = Counter(entry["id"] for entry in recipe.techniques.roles())
        assert max(roles.values()) == 1, recipe.shelfmark


def drawn_techniques(recipe: Recipe, sheet: LaidOut) -> set[str]:
    """The techniques that can be seen in a drawing."""
    seen: set[str] = set()
    roles = {pin.role for pin in sheet.drawing.pins}
    lines = {line.role for line in sheet.drawing.lines}
    if "picot" in roles:
        seen.add("picot")
    if "nook" in roles:
        seen.add("nook_pin")
    if "gimp" in lines:
        seen.add("gimp")
    if "leaf" in lines:
        seen.add("leaf_tally")
    if recipe.plaited:
        seen.add("plait")
    if recipe.tape:
        seen.add("braid")
    if recipe.net:
        seen.add("torchon_ground" if recipe.families == ["torchon"] else "point_ground")
        if recipe.net.head.kind == "fans":
            seen.add("fan")
        if recipe.net.corner:
            seen.add("corner")
        by_fill = {"tally": "square_tally", "spider": "spider", "rose": "rose_ground",
                   "kat": "kat_stitch", "chain": "pin_chain", "half": "half_stitch",
                   "honeycomb": "honeycomb_ground"}  # fmt: skip
        for figure in recipe.net.figures:
            if figure.shape == "ring":
                seen.add("honeycomb_ring")
            elif figure.fill in by_fill:
                seen.add(by_fill[figure.fill])
            elif figure.fill == "cloth":
                seen.add("cloth_stitch")
                if figure.shape == "band":
                    seen.add("trail")
                elif "honeycomb" in {other.fill for other in recipe.net.figures}:
                    seen.add("diamond" if figure.gimp == "around" else "mayflower")
    return seen


def test_what_is_drawn_is_named_and_what_is_named_is_drawn(recipes, sheets):
    visible = {"picot", "nook_pin", "gimp", "leaf_tally", "plait", "fan", "corner", "square_tally",
               "spider", "rose_ground", "kat_stitch", "pin_chain", "honeycomb_ring", "mayflower",
               "trail"}  # fmt: skip
    for mark, recipe in recipes.items():
        drawn = drawn_techniques(recipe, sheets[mark])
        worked = {*recipe.techniques.taught, *recipe.techniques.practised}
        assert drawn - {"diamond"} <= named(recipe), mark
        assert worked & visible <= drawn, mark


def test_gimps_are_wound_where_gimps_are_drawn(recipes, sheets):
    for mark, recipe in recipes.items():
        running = [line for line in sheets[mark].drawing.lines if line.role == "gimp"]
        assert bool(running) == (recipe.gimps > 0), mark


def test_the_thread_suits_the_foot_pitch(recipes):
    """8-10 wraps in a foot pitch of point ground, 10-12 in torchon: common practice, no source.

    Wraps per cm are 6 times the root of the metric count, within 15 % (published wraps of
    three threads; Nm = 1.6934 Ne = 0.6048 NeL by definition of the pound and the yard).
    """
    metric = {"Ne": 1.69336181735, "NeL": 0.60477207763}
    for recipe in recipes.values():
        if recipe.net is None:
            continue
        found = re.fullmatch(r"(?:linen|cotton) (NeL|Ne) (\d+)/(\d)", recipe.thread)
        assert found, recipe.thread
        count = int(found[2]) / int(found[3]) * metric[found[1]]
        wraps = 6.0 * math.sqrt(count) * recipe.net.pitch / 10
        low, high = (10, 12) if recipe.families == ["torchon"] else (8, 10)
        assert low * 0.85 <= wraps <= high * 1.15, recipe.shelfmark


def test_the_difficulty_of_point_ground_never_falls_far_behind_the_number(recipes):
    """The shelf order is the teaching order, so later numbers are not easier by two steps."""
    hardest = 0
    for mark in sorted(mark for mark in recipes if mark.startswith("P-")):
        if recipes[mark].kind == "edging":
            assert recipes[mark].difficulty >= hardest - 1, mark
            hardest = max(hardest, recipes[mark].difficulty)


def test_every_planted_fault_is_told_in_the_corrections(recipes):
    both = 0
    for recipe in recipes.values():
        faults = {fault.kind for fault in recipe.sheet.faults}
        told = " ".join(correction.text for correction in recipe.corrections)
        assert ("missing" in faults) == bool(re.search("missing|never pricked", told))
        assert ("extra" in faults) == bool(re.search("too many|stray", told))
        both += faults == {"missing", "extra"}
    assert both >= 4


def test_nothing_drawn_or_written_has_the_shape_or_name_of_a_heart():
    for path in sorted(FOLDER.glob("*.toml")):
        assert "heart" not in path.read_text(encoding="utf-8").lower(), path.name


def test_an_unknown_word_in_a_recipe_is_refused(tmp_path):
    text = (FOLDER / "p-02.toml").read_text(encoding="utf-8")
    path = tmp_path / "p-02.toml"
    path.write_text(text.replace("angle =", "slant = 3\nangle ="), encoding="utf-8")
    with pytest.raises(ValidationError, match="slant"):
        read_recipe(path)


def test_a_recipe_draws_one_lace_only(tmp_path):
    text = (FOLDER / "p-02.toml").read_text(encoding="utf-8")
    path = tmp_path / "p-02.toml"
    path.write_text(text.split("[net]")[0], encoding="utf-8")
    with pytest.raises(ValidationError, match="exactly one"):
        read_recipe(path)


def test_sizes_are_those_a_lacemaker_would_choose(recipes, sheets, nets: dict[str, NetDrawing]):
    for mark in nets:
        net = recipes[mark].net
        assert net is not None
        assert 1.6 <= net.pitch <= 4.0, mark
        assert 45 <= net.angle <= 65, mark
        assert net.repeats >= 3, mark
        if not net.round:
            assert 9 <= net.pitch * net.rows <= 60, mark
    for mark, sheet in sheets.items():
        assert sheet.width <= 110, mark
        assert sheet.height <= 210, mark


def test_a_figure_needs_a_place_and_a_corner_figure_a_corner():
    with pytest.raises(ValidationError, match="needs `at`"):
        Figure(shape="ring")
    with pytest.raises(ValidationError, match="needs a corner"):
        Net(
            angle=60, pitch=2, columns=9, rows=6, repeats=3,
            figures=[Figure(shape="diamond", at=(4, 0), corner=True)],
        )  # fmt: skip
