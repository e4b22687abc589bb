"""Which pictures of a pattern are published, and the files they become.

The rights decide: a picture is made only where the record allows it, and what is held back
becomes a finding that says why. Originals are only read. What was made of an original is kept
in a cache by what it was made of, so that a second build makes nothing anew.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from archive.errors import UnreadableFile, storage_errors
from archive.records import SHOWN_RIGHT, Attachment, Entry, Finding
from archive.records.measurement import Measurement
from archive.site import images, overlays, vector_sheets
from archive.site.pages import Picture, Thumbnail

MEASURABLE = ("pricking", "working diagram")
"""Roles whose pictures show small dark marks on a sheet."""

PathOf = Callable[[Attachment], Path]
MeasurementOf = Callable[[Attachment], Measurement | None]


@dataclass(frozen=True)
class Made:
    """A picture that was made: where it lies in the cache, and its size in pixels."""

    path: Path
    width: float
    height: float


@dataclass(frozen=True)
class PicturesOfPattern:
    """What is published of one pattern's attachments.

    `files` maps a path in the site to the file in the cache that goes there.
    """

    shown: tuple[Picture, ...] = ()
    thumbnail: Thumbnail | None = None
    files: Mapping[str, Path] = field(default_factory=dict)
    withheld: tuple[Finding, ...] = ()


class PictureMaker:
    """Makes the pictures of patterns, each original at most once."""

    def __init__(self, cache: Path, path_of: PathOf, measurement_of: MeasurementOf) -> None:
        self._cache = cache
        self._path_of = path_of
        self._measurement_of = measurement_of

    def pictures_of(self, entry: Entry, stem: str) -> PicturesOfPattern:
        """Everything that may be shown of a pattern; `stem` names its files in the site."""
        shown: list[Picture] = []
        files: dict[str, Path] = {}
        withheld: list[Finding] = []
        thumbnails: dict[str, Thumbnail] = {}
        for attachment in entry.attachments:
            reason = why_withheld(entry, attachment)
            if reason:
                withheld.append(_finding(entry, "picture-withheld", reason))
                continue
            number = len(shown) + 1
            try:
                sheet, small, measurement = self._made(attachment)
            except UnreadableFile as refusal:
                withheld.append(_finding(entry, "picture-unreadable", refusal.problem))
                continue
            path = f"pictures/{stem}-{number}{sheet.path.suffix}"
            files[path] = sheet.path
            shown.append(_picture(path, attachment, entry, sheet, measurement))
            small_path = f"pictures/{stem}-{number}-small{small.path.suffix}"
            files[small_path] = small.path
            thumbnails.setdefault(
                attachment.role, Thumbnail(small_path, round(small.width), round(small.height))
            )
        chosen = [thumbnails.get(role) for role in ("photograph", "worked sample", *MEASURABLE)]
        thumbnail = next((found for found in chosen if found), None)
        if thumbnail is not None:
            spare = {found.path for found in thumbnails.values()} - {thumbnail.path}
            files = {path: made for path, made in files.items() if path not in spare}
        return PicturesOfPattern(tuple(shown), thumbnail, files, tuple(withheld))

    def _made(self, attachment: Attachment) -> tuple[Made, Made, Measurement | None]:
        """The sheet, its small picture, and its measurement where it fits the sheet."""
        measurement = self._measurement_of(attachment)
        if measurement is not None and measurement.source is None:
            measurement = None
        window = overlays.lace_window(measurement, images.THUMBNAIL_PX) if measurement else None
        turn = overlays.upright_turn(measurement) if measurement and window else 0.0
        recipe = json.dumps(
            [images.VERSION, vector_sheets.VERSION, attachment.sha256, attachment.role,
             window and [round(side, 1) for side in window], round(turn, 2)]
        )  # fmt: skip
        key = hashlib.sha256(recipe.encode()).hexdigest()[:40]
        made = self._cached(key)
        if made is None:
            source = self._path_of(attachment)
            drawn = attachment.media_type.startswith("image/svg")
            make = self._make_drawn if drawn else self._make_scanned
            made = make(key, source, attachment, window, turn)
        if measurement is not None and measurement.source is not None:
            source_ratio = measurement.source.width_px / measurement.source.height_px
            if abs(source_ratio / (made[0].width / made[0].height) - 1) > 0.02:
                measurement = None  # the scan was turned by its camera after it was measured
        return (*made, measurement)

    def _make_scanned(
        self,
        key: str,
        source: Path,
        attachment: Attachment,
        window: images.Window | None,
        turn: float,
    ) -> tuple[Made, Made]:
        picture = images.read_upright(source)
        sheet = images.sheet_picture(picture)
        small = images.thumbnail(
            picture,
            window or _shaped(images.find_lace(picture)),
            turn_deg=turn,
            marks=attachment.role in MEASURABLE,
        )
        return self._keep(key, ".webp", (sheet.data, sheet.width, sheet.height),
                          (small.data, small.width, small.height))  # fmt: skip

    def _make_drawn(
        self,
        key: str,
        source: Path,
        _attachment: Attachment,
        window: images.Window | None,
        turn: float,
    ) -> tuple[Made, Made]:
        drawing = vector_sheets.read_drawing(source)
        shown = window or _shaped((0.0, 0.0, drawing.width, drawing.height))
        width, height = images.THUMBNAIL_PX
        return self._keep(
            key,
            ".svg",
            (drawing.whole().encode(), drawing.width, drawing.height),
            (drawing.part(shown, turn_deg=turn).encode(), width, height),
        )

    def _cached(self, key: str) -> tuple[Made, Made] | None:
        try:
            told = json.loads(self._place(key, ".json").read_text(encoding="utf-8"))
            made = [Made(self._place(key, name), width, height) for name, width, height in told]
        except (OSError, ValueError):
            return None
        return (made[0], made[1]) if all(one.path.is_file() for one in made) else None

    def _place(self, key: str, name: str) -> Path:
        return self._cache / "pictures" / key[:2] / f"{key}{name}"

    def _keep(
        self,
        key: str,
        ending: str,
        sheet: tuple[bytes, float, float],
        small: tuple[bytes, float, float],
    ) -> tuple[Made, Made]:
        """Write both pictures and last the note that says they are whole."""
        told = []
        kept = []
        for name, (data, width, height) in ((ending, sheet), (f"-small{ending}", small)):
            path = self._place(key, name)
            _write(path, data)
            told.append((name, width, height))
            kept.append(Made(path, width, height))
        _write(self._place(key, ".json"), json.dumps(told).encode())
        return kept[0], kept[1]


def why_withheld(entry: Entry, attachment: Attachment) -> str:
    """The reason why a picture of an attachment is not published; empty where it may be."""
    part = SHOWN_RIGHT.get(attachment.role)
    if part is None:
        return "a file in this role is never published"
    if entry.rights.allow_picture_of(part):
        return ""
    words = part.replace("_", "-")
    for name, right in (("design", entry.rights.design), (words, getattr(entry.rights, part))):
        if right is None:
            return f"nobody has looked into the right in the {name}"
    return "the rights in it do not allow a picture"


def _finding(entry: Entry, code: str, found: str) -> Finding:
    return Finding(
        code=code,
        found=found,
        advice=(
            "Attach a sound file."
            if code == "picture-unreadable"
            else "Nothing to do, unless the record should say more about its rights."
        ),
        shelfmark=entry.shelfmark,
    )


def _picture(
    path: str, attachment: Attachment, entry: Entry, sheet: Made, measurement: Measurement | None
) -> Picture:
    alternative = attachment.alternative_text or _alternative(attachment, entry, measurement)
    if measurement is None or measurement.source is None:
        return Picture(path, attachment.role, alternative, attachment.caption, sheet.width,
                       sheet.height)  # fmt: skip
    scale = measurement.scale.px_per_mm
    return Picture(
        path=path,
        role=attachment.role,
        alternative=alternative,
        caption=attachment.caption,
        width=measurement.source.width_px,
        height=measurement.source.height_px,
        layers=overlays.layers(measurement),
        stroke=round(overlays.hole_width(measurement), 2),
        ten_mm=round(10 * scale, 2) if scale else 0.0,
    )


def _alternative(attachment: Attachment, entry: Entry, measurement: Measurement | None) -> str:
    """Words for a picture nobody has described: what it is, of what, and how many pinholes."""
    kinds = {
        "pricking": "Pricking",
        "working diagram": "Working diagram",
        "photograph": "Photograph of the lace",
        "worked sample": "Worked sample",
    }
    pins = f", with {measurement.pins.count} pinholes" if measurement else ""
    return f"{kinds[attachment.role]} of “{entry.heading}”{pins}."


def _shaped(window: images.Window) -> images.Window:
    """The window widened to the shape of a small picture."""
    left, top, right, bottom = window
    width, height = right - left, bottom - top
    across, down = images.THUMBNAIL_PX
    if height > 1.6 * width:
        height = width
        bottom = top + height
    width, height = max(width, height * across / down), max(height, width * down / across)
    x, y = (left + right) / 2, (top + bottom) / 2
    return (x - width / 2, y - height / 2, x + width / 2, y + height / 2)


def _write(path: Path, data: bytes) -> None:
    with storage_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f"{path.name}.{os.getpid()}.half")
        half.write_bytes(data)
        half.replace(path)
