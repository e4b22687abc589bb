"""The files on disk: current, the same every time, and holding what the truth says."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import numpy as np
import pytest
from defusedxml import ElementTree
from PIL import Image

from demo_collection.drawing.__main__ import file_bytes
from demo_collection.drawing.recipes import FOLDER, Fault
from demo_collection.drawing.records import as_json, index_entry, truth_entry
from demo_collection.drawing.scan import DPI, PX_PER_MM
from demo_collection.drawing.sheet import draw, lay_out

DEMO = FOLDER.parent
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def truth() -> dict[str, dict]:
    entries = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
    return {entry["shelfmark"]: entry for entry in entries}


def scans(truth):
    return {mark: entry for mark, entry in truth.items() if entry["size_px"]}


def grey(path: Path) -> np.ndarray:
    with Image.open(path) as image:
        return np.asarray(image.convert("L"), float)


def test_the_drawings_on_disk_are_those_of_the_recipes(sheets):
    drawn = {mark: sheet for mark, sheet in sheets.items() if sheet.recipe.sheet.style == "drawing"}
    assert len(drawn) >= 30
    for mark, sheet in drawn.items():
        assert (DEMO / sheet.recipe.sheet_file).read_bytes() == file_bytes(sheet), mark


def test_the_scans_on_disk_are_those_of_the_recipes(sheets):
    """Pixel by pixel: another build of the image library may pack the same picture otherwise."""
    scanned = {mark: sheet for mark, sheet in sheets.items() if sheet.recipe.sheet.style == "scan"}
    assert 10 <= len(scanned) <= 12
    for mark, sheet in scanned.items():
        with Image.open(io.BytesIO(file_bytes(sheet))) as fresh:
            kept = grey(DEMO / sheet.recipe.sheet_file)
            assert np.abs(kept - np.asarray(fresh.convert("L"), float)).mean() < 1.0, mark


def test_truth_and_index_on_disk_are_those_of_the_recipes(sheets):
    for name, entry in (("truth.json", truth_entry), ("index.json", index_entry)):
        fresh = as_json([entry(sheet) for sheet in sheets.values()])
        assert (DEMO / name).read_text(encoding="utf-8") == fresh, name


def test_no_sheet_lies_there_without_a_recipe(sheets):
    expected = {sheet.recipe.sheet_file for sheet in sheets.values()}
    assert {f"sheets/{path.name}" for path in (DEMO / "sheets").iterdir()} == expected


@pytest.mark.parametrize("mark", ["P-08", "T-03", "P-20", "K-03"])
def test_drawing_twice_gives_the_same_bytes(recipes, mark):
    first, second = (file_bytes(lay_out(recipes[mark], draw(recipes[mark]))) for _ in range(2))
    assert first == second


def test_the_sheets_are_small_enough_to_hand_round():
    sizes = [path.stat().st_size for path in (DEMO / "sheets").iterdir()]
    assert max(sizes) <= 350_000
    assert sum(sizes) <= 6_000_000


def test_a_scan_states_its_resolution_only_where_the_truth_says_so(truth):
    tagged = 0
    for mark, entry in scans(truth).items():
        with Image.open(DEMO / entry["sheet"]) as image:
            assert image.size == tuple(entry["size_px"]), mark
            stated = image.info.get("dpi")
        assert entry["px_per_mm"] == pytest.approx(DPI / 25.4)
        if entry["dpi_in_file"] is None:
            assert stated is None, mark
        else:
            tagged += 1
            assert stated == pytest.approx((entry["dpi_in_file"],) * 2, abs=0.1), mark
    assert 0 < tagged < len(scans(truth))


def test_a_scan_is_as_large_as_its_sheet_and_turned_as_the_truth_says(truth):
    for mark, entry in scans(truth).items():
        places_mm, places_px = (
            np.array(entry["pins"][f"positions_{unit}"]) for unit in ("mm", "px")
        )
        step_mm, step_px = (
            np.diff(places[[0, -1]], axis=0)[0] for places in (places_mm, places_px)
        )
        assert np.hypot(*step_px) / np.hypot(*step_mm) == pytest.approx(PX_PER_MM, rel=1e-3)
        turn = np.degrees(np.arctan2(*step_px[::-1]) - np.arctan2(*step_mm[::-1]))
        assert turn == pytest.approx(entry["tilt_deg"], abs=0.02), mark


def holes_seen(picture: np.ndarray, places: np.ndarray, radius: float) -> np.ndarray:
    """How much darker the middle of each place is than its surroundings, in grey levels."""
    seen = []
    reach = round(2.2 * radius)
    for x, y in np.rint(places).astype(int):
        around = picture[y - reach : y + reach + 1, x - reach : x + reach + 1]
        middle = picture[y - 1 : y + 2, x - 1 : x + 2]
        seen.append(np.percentile(around, 80) - middle.mean())
    return np.array(seen)


def test_every_pin_is_a_dark_hole_on_the_scan_but_for_the_missing_ones(truth, sheets):
    for mark, entry in scans(truth).items():
        radius = sheets[mark].recipe.sheet.hole * PX_PER_MM
        darker = holes_seen(
            grey(DEMO / entry["sheet"]), np.array(entry["pins"]["positions_px"]), radius
        )
        missing = {tuple(f["mm"]) for f in entry["faults"] if f["kind"] == "missing"}
        gone = np.array([tuple(place) in missing for place in entry["pins"]["positions_mm"]])
        assert gone.sum() == len(missing), mark
        assert darker[~gone].min() > 45, mark
        assert not gone.any() or darker[gone].max() < 45, mark


def test_an_extra_hole_lies_where_the_truth_says_and_near_no_pin(truth, sheets):
    extra = 0
    for mark, sheet in sheets.items():
        holes = sheet.holes()
        for fault in truth[mark]["faults"]:
            distances = np.hypot(*(holes - fault["mm"]).T)
            if fault["kind"] == "extra":
                extra += 1
                assert np.sort(distances)[0] < 1e-3, mark
                assert np.sort(distances)[1] > 0.7, mark
            else:
                assert distances.min() > 0.7, mark
    assert extra >= 4


def test_a_drawing_holds_a_circle_for_every_pin_in_millimetres(truth):
    for mark, entry in truth.items():
        if entry["size_px"]:
            continue
        root = ElementTree.parse(DEMO / entry["sheet"]).getroot()
        wide, high = entry["size_mm"]
        assert root.get("width") == f"{wide:g}mm", mark
        assert root.get("viewBox") == f"0 0 {wide:g} {high:g}", mark
        circles = [(float(c.get("cx")), float(c.get("cy"))) for c in root.iter(f"{SVG}circle")]
        assert np.array(circles) == pytest.approx(
            np.array(entry["pins"]["positions_mm"]), abs=6e-4
        ), mark


def test_everything_drawn_stays_on_the_paper(sheets):
    for mark, sheet in sheets.items():
        for line in sheet.drawing.lines:
            assert line.points.min() > 2, mark
            assert line.points[:, 0].max() < sheet.width - 2, mark
            assert line.points[:, 1].max() < sheet.height - 14, mark


def test_a_drawing_says_its_title_and_shelfmark(recipes):
    for mark, recipe in recipes.items():
        if recipe.sheet.style == "drawing":
            text = (DEMO / recipe.sheet_file).read_text(encoding="utf-8")
            words = re.sub(r"<[^>]+>", " ", text).replace("&#x27;", "'")
            assert recipe.title in words, mark
            assert recipe.shelfmark in words, mark
            assert "50 mm" in words, mark


def test_a_fault_planted_beside_the_holes_is_refused(recipes):
    recipe = recipes["P-02"]
    nowhere = recipe.sheet.model_copy(update={"faults": [Fault(kind="missing", at=(1.3, 1.3))]})
    with pytest.raises(ValueError, match="no hole to leave out"):
        lay_out(recipe.model_copy(update={"sheet": nowhere}), draw(recipe))
    taken = recipe.sheet.model_copy(update={"faults": [Fault(kind="extra", at=(0.0, 1.4))]})
    with pytest.raises(ValueError, match="lies already"):
        lay_out(recipe.model_copy(update={"sheet": taken}), draw(recipe))


def test_the_licence_names_its_identifier_and_its_text():
    licence = (DEMO / "LICENSE").read_text(encoding="utf-8")
    assert "CC0-1.0" in licence
    assert "https://creativecommons.org/publicdomain/zero/1.0/" in licence
