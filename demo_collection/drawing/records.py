"""What a sheet is in words and figures: the index for the list, and the truth for tests."""

from __future__ import annotations

import json
from dataclasses import asdict

import numpy as np

from demo_collection.drawing.canvas import Facts, PairCount
from demo_collection.drawing.scan import DPI, PX_PER_MM, size_px, to_px
from demo_collection.drawing.sheet import LaidOut


def index_entry(sheet: LaidOut) -> dict[str, object]:
    """What the guild's list says about a pricking."""
    recipe, drawing = sheet.recipe, sheet.drawing
    points = drawing.pin_points()
    wide, tall = (round(float(extent), 1) for extent in points.max(axis=0) - points.min(axis=0))
    return {
        "shelfmark": recipe.shelfmark,
        "title": recipe.title,
        "families": recipe.families,
        "kind": recipe.kind,
        "techniques": recipe.techniques.roles(),
        "pairs": _pairs(drawing.pairs),
        "gimps": recipe.gimps,
        "thread": recipe.thread,
        "difficulty": recipe.difficulty,
        "width_mm": _lace_width_mm(sheet, wide),
        "drawn_mm": [wide, tall],
        "repeat_mm": drawing.facts.drawn_repeat_mm,
        "corner": drawing.facts.corner,
        "sheet": recipe.sheet_file,
        "corrections": [correction.model_dump() for correction in recipe.corrections],
        "working_notes": recipe.working_notes,
        "easily_wrong": recipe.easily_wrong,
    }


def _lace_width_mm(sheet: LaidOut, wide: float) -> float:
    """Width of the lace from foot to head; of a round or closed piece, its diameter."""
    net = sheet.recipe.net
    if net is None or net.corner is None:
        return wide
    points = sheet.drawing.pin_points()
    start = points[points[:, 1] < points[:, 1].min() + net.rows * net.pitch]
    return round(float(np.ptp(start[:, 0])), 1)


def truth_entry(sheet: LaidOut) -> dict[str, object]:
    """What is really on a sheet: pins, pairs, lattice, repeat, planted faults.

    Places are mm from the sheet's top left; of scans also pixels, centres at whole numbers.
    `pins` are the pins of the lace: planted faults are not applied to them.
    """
    drawing, style = sheet.drawing, sheet.recipe.sheet
    points = drawing.pin_points()
    scanned = style.style == "scan"
    places_px = to_px(sheet, points).tolist() if scanned else None
    return {
        "shelfmark": sheet.recipe.shelfmark,
        "sheet": sheet.recipe.sheet_file,
        "families": sheet.recipe.families,
        "size_mm": [sheet.width, sheet.height],
        "size_px": list(size_px(sheet)) if scanned else None,
        "px_per_mm": round(PX_PER_MM, 6) if scanned else None,
        "dpi_in_file": DPI if scanned and style.tagged else None,
        "tilt_deg": style.tilt,
        "pairs": _pairs(drawing.pairs),
        "gimps": sheet.recipe.gimps,
        **_facts(drawing.facts),
        "faults": [
            {"kind": fault.kind, "mm": _rounded([fault.x, fault.y])} for fault in sheet.faults
        ],
        "pins": {
            "count": len(points),
            "roles": [pin.role for pin in drawing.pins],
            "positions_mm": [_rounded(place) for place in points.tolist()],
            "positions_px": places_px and [_rounded(place, 2) for place in places_px],
        },
    }


def _pairs(pairs: PairCount) -> dict[str, int]:
    return {"start": pairs.start, "max": pairs.most, "corner_extra": pairs.corner_extra}


def _facts(facts: Facts) -> dict[str, object]:
    ground = asdict(facts.ground) if facts.ground else None
    if ground:
        ground["column_mm"] = round(ground["column_mm"], 6)
    return {
        "foot": {"side": facts.foot_side, "pitch_mm": facts.foot_pitch_mm},
        "ground": ground,
        "rings": {"four_pin": facts.four_pin_rings, "six_pin": facts.six_pin_rings},
        "repeat": asdict(facts.repeat) if facts.repeat else None,
        "drawn_repeat_mm": facts.drawn_repeat_mm,
        "corner": {"present": facts.corner},
        "round": facts.round,
        "outlines": facts.outlines,
    }


def _rounded(place: list[float], digits: int = 4) -> list[float]:
    return [round(value, digits) for value in place]


def as_json(entries: list[dict[str, object]]) -> str:
    """One entry a line, so that changes are easy to see."""
    lines = ",\n".join(json.dumps(entry, ensure_ascii=False) for entry in entries)
    return f"[\n{lines}\n]\n"
