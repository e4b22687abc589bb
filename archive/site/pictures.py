"""Which pictures of a pattern are published, and the files they become.

The rights decide: a picture is made only where the record allows it, and what is held back
becomes a finding that says why. Originals are only read, and in a process apart: one that is
damaged or made to do harm is a finding, not an end. What was made of an original is kept in a
cache by what it was made of, so that a second build opens no original.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Mapping
from dataclasses import astuple, dataclass, field
from pathlib import Path

from archive.apart import Apart
from archive.errors import UnreadableFile, storage_errors
from archive.records import SHOWN_RIGHT, Attachment, Entry, Finding
from archive.records.measurement import Measurement
from archive.site import derivatives, overlays
from archive.site.derivatives import Cut, PageDrawer
from archive.site.images import THUMBNAIL_PX, Derived
from archive.site.pages import Picture, Thumbnail

MEASURABLE = ("pricking", "working diagram")
"""Roles whose pictures show small dark marks on a sheet."""

_SOUND_FILE = "Attach a sound file."

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
    """Makes the pictures of patterns, each original at most once.

    A context manager: on leaving, the process that reads originals ends.
    """

    def __init__(
        self,
        cache: Path,
        path_of: PathOf,
        measurement_of: MeasurementOf,
        *,
        draw_page: PageDrawer,
    ) -> None:
        self._cache = cache
        self._path_of = path_of
        self._measurement_of = measurement_of
        self._draw_page = draw_page
        self._room = Apart(advice=_SOUND_FILE)

    def __enter__(self) -> PictureMaker:
        return self

    def __exit__(self, *_: object) -> None:
        self._room.end()

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
                reason = f"“{attachment.file_name}” cannot be read: {refusal.reason}"
                withheld.append(_finding(entry, "picture-unreadable", reason))
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
        cut = _cut(attachment, measurement)
        page = measurement.source.page if measurement and measurement.source else 1
        recipe = json.dumps([derivatives.VERSION, attachment.sha256, page, *astuple(cut)])
        key = hashlib.sha256(recipe.encode()).hexdigest()[:40]
        made = self._cached(key)
        if made is None:
            made = self._keep(key, *self._derive(attachment, cut, page))
        if measurement is not None and measurement.source is not None:
            source_ratio = measurement.source.width_px / measurement.source.height_px
            if abs(source_ratio / (made[0].width / made[0].height) - 1) > 0.02:
                measurement = None  # the scan was turned by its camera after it was measured
        return (*made, measurement)

    def _derive(
        self, attachment: Attachment, cut: Cut, page: int
    ) -> tuple[str, tuple[Derived, Derived]]:
        """The ending of the new files, and the sheet and its small picture."""
        source, kind = self._path_of(attachment), attachment.media_type
        read = self._room.read
        if kind.startswith("image/svg"):
            return ".svg", read(derivatives.of_drawing, source, cut)
        if kind == "application/pdf":
            draw = self._draw_page
            return ".webp", read(derivatives.of_page, source, cut, page=page, draw=draw)
        return ".webp", read(derivatives.of_picture, source, cut, page=page)

    def _cached(self, key: str) -> tuple[Made, Made] | None:
        try:
            told = json.loads(self._place(key, ".json").read_text(encoding="utf-8"))
            made = [Made(self._place(key, name), width, height) for name, width, height in told]
        except (OSError, ValueError):
            return None
        return (made[0], made[1]) if all(one.path.is_file() for one in made) else None

    def _place(self, key: str, name: str) -> Path:
        return self._cache / "pictures" / key[:2] / f"{key}{name}"

    def _keep(self, key: str, ending: str, derived: tuple[Derived, Derived]) -> tuple[Made, Made]:
        """Write both pictures and last the note that says they are whole."""
        told = []
        kept = []
        for name, new in zip((ending, f"-small{ending}"), derived, strict=True):
            path = self._place(key, name)
            _write(path, new.data)
            told.append((name, new.width, new.height))
            kept.append(Made(path, new.width, new.height))
        _write(self._place(key, ".json"), json.dumps(told).encode())
        return kept[0], kept[1]


def _cut(attachment: Attachment, measurement: Measurement | None) -> Cut:
    """What the small picture of a sheet shows, as far as it was measured."""
    marks = attachment.role in MEASURABLE
    window = overlays.lace_window(measurement, THUMBNAIL_PX) if measurement else None
    if measurement is None or measurement.source is None or window is None:
        return Cut(None, 0.0, marks)
    sides = (measurement.source.width_px, measurement.source.height_px) * 2
    left, top, right, bottom = (
        round(place / side, 5) for place, side in zip(window, sides, strict=True)
    )
    turn_deg = round(overlays.upright_turn(measurement), 2)
    return Cut((left, top, right, bottom), turn_deg, marks)


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
            return f"nobody has looked into the rights in the {name}"
    return "the rights in it do not allow a picture"


def _finding(entry: Entry, code: str, found: str) -> Finding:
    return Finding(
        code=code,
        found=found,
        advice=(
            _SOUND_FILE
            if code == "picture-unreadable"
            else "Nothing to do, unless you know more: “prickings edit SHELFMARK --set "
            '"rights.design=CC BY 4.0"” records it, and rights.pricking and rights.photograph '
            "are set in the same way."
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


def _write(path: Path, data: bytes) -> None:
    with storage_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        half = path.with_name(f"{path.name}.{os.getpid()}.half")
        half.write_bytes(data)
        half.replace(path)
