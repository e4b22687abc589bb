"""What a sheet is in words and figures: the index for the list, and the truth for tests."""

from __future__ import annotations

import json

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
        "pairs": {
            "start": drawing.pairs.start,
            "max": drawing.pairs.most,
            "corner_extra": drawing.pairs.corner_extra,
        },
        "gimps": recipe.gimps,
        "thread": recipe.thread,
        "difficulty": recipe.difficulty,
        "width_mm": _lace_width_mm(sheet, wide),
        "drawn_mm": [wide, tall],
        "repeat_mm": _repeat_mm(sheet),
        "corner": recipe.net is not None and recipe.net.corner is not None,
        "sheet": recipe.sheet_file,
        "corrections": [correction.model_dump() for correction in recipe.corrections],
        "working_notes": recipe.working_notes,
        "easily_wrong": recipe.easily_wrong,
    }


def _repeat_mm(sheet: LaidOut) -> float | None:
    match sheet.drawing.facts["repeat"]:
        case {"length_mm": float(length)}:
            return round(length, 2)
    return None


def _lace_width_mm(sheet: LaidOut, wide: float) -> float:
    """Width of the lace from foot to head; of a round or closed piece, its diameter."""
    net = sheet.recipe.net
    if net is None or net.corner is None:
        return wide
    points = sheet.drawing.pin_points()
    straight = points[points[:, 1] < points[:, 1].min() + net.rows * net.pitch]
    before = straight[straight[:, 0] < straight[:, 0].min() + 2 * net.columns * net.pitch]
    return round(float(before[:, 0].max() - before[:, 0].min()), 1)


def truth_entry(sheet: LaidOut) -> dict[str, object]:
    """What is really on a sheet: pins, pairs, lattice, repeat, planted faults.

    Places are mm from the sheet's top left; of scans also pixels, centres at whole numbers.
    `pins` are the pins of the lace: planted faults are not applied to them.
    """
    drawing, style = sheet.drawing, sheet.recipe.sheet
    points = drawing.pin_points()
    entry: dict[str, object] = {
        "shelfmark": sheet.recipe.shelfmark,
        "sheet": sheet.recipe.sheet_file,
        "families": sheet.recipe.families,
        "size_mm": [sheet.width, sheet.height],
        "scale": {
            "px_per_mm": round(PX_PER_MM, 6) if style.style == "scan" else None,
            "dpi_in_file": DPI if style.style == "scan" and style.tagged else None,
        },
        "tilt_deg": style.tilt,
        "paper": style.paper if style.style == "scan" else None,
        "pairs": {
            "start": drawing.pairs.start,
            "max": drawing.pairs.most,
            "corner_extra": drawing.pairs.corner_extra,
        },
        "gimps": sheet.recipe.gimps,
        **drawing.facts,
        "faults": [
            {"kind": fault.kind, "mm": _rounded([fault.x, fault.y])} for fault in sheet.faults
        ],
        "pins": {
            "count": len(points),
            "roles": [pin.role for pin in drawing.pins],
            "positions_mm": [_rounded(place) for place in points.tolist()],
            "positions_px": None,
        },
    }
    if style.style == "scan":
        entry["size_px"] = list(size_px(sheet))
        entry["pins"]["positions_px"] = [  # type: ignore[index]
            _rounded(place, 2) for place in to_px(sheet, points).tolist()
        ]
    return entry


def _rounded(place: list[float], digits: int = 4) -> list[float]:
    return [round(value, digits) for value in place]


def as_json(entries: list[dict[str, object]]) -> str:
    """One entry a line, so that changes are easy to see."""
    lines = ",\n".join(json.dumps(entry, ensure_ascii=False) for entry in entries)
    return f"[\n{lines}\n]\n"
