"""An invented collection with sheets and measurements whose every figure is known."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from PIL import Image, ImageDraw

from archive.geometry import draw_page
from archive.records import Attachment, Entry, Measured, Written
from archive.records.measurement import (
    Area,
    Doubt,
    Foot,
    Ground,
    MeasuredCorner,
    MeasuredRepeat,
    Measurement,
    Pins,
    Rings,
    Scale,
    SourceFile,
)
from archive.records.settings import CollectionSettings
from archive.site import Published, publish_site
from archive.site.addresses import file_stems, shelf_order
from archive.site.collected import Collected
from archive.site.shelved import shelve

PX_PER_MM = 96 / 25.4
_MEDIA_TYPES = {".svg": "image/svg+xml", ".pdf": "application/pdf"}
OPEN_RIGHTS = {
    part: {"statement": "cc0"} for part in ("design", "working_up", "pricking", "photograph")
}
SETTINGS = CollectionSettings(name="The Dewpond Lacemakers", holder="the Dewpond guild")


@dataclass
class Shelf:
    """Entries with the files and measurements that hang on them."""

    folder: Path
    entries: list[Entry] = field(default_factory=list)
    paths: dict[str, Path] = field(default_factory=dict)
    measurements: dict[str, Measurement] = field(default_factory=dict)

    def path_of(self, attachment: Attachment) -> Path:
        """Where the original lies."""
        return self.paths[attachment.sha256]

    def measurement_of(self, attachment: Attachment) -> Measurement | None:
        """What is known of its pins."""
        return self.measurements.get(attachment.sha256)

    def add(self, shelfmark: str, sheet: Path | None = None, **told: Any) -> Entry:
        """A pattern, with a measured sheet where there is one."""
        attachments: list[Attachment] = []
        measured = None
        if sheet is not None:
            data = sheet.read_bytes()
            sha256 = hashlib.sha256(data).hexdigest()
            self.paths[sha256] = sheet
            kind = _MEDIA_TYPES.get(sheet.suffix) or f"image/{sheet.suffix[1:]}"
            attachments.append(
                Attachment(
                    sha256=sha256,
                    file_name=sheet.name,
                    media_type=kind,
                    size_bytes=len(data),
                    role=told.pop("role", "pricking"),
                )
            )
            if sheet.suffix == ".svg":
                measurement = strip_measurement(sha256, told.pop("angle", 60.0))
                self.measurements[sha256] = measurement
                measured = Measured(
                    sha256=sha256,
                    analyser="1",
                    pins=measurement.pins.count,
                    width_mm=24.0,
                    length_mm=120.0,
                    foot_side="right",
                    foot_pitch_mm=2.4,
                    ground_angle_deg=measurement.ground.angle_deg if measurement.ground else None,
                    ground_angle_sd_deg=0.1,
                    repeat_mm=24.0,
                    repeat_rows=10,
                    symmetry="p1m1",
                    head_pins=9,
                    scallops=1,
                    pins_per_10cm=417.4,
                    wraps_per_cm_low=33,
                    wraps_per_cm_high=42,
                    doubts=1,
                )
        entry = Entry.model_validate(
            {
                "shelfmark": shelfmark,
                "attachments": [one.model_dump() for one in attachments],
                "measured": measured and measured.model_dump(),
                **told,
            }
        )
        self.entries.append(entry)
        return entry


def strip_pins(angle_deg: float, *, pitch: float = 2.4, length: float = 120.0) -> list[Any]:
    """Pins of a plain strip in mm, footside at the right, with its head in scallops."""
    column = pitch * math.tan(math.radians(angle_deg)) / 2
    pins = []
    for across in range(1, 12):
        for down in range(round(length / pitch)):
            x = 34.0 - across * column
            y = 10.0 + down * pitch + (across % 2) * pitch / 2
            head = 12.0 + 6.0 * abs(math.cos(math.pi * (y - 10.0) / 24.0))
            if x > head:
                pins.append((x, y))
    pins.extend((35.5, 10.0 + down * pitch) for down in range(round(length / pitch)))
    return pins


def strip_measurement(sha256: str, angle_deg: float) -> Measurement:
    """What is true of a strip, in the form of a measurement."""
    pins = strip_pins(angle_deg)
    px = tuple((x * PX_PER_MM, y * PX_PER_MM) for x, y in pins)
    pitch, column = 2.4, 2.4 * math.tan(math.radians(angle_deg)) / 2
    block = tuple((x * PX_PER_MM, y * PX_PER_MM) for x, y in ((22, 40), (28, 46), (22, 52)))
    return Measurement(
        analyser="1",
        source=SourceFile(
            file="sheet.svg",
            sha256=sha256,
            media_type="image/svg+xml",
            width_px=50 * PX_PER_MM,
            height_px=140 * PX_PER_MM,
        ),
        scale=Scale(px_per_mm=PX_PER_MM, how="drawing-units"),
        tilt_deg=0.0,
        pins=Pins(count=len(pins), positions_px=px, positions_mm=tuple(pins)),
        extent_mm=(24.0, 120.0),
        foot=Foot(
            side="right",
            pitch_mm=pitch,
            pitch_px=pitch * PX_PER_MM,
            pitch_sd_mm=0.0,
            pins=50,
        ),
        ground=Ground(
            angle_deg=angle_deg,
            angle_sd_deg=0.1,
            pitch_mm=pitch,
            pitch_px=pitch * PX_PER_MM,
            column_mm=column,
            column_px=column * PX_PER_MM,
            rms_px=0.0,
            share_on_lattice=0.9,
        ),
        areas=(Area(kind="honeycomb net", pins=9, area_mm2=30.0, outline_px=block),),
        rings=Rings(four_pin=0, six_pin=0),
        repeat=MeasuredRepeat(
            length_mm=24.0, length_px=24 * PX_PER_MM, rows=10, pins=60, count=5, mirrored=True
        ),
        corner=MeasuredCorner(present=False),
        pairs=None,
        thread=None,
        doubts=(Doubt(x_px=px[40][0], y_px=px[40][1], kind="missing"),),
    )


def draw_strip(path: Path, angle_deg: float = 60.0, *, extra: str = "") -> Path:
    """A drawn sheet of a strip; `extra` goes into the drawing as it is."""
    holes = "".join(
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.25"/>' for x, y in strip_pins(angle_deg)
    )
    gimp = "M18 20" + "".join(f"Q24 {y + 6} 18 {y + 12}" for y in range(20, 116, 12))
    path.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="140mm" '
        f'viewBox="0 0 50 140">{extra}<g fill="#111">{holes}</g>'
        f'<path d="{gimp}" fill="none" stroke="#111" stroke-width=".35"/></svg>',
        encoding="utf-8",
    )
    return path


def scan_strip(path: Path, angle_deg: float = 45.0, **save: Any) -> Path:
    """A scanned sheet of a strip at 150 dots to the inch, on brown card."""
    scale = 150 / 25.4
    picture = Image.new("RGB", (round(50 * scale), round(140 * scale)), "#b08d57")
    pen = ImageDraw.Draw(picture)
    for x, y in strip_pins(angle_deg):
        pen.ellipse(
            [(x - 0.3) * scale, (y - 0.3) * scale, (x + 0.3) * scale, (y + 0.3) * scale],
            fill="#2b1d0c",
        )
    picture.save(path, **save)
    return path


def small_shelf(folder: Path) -> Shelf:
    """Six patterns: drawn, scanned, without a sheet, held back, corrected, wordless."""
    shelf = Shelf(folder)
    folder.mkdir(parents=True, exist_ok=True)
    shelf.add(
        "B 2",
        draw_strip(folder / "b2.svg"),
        title="Dewpond Edge",
        families=["bucks"],
        kind="edging",
        techniques=[
            {"technique": "point_ground", "role": "practised"},
            {"technique": "picot", "role": "taught"},
            {"technique": "honeycomb_ring", "role": "optional"},
        ],
        pairs={
            "stated": {"start": 16, "most": 18},
            "estimated": {"value": 20, "low": 19, "high": 22},
        },
        gimps={"singles": 0},
        threads=[{"label": "linen 80/2", "wraps_per_cm": 30, "use": "ground"}],
        difficulty={"stated": "simple", "level": 2},
        size={"width_mm": 20},
        corner=False,
        designer={"status": "named", "name": "A. Invented"},
        source={"title": "Leaves of a Notebook", "page": "12"},
        corrections=[
            {
                "fault": "The second catch pin is missing.",
                "remedy": "Prick it.",
                "date": "2024-05-01",
            }
        ],
        working_notes=[
            {"about": "start", "text": "Hang two pairs on each pin of the top row."},
            {"about": "easily wrong", "text": "The picot turns to the left."},
        ],
        related=[{"kind": "companion insertion", "shelfmark": "B 10"}],
        rights=OPEN_RIGHTS,
    )
    shelf.add(
        "B 10",
        draw_strip(folder / "b10.svg", 56.0),
        title="Dewpond Insertion",
        families=["point_ground"],
        kind="insertion",
        techniques=[
            {"technique": "honeycomb_ground", "role": "taught"},
            {"technique": "gimp", "role": "practised"},
        ],
        pairs={"counted": {"start": 24}},
        gimps={"singles": 2},
        difficulty={"level": 3},
        angle=56.0,
        rights={"design": {"statement": "inc"}, "pricking": {"statement": "cc0"}},
    )
    shelf.add(
        "T 1",
        scan_strip(folder / "t1.png"),
        title="Gatepost",
        families=["torchon"],
        kind="corner_edging",
        techniques=[
            {"technique": "torchon_ground", "role": "practised"},
            {"technique": "half_stitch", "role": "taught"},
            {"technique": "spider", "role": "taught"},
        ],
        pairs={"stated": {"start": 12, "corner_extra": 2, "about": True}},
        difficulty={"stated": "beginners", "level": 1},
        corner=True,
        rights=OPEN_RIGHTS,
    )
    shelf.add("T 2", title="Dærnsted Strip", families=["torchon"], kind="braid",
              techniques=[{"technique": "half_stitch"}, {"technique": "gimp"}],
              pairs={"stated": {"start": 8}})  # fmt: skip
    shelf.add("K/3", title="", families=["bedfordshire"], techniques=[{"technique": "plait"}])
    shelf.add("k-3", title="רצועת תחרה", kind="bookmark", period="undated")
    return shelf


def written(entry: Entry) -> Written:
    """A record as the catalogue would hold it."""
    return Written(
        entry.shelfmark,
        entry.pattern.model_dump_json(),
        entry.attachments,
        entry.measured,
        Path("catalogue.db"),
    )


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    """Records in the order of the shelf."""
    return sorted(entries, key=lambda entry: shelf_order(entry.shelfmark))


def collected(entries: Iterable[Entry]) -> Collected:
    """A collection without pictures, as its pages need it."""
    ordered = in_order(entries)
    stems = file_stems(entry.shelfmark for entry in ordered)
    return Collected(shelve(entry, stems[entry.shelfmark]) for entry in ordered)


def publish(shelf: Shelf, target: Path, **told: Any) -> Published:
    """Publish a shelf with its cache beside it."""
    return publish_site(
        target,
        map(written, shelf.entries),
        told.pop("settings", SETTINGS),
        path_of=shelf.path_of,
        measurement_of=shelf.measurement_of,
        draw_page=draw_page,
        cache=shelf.folder / "cache",
        **told,
    )
