from __future__ import annotations

import io
import struct
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms, ImageDraw, PngImagePlugin

from archive.errors import UnreadableFile
from archive.site import images

CANARY = "canary-in-the-picture"


def _exif() -> Image.Exif:
    exif = Image.Exif()
    exif[0x010E] = CANARY  # ImageDescription
    exif[0x013B] = CANARY  # Artist
    exif.get_ifd(0x8825)[29] = CANARY  # GPSDateStamp
    return exif


def _profile() -> bytes:
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert b"sRGB built-in" in profile or b"s\x00R\x00G\x00B" in profile
    return profile


def _picture(size: tuple[int, int] = (640, 480)) -> Image.Image:
    picture = Image.new("RGB", size, "#d8c9a8")
    pen = ImageDraw.Draw(picture)
    for x in range(40, size[0] - 40, 24):
        for y in range(40, size[1] - 40, 24):
            pen.ellipse((x, y, x + 6, y + 6), fill="#20160a")
    return picture


def _text() -> PngImagePlugin.PngInfo:
    text = PngImagePlugin.PngInfo()
    text.add_text("Author", CANARY)
    text.add_itxt("XML:com.adobe.xmp", f"<x:xmpmeta>{CANARY}</x:xmpmeta>")
    return text


FORMATS = {
    "jpg": {"exif": _exif(), "comment": CANARY.encode(), "icc_profile": _profile()},
    "png": {"exif": _exif(), "pnginfo": _text(), "icc_profile": _profile()},
    "tif": {"exif": _exif(), "icc_profile": _profile()},
    "webp": {"exif": _exif(), "xmp": CANARY.encode()},
}


@pytest.mark.parametrize("ending", sorted(FORMATS))
def test_a_published_picture_holds_nothing_but_pixels(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"sheet.{ending}"
    _picture().save(path, **FORMATS[ending])
    assert CANARY.encode() in path.read_bytes()  # or the test would prove nothing
    picture = images.read_upright(path)
    for made in (
        images.sheet_picture(picture),
        images.thumbnail(picture, (0, 0, 640, 480)),
        images.thumbnail(picture, (0, 0, 640, 480), marks=False),
    ):
        assert CANARY.encode() not in made.data
        again = Image.open(io.BytesIO(made.data))
        again.load()
        assert not again.getexif()
        assert set(again.info) <= {"background", "loop", "timestamp", "duration", "icc_profile"}
        # Source: WebP container specification: what is neither pixels nor size has its own chunk.
        chunks = [name for name, _ in _chunks(made.data)]
        assert chunks == [b"VP8X", b"ICCP", b"VP8 "]
        assert again.info["icc_profile"] == images.srgb_profile()


def _chunks(webp: bytes) -> Iterator[tuple[bytes, bytes]]:
    """The parts of a WebP file. Source: WebP container specification, RIFF file format."""
    at = 12
    while at < len(webp):
        size = int.from_bytes(webp[at + 4 : at + 8], "little")
        yield webp[at : at + 4], webp[at + 8 : at + 8 + size]
        at += 8 + size + size % 2


def test_the_profile_that_pictures_carry_is_that_of_srgb_and_always_the_same() -> None:
    """Source: ICC.1:2022, 7.2: size, class, spaces, date and signature in the header."""
    profile = images.srgb_profile()
    assert int.from_bytes(profile[:4], "big") == len(profile) < 700
    assert (profile[12:16], profile[16:20], profile[36:40]) == (b"mntr", b"RGB ", b"acsp")
    assert struct.unpack(">6H", profile[24:36]) == (2000, 1, 1, 0, 0, 0)
    read = ImageCms.ImageCmsProfile(io.BytesIO(profile)).profile
    assert (read.profile_description, read.copyright) == (
        "sRGB built-in", "No copyright, use freely",
    )  # fmt: skip
    # Source: IEC 61966-2-1: the primaries of sRGB.
    assert read.chromaticity is not None
    for found, primary in zip(
        read.chromaticity, ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)), strict=True
    ):
        assert found[:2] == pytest.approx(primary, abs=1e-4)


def _grey_profile(gamma: float) -> bytes:
    """A scanner's profile for grey pixels. Source: ICC.1:2001-04, 6.1, 6.3.2, 6.5.3."""
    curve = b"curv" + bytes(4) + struct.pack(">IH", 1, round(256 * gamma)) + bytes(2)
    white = b"XYZ " + bytes(4) + struct.pack(">3i", 63190, 65536, 54061)  # D50
    tags = struct.pack(">I4sII4sII", 2, b"wtpt", 156, 20, b"kTRC", 176, 16)
    header = struct.pack(
        ">I4sI4s4s4s6H4s28x3i48x", 192, b"", 0x02400000, b"scnr", b"GRAY", b"XYZ ",
        2000, 1, 1, 0, 0, 0, b"acsp", 63190, 65536, 54061,
    )  # fmt: skip
    return header + tags + white + curve


def _linear_profile() -> bytes:
    """The colours of sRGB with light in proportion to numbers. Source: ICC.1:2022, 10.18."""
    profile = bytearray(images.srgb_profile())
    curve = profile.index(b"para", 300)
    profile[curve + 8 : curve + 16] = struct.pack(">HHi", 0, 0, 65536)
    return bytes(profile)


@pytest.mark.parametrize("mode", ["L", "LA", "RGB", "RGBA"])
def test_tones_are_shown_as_the_scan_meant_them(tmp_path: Path, mode: str) -> None:
    """Half the light is 188 in sRGB. Source: IEC 61966-2-1, the transfer function."""
    grey = mode in ("L", "LA")
    half = Image.new("L", (64, 64), 128).convert(mode)
    half.save(tmp_path / "a.png", icc_profile=_grey_profile(1.0) if grey else _linear_profile())
    picture = images.read_upright(tmp_path / "a.png")
    assert picture.mode == ("L" if grey else "RGB")
    assert np.abs(np.asarray(picture, dtype=int) - 188).max() <= 2


def test_a_published_grey_says_that_it_is_meant_as_in_srgb(tmp_path: Path) -> None:
    """A viewer that obeys the profile shows the scan's half of the light, which is 188."""
    half = Image.new("L", (64, 64), 128)
    half.save(tmp_path / "a.png", icc_profile=_grey_profile(1.0))
    made = images.sheet_picture(images.read_upright(tmp_path / "a.png"))
    with Image.open(io.BytesIO(made.data)) as published:
        own = ImageCms.ImageCmsProfile(io.BytesIO(published.info["icc_profile"]))
        assert own.profile.xcolor_space.strip() == published.mode == "RGB"
        shown = ImageCms.profileToProfile(published, own, ImageCms.createProfile("sRGB"))
    assert shown is not None
    assert np.abs(np.asarray(shown, dtype=int) - 188).max() <= 2


def test_a_profile_for_other_pixels_changes_nothing(tmp_path: Path) -> None:
    _picture().save(tmp_path / "a.png", icc_profile=_grey_profile(1.0))
    assert np.array_equal(images.read_upright(tmp_path / "a.png"), _picture())


@pytest.mark.parametrize("orientation", [1, 6])
def test_pixels_that_are_longer_than_wide_are_drawn_out(tmp_path: Path, orientation: int) -> None:
    """A telefax has 204 to the inch by 98 (ITU-T T.4); the stored rows may be columns (Exif)."""
    square = _picture((612, 588))
    exif = Image.Exif()
    exif[0x0112] = orientation
    squeezed = square.resize((612, 588 * 98 // 204))
    squeezed.save(tmp_path / "a.tif", dpi=(204, 98), exif=exif)
    upright = square if orientation == 1 else square.transpose(Image.Transpose.ROTATE_270)
    found = images.read_upright(tmp_path / "a.tif")
    assert found.size == pytest.approx(upright.size, abs=2)
    shown = np.asarray(found.resize(upright.size).convert("L"), dtype=float)
    expected = np.asarray(upright.convert("L"), dtype=float)
    assert np.corrcoef(shown.ravel(), expected.ravel())[0, 1] > 0.8


@pytest.mark.parametrize("name", ["a.jpg", "a.tif"])
def test_a_scan_that_lies_on_its_side_is_set_upright(tmp_path: Path, name: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # the camera was turned; source: Exif 2.3, Orientation
    picture = _picture((640, 480))
    picture.save(tmp_path / name, exif=exif)
    upright = np.asarray(images.read_upright(tmp_path / name), dtype=float)
    assert np.abs(upright - np.rot90(np.asarray(picture), -1)).mean() < 8


def test_a_bilevel_scan_becomes_grey_before_it_is_made_smaller(tmp_path: Path) -> None:
    picture = _picture((3000, 3000)).convert("L").point(lambda tone: 255 * (tone > 128))
    picture.convert("1").save(tmp_path / "a.png")
    made = images.sheet_picture(images.read_upright(tmp_path / "a.png"))
    tones = np.asarray(Image.open(io.BytesIO(made.data)).convert("L"))
    assert max(made.width, made.height) == images.SHEET_LONGEST_PX
    assert ((tones > 60) & (tones < 200)).any()


@pytest.mark.parametrize("mode", ["1", "L", "LA", "P", "RGB", "RGBA", "CMYK", "I;16", "I", "F"])
def test_every_kind_of_pixel_can_be_published(mode: str, tmp_path: Path) -> None:
    grey = _picture().convert("L")
    if mode in ("I;16", "I", "F"):
        deep = np.asarray(grey, dtype=np.float32) * 250
        kind = {"I;16": "u2", "I": "i4", "F": "f4"}[mode]
        picture = Image.fromarray(deep.astype(kind))
    else:
        picture = _picture().convert(mode)
    path = tmp_path / "a.tif"
    picture.save(path)
    tones = np.asarray(images.read_upright(path).convert("L"), dtype=float)
    # The holes are dark on light whatever the file held.
    assert tones[43, 43] < 90
    assert tones[30, 30] > 150


@pytest.mark.parametrize("harm", ["cut", "empty", "text"])
def test_a_damaged_picture_is_refused_with_a_sentence(harm: str, tmp_path: Path) -> None:
    path = tmp_path / "a.png"
    _picture().save(path)
    data = path.read_bytes()
    path.write_bytes({"cut": data[: len(data) // 2], "empty": b"", "text": b"hello"}[harm])
    with pytest.raises(UnreadableFile) as refusal:
        images.read_upright(path)
    assert refusal.value.problem.endswith("whole picture.")


def test_a_small_picture_is_cut_to_its_window_and_has_strong_contrast() -> None:
    faint = Image.new("L", (2000, 2000), 190)
    pen = ImageDraw.Draw(faint)
    pen.rectangle((900, 900, 1100, 1050), fill=150)
    made = images.thumbnail(faint, (800, 800, 1200, 1100))
    tones = np.asarray(Image.open(io.BytesIO(made.data)).convert("L"), dtype=float)
    assert (made.width, made.height) == images.THUMBNAIL_PX
    assert tones.max() - tones.min() > 200
    dark = tones < 60
    assert dark[:, :100].sum() == 0
    assert dark[180, 240]


def test_the_contrast_of_a_pale_photograph_is_lifted_without_lurid_colours() -> None:
    """What is near to one tone all over stays a pale brown, and does not become yellow and red."""
    pale = Image.new("RGB", (1200, 900), "#e9e2d2")
    ImageDraw.Draw(pale).rectangle((400, 300, 800, 600), fill="#d8cfbc")
    made = images.thumbnail(pale, (0, 0, 1200, 900), marks=False)
    shown = np.asarray(Image.open(io.BytesIO(made.data)).convert("RGB"), dtype=float)
    colourful = shown.max(axis=2) - shown.min(axis=2)
    assert colourful.max() < 2.5 * (0xD8 - 0xBC)
    within, about = shown[180, 240].mean(), shown[20, 20].mean()
    assert about - within > 1.5 * (0xE9 - 0xD8)


def test_small_holes_survive_being_made_small() -> None:
    sheet = Image.new("L", (2400, 1800), 235)
    pen = ImageDraw.Draw(sheet)
    for x in range(100, 2400, 100):
        for y in range(100, 1800, 100):
            pen.ellipse((x - 3, y - 3, x + 3, y + 3), fill=40)
    made = images.thumbnail(sheet, (0, 0, 2400, 1800))
    tones = np.asarray(Image.open(io.BytesIO(made.data)).convert("L"), dtype=float)
    assert tones[20, 20] < 0.6 * np.median(tones)


def test_turning_the_window_sets_a_tilted_line_upright() -> None:
    sheet = Image.new("L", (1200, 1200), 255)
    ImageDraw.Draw(sheet).line((600, 0, 600, 1200), fill=0, width=20)
    tilted = sheet.rotate(8, fillcolor=255)  # Pillow turns anticlockwise
    made = images.thumbnail(tilted, (400, 450, 800, 750), turn_deg=8)
    tones = np.asarray(Image.open(io.BytesIO(made.data)).convert("L"), dtype=float)
    dark = [np.flatnonzero(row < 100).mean() for row in tones]
    assert max(dark) - min(dark) < 3


def test_the_lace_on_a_sheet_is_found_by_its_marks() -> None:
    sheet = Image.new("RGB", (1600, 2200), "#cbb48a")
    sheet.paste(_picture((500, 1500)).resize((500, 1500)), (700, 300))
    left, top, right, bottom = images.find_lace(sheet)
    assert 680 <= left <= 760
    assert 280 <= top <= 360
    assert 1140 <= right <= 1220
    assert 1740 <= bottom <= 1820


def test_a_blank_sheet_is_shown_whole() -> None:
    assert images.find_lace(Image.new("L", (300, 200), 200)) == (0, 0, 300, 200)
