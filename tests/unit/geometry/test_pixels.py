"""Picture files of every kind become the same grey values, or a refusal with its reason."""

from __future__ import annotations

import io
import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

from archive.errors import UnreadableFile
from archive.geometry.reading.pixels import MOST_PIXELS, read_scan

GREY = np.linspace(0, 255, 48 * 64).reshape(48, 64).round().astype(np.uint8)


def saved(path: Path, picture: Image.Image, **options: object) -> Path:
    picture.save(path, **options)
    return path


def grey_of(path: Path) -> NDArray[np.float32]:
    return read_scan(path).grey


def test_grey_values_run_from_black_0_to_white_1(tmp_path: Path) -> None:
    grey = grey_of(saved(tmp_path / "a.png", Image.fromarray(GREY)))
    assert grey.shape == (48, 64)
    assert grey.dtype == np.float32
    np.testing.assert_allclose(grey, GREY / 255, atol=1e-6)


@pytest.mark.parametrize("name", ["a.bmp", "a.gif", "a.jp2", "a.pgm", "a.png", "a.tif", "a.webp"])
def test_every_format_without_loss_gives_the_same_values(tmp_path: Path, name: str) -> None:
    options = {"lossless": True} if name.endswith("webp") else {}
    scan = read_scan(saved(tmp_path / name, Image.fromarray(GREY), **options))
    assert scan.media_type.startswith("image/")
    np.testing.assert_allclose(scan.grey, GREY / 255, atol=1.5 / 255)


@pytest.mark.parametrize("mode", ["1", "P", "LA", "RGB", "RGBA", "CMYK", "YCbCr", "I", "F"])
def test_every_mode_keeps_black_black_and_white_white(tmp_path: Path, mode: str) -> None:
    halves = np.zeros((48, 64), dtype=np.uint8)
    halves[:, 32:] = 255
    picture = Image.fromarray(halves).convert(mode)
    name = "a.png" if mode in ("1", "P", "LA", "RGB", "RGBA") else "a.tif"
    grey = grey_of(saved(tmp_path / name, picture))
    assert np.all(grey[:, :32] < 0.01)
    assert np.all(grey[:, 32:] > 0.99)


def test_sixteen_bits_keep_their_finer_steps(tmp_path: Path) -> None:
    fine = np.linspace(1000, 1400, 48 * 64).reshape(48, 64).astype(np.uint16)
    for name in ("a.png", "a.tif"):
        grey = grey_of(saved(tmp_path / name, Image.fromarray(fine)))
        np.testing.assert_allclose(grey, fine / 65535, atol=1e-6)


def test_a_picture_of_numbers_without_a_known_white_is_spread_out(tmp_path: Path) -> None:
    numbers = np.full((48, 64), -3.0, dtype=np.float32)
    numbers[0, 0], numbers[1, 1] = 5.0, np.nan
    grey = grey_of(saved(tmp_path / "a.tif", Image.fromarray(numbers)))
    assert grey[0, 0] == 1.0
    assert grey[5, 5] == 0.0
    blank = np.full((48, 64), 7.0, dtype=np.float32)
    assert np.all(grey_of(saved(tmp_path / "b.tif", Image.fromarray(blank))) == 0)


def test_what_is_transparent_shows_white_paper(tmp_path: Path) -> None:
    clear = Image.new("RGBA", (64, 48), (0, 0, 0, 0))
    assert np.all(grey_of(saved(tmp_path / "a.png", clear)) == 1)
    half = Image.new("LA", (64, 48), (0, 128))
    np.testing.assert_allclose(grey_of(saved(tmp_path / "b.png", half)), 0.5, atol=0.01)
    palette = Image.new("RGB", (64, 48), "black").convert("P", palette=Image.Palette.ADAPTIVE)
    assert np.all(grey_of(saved(tmp_path / "c.png", palette, transparency=0)) == 1)


@pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.tif"])
def test_a_turned_camera_gives_an_upright_picture(tmp_path: Path, name: str) -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # turn a quarter clockwise to see it upright: Exif 2.32, tag Orientation
    grey = grey_of(saved(tmp_path / name, Image.fromarray(GREY), exif=exif))
    np.testing.assert_allclose(grey, np.rot90(GREY, -1) / 255, atol=0.02)


def test_a_file_of_several_pages_shows_its_first(tmp_path: Path) -> None:
    first, second = Image.fromarray(GREY), Image.new("L", (64, 48), 255)
    path = saved(tmp_path / "a.tif", first, save_all=True, append_images=[second])
    np.testing.assert_allclose(grey_of(path), GREY / 255, atol=1e-6)


@pytest.mark.parametrize(
    ("dpi", "px_per_mm"),
    [
        ((300, 300), 300 / 25.4),
        ((600, 600), 600 / 25.4),
        ((150, 150.1), 150.05 / 25.4),
        ((204, 98), 204 / 25.4),
        ((300, 306), 306 / 25.4),
        ((72, 72), None),
        ((96, 96), None),
        ((1, 1), None),
        ((9600, 9600), None),
        ((300, 72), None),
        ((1200, 100), None),
    ],
)
def test_only_a_resolution_that_can_be_one_is_believed(
    tmp_path: Path, dpi: tuple[float, float], px_per_mm: float | None
) -> None:
    found = read_scan(saved(tmp_path / "a.png", Image.fromarray(GREY), dpi=dpi)).px_per_mm
    assert found == (None if px_per_mm is None else pytest.approx(px_per_mm, rel=1e-3))


@pytest.mark.parametrize("orientation", [1, 6])
def test_pixels_that_are_longer_than_wide_are_drawn_out(tmp_path: Path, orientation: int) -> None:
    """204 by 98 to the inch is a telefax (ITU-T T.4); the stored rows may be columns (Exif)."""
    dots = np.full((400, 300), 255, np.uint8)
    for row, column in ((96, 60), (104, 240), (320, 150)):
        dots[row - 6 : row + 7, column - 6 : column + 7] = 0
    coarse = Image.fromarray(dots).resize((300, round(400 * 98 / 204)), Image.Resampling.BOX)
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / "a.tif"
    saved(path, coarse, dpi=(204, 98), exif=exif, format="TIFF")
    upright = dots if orientation == 1 else np.rot90(dots, -1)
    found = read_scan(path)
    assert found.px_per_mm == pytest.approx(204 / 25.4)
    assert found.grey.shape == upright.shape
    centres, expected = (
        ndimage.center_of_mass(1 - picture, *ndimage.label(picture < 0.5)[:1], index=[1, 2, 3])
        for picture in (found.grey, upright / 255)
    )
    np.testing.assert_allclose(centres, expected, atol=0.5)


def test_no_resolution_stays_unknown(tmp_path: Path) -> None:
    for name in ("a.png", "a.jpg", "a.tif"):
        assert read_scan(saved(tmp_path / name, Image.fromarray(GREY))).px_per_mm is None


def test_the_kind_of_file_is_told_by_its_bytes_not_its_name(tmp_path: Path) -> None:
    path = saved(tmp_path / "a.tif", Image.fromarray(GREY), format="PNG")
    assert read_scan(path).media_type == "image/png"


def refusal(path: Path) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read_scan(path)
    assert caught.value.advice
    return caught.value


def test_what_is_no_picture_is_refused_with_its_reason(tmp_path: Path) -> None:
    assert refusal(tmp_path).reason == "it is a folder"
    assert refusal(tmp_path / "none.png").reason == "there is no such file"
    (tmp_path / "empty.png").touch()
    assert refusal(tmp_path / "empty.png").reason == "the file is empty"
    (tmp_path / "text.png").write_text("point ground; picots", encoding="utf-8")
    assert refusal(tmp_path / "text.png").reason == "it is not a picture of a known kind"


def test_a_file_that_another_program_would_have_to_run_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.eps"
    path.write_text("%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 99 99\n", encoding="utf-8")
    assert refusal(path).reason == "it is not a picture of a known kind"


@pytest.mark.parametrize("size", [(1, 1), (31, 500), (500, 31)])
def test_a_picture_without_room_for_a_hole_is_refused(
    tmp_path: Path, size: tuple[int, int]
) -> None:
    reason = refusal(saved(tmp_path / "a.png", Image.new("L", size))).reason
    assert reason == f"it is only {size[0]} × {size[1]} pixels"


@pytest.mark.parametrize("side", [13_100, 65_000])
def test_a_picture_made_to_exhaust_the_machine_is_refused_unread(tmp_path: Path, side: int) -> None:
    assert side**2 > MOST_PIXELS
    header = struct.pack(">IIBBBBB", side, side, 8, 0, 0, 0, 0)
    path = tmp_path / "bomb.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", b""))
    assert refusal(path).reason == "it has more than 170 million pixels"


def chunk(kind: bytes, content: bytes) -> bytes:
    body = kind + content
    return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))


@pytest.mark.parametrize("kind", ["BMP", "GIF", "JPEG", "PNG", "PPM", "TIFF", "WEBP"])
def test_a_file_cut_off_anywhere_is_refused_or_read_but_never_a_crash(
    tmp_path: Path, kind: str
) -> None:
    whole = io.BytesIO()
    Image.fromarray(GREY).save(whole, kind)
    content = whole.getvalue()
    path = tmp_path / "cut"
    refused = 0
    for length in range(1, len(content), max(1, len(content) // 60)):
        path.write_bytes(content[:length])
        try:
            assert read_scan(path).grey.shape == (48, 64)
        except UnreadableFile:
            refused += 1
    assert refused > 40


@pytest.mark.parametrize("kind", ["BMP", "GIF", "JPEG", "JPEG2000", "PNG", "TIFF", "WEBP"])
def test_flipped_bytes_are_refused_or_read_but_never_a_crash(tmp_path: Path, kind: str) -> None:
    whole = io.BytesIO()
    Image.fromarray(GREY).save(whole, kind)
    rng = np.random.default_rng(7)
    for number in range(60):
        content = bytearray(whole.getvalue())
        for place in rng.integers(0, len(content), 1 + number % 5):
            content[place] = int(rng.integers(256))
        path = tmp_path / str(number)
        path.write_bytes(content)
        try:
            grey = read_scan(path).grey
        except UnreadableFile:
            continue
        assert np.isfinite(grey).all()
