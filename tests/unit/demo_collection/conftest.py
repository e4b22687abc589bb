from __future__ import annotations

import pytest

from demo_collection.drawing.net import NetDrawing, draw_net
from demo_collection.drawing.recipes import Recipe, read_recipes
from demo_collection.drawing.sheet import LaidOut, draw, lay_out


@pytest.fixture(scope="session")
def recipes() -> dict[str, Recipe]:
    """Every recipe by its shelfmark."""
    return {recipe.shelfmark: recipe for recipe in read_recipes()}


@pytest.fixture(scope="session")
def nets(recipes: dict[str, Recipe]) -> dict[str, NetDrawing]:
    """Point ground and torchon, drawn."""
    return {mark: draw_net(recipe.net) for mark, recipe in recipes.items() if recipe.net}


@pytest.fixture(scope="session")
def sheets(recipes: dict[str, Recipe], nets: dict[str, NetDrawing]) -> dict[str, LaidOut]:
    """Every sheet, laid out."""
    return {
        mark: lay_out(recipe, nets[mark].drawing if mark in nets else draw(recipe))
        for mark, recipe in recipes.items()
    }
