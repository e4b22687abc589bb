"""Files that are no pictures, or broken ones: measured, attached, and already stored."""

import pickle
import random
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from archive.errors import CollectionDamaged, InvalidRecord, UnknownShelfmark, UnreadableFile
from tests.cli.conftest import draw_sheet
from tests.cli.running import not_as_root, refused, run, unchanged

SAVE_AGAIN = "Open it in a picture program and save it as PNG or TIFF, or scan the sheet again."
KEPT_ALL_THE_SAME = " With “--role other” any file is kept as it is."


DRAW_AGAIN = "Save it from the drawing program as SVG or PDF."
SEND_AGAIN = "Send or save it from the telephone as JPEG, or open it and save it as PNG."


def begins(first_bytes: bytes) -> Callable[[Path], object]:
    return lambda path: path.write_bytes(first_bytes)


def scan(path: Path) -> Path:
    picture = Image.effect_noise((300, 300), 90)
    picture.save(path)
    return path


def text(path: Path) -> None:
    path.write_text("Dear guild, here is the pricking.\n", encoding="utf-8")


def noise(path: Path) -> None:
    path.write_bytes(random.Random(1).randbytes(5000))


def one_pixel(path: Path) -> None:
    Image.new("L", (1, 1)).save(path)


def truncated(path: Path) -> None:
    whole = scan(path).read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


PICTURES: list[tuple[str, Callable[[Path], object], str, str]] = [
    ("letter.png", text, "it is not a picture of a known kind", SAVE_AGAIN),
    ("noise.png", noise, "it is not a picture of a known kind", SAVE_AGAIN),
    ("half.png", truncated, "the picture is damaged or breaks off", SAVE_AGAIN),
    ("half.jpg", truncated, "the picture is damaged or breaks off", SAVE_AGAIN),
    ("dot.png", one_pixel, "it is only 1 × 1 pixels", "Scan the sheet with 300 dots per inch."),
    ("letter.svg", text, "it is not a picture of a known kind", SAVE_AGAIN),
    ("fan.dxf", begins(b"  0\r\nSECTION\r\n  2\r\nHEADER"), "it is a DXF drawing", DRAW_AGAIN),
    ("fan.eps", begins(b"%!PS-Adobe-3.0 EPSF-3.0\n"), "it is a PostScript drawing", DRAW_AGAIN),
    ("fan.heic", begins(b"\0\0\0\x18ftypheic\0\0\0\0"), "it is a HEIC photograph", SEND_AGAIN),
    ("fan.avif", begins(b"\0\0\0\x18ftypavif\0\0\0\0"), "it is an AVIF photograph", SEND_AGAIN),
    (
        "fan.docx",
        begins(b"PK\x03\x04\x14\0\x06\0"),
        "it is a document of another program, or a packed folder",
        "Save it from its program as PDF; unpack a packed folder first.",
    ),
]
"""File, its content, why it is refused, what to do. First bytes of HEIC and AVIF: ISO/IEC 14496-12,
the file type box; of the others: common practice, no source."""


@pytest.mark.parametrize(("name", "make", "reason", "advice"), PICTURES)
def test_what_is_no_whole_picture_is_refused(
    guild: Path, name: str, make: Callable[[Path], object], reason: str, advice: str
) -> None:
    """Measured from the disk, or attached as a sheet: the same reason, and nothing changed."""
    make(Path(name))
    problem = f"“{name}” cannot be read: {reason}."
    with unchanged(Path()):
        refused(run("measure", name), 3, problem, advice)
        told = run("attach", "P 1", name, "--collection", str(guild))
        refused(told, 3, problem, advice + KEPT_ALL_THE_SAME)


@pytest.mark.parametrize("command", [("measure",), ("attach", "P 1")])
def test_an_empty_file_a_folder_and_a_missing_one_are_refused(
    guild: Path, command: tuple[str, ...]
) -> None:
    Path("empty.png").touch()
    Path("folder.png").mkdir()
    with unchanged(Path()):
        for name, reason in (
            ("empty.png", "it is empty"),
            ("folder.png", "it is a folder"),
            ("missing.png", "there is no such file"),
        ):
            told = run(*command, name, "--collection", str(guild))
            assert (told.code, told.out) == (3, "")
            problem, advice = told.err.splitlines()
            assert problem == f"“{name}” cannot be read: {reason}."
            assert advice.endswith(".")


def test_a_wrong_ending_is_no_hindrance(guild: Path) -> None:
    """What a file is shows in its bytes; its name is kept as it came."""
    draw_sheet(Path("strip.png"))
    assert run("measure", "strip.png", "--json").json["pins"]["count"] == 210
    assert run("attach", "P 1", "strip.png", "--collection", str(guild)).code == 0
    record = run("show", "P 1", "--json", "--collection", str(guild)).json
    assert record["attachments"][0]["media_type"] == "image/svg+xml"
    assert record["attachments"][0]["file_name"] == "strip.png"


def test_a_photograph_must_be_a_picture_and_any_file_is_kept_in_the_role_other(guild: Path) -> None:
    text(Path("letter.png"))
    told = run("attach", "P 1", "letter.png", "--role", "photograph", "--collection", str(guild))
    assert told.code == 3
    told = run("attach", "P 1", "letter.png", "--role", "other", "--collection", str(guild))
    assert (told.code, told.out) == (0, "Stored “letter.png” with “P 1” as other.\n")


@not_as_root
@pytest.mark.parametrize("command", [("measure",), ("attach", "P 1")])
def test_a_file_that_may_not_be_read_is_refused(guild: Path, command: tuple[str, ...]) -> None:
    scan(Path("sheet.png")).chmod(0o000)
    with unchanged(guild):
        told = run(*command, "sheet.png", "--collection", str(guild))
    assert (told.code, told.out) == (3, "")
    problem, advice = told.err.splitlines()
    assert problem.startswith("“sheet.png” cannot be read: permission ")
    assert advice


def test_one_broken_sheet_does_not_keep_the_others_from_being_measured(guild: Path) -> None:
    """It was whole when it was attached; then its disk lost a part of it."""
    Image.new("L", (400, 300), 255).save("P 10.png")
    assert run("attach", "P 10", "P 10.png", "--collection", str(guild)).code == 0
    record = run("show", "P 10", "--json", "--collection", str(guild)).json
    stored = next((guild / "files").rglob(f"{record['attachments'][0]['sha256']}*"))
    stored.write_bytes(stored.read_bytes()[:100])
    told = run("measure", "--all", "--json", "--collection", str(guild))
    assert (told.code, told.err) == (1, "")
    problem = f"“{stored}” is damaged: its content is not what it was when it was stored."
    assert told.json == {
        "measured": 1,
        "current": 0,
        "findings": [
            {
                "code": "not-measured",
                "shelfmark": "P 10",
                "found": problem,
                "advice": "Leave the folder as it is and work on from your last backup.",
                "row": None,
                "column": None,
            }
        ],
    }
    refused(
        run("measure", "P 10", "--collection", str(guild)),
        5,
        problem,
        "Leave the folder as it is and work on from your last backup.",
    )
    stored.unlink()
    refused(
        run("measure", "P 10", "--collection", str(guild)),
        5,
        f"“{stored}” is damaged: it is not there any more.",
        "Leave the folder as it is and work on from your last backup.",
    )


def test_an_error_crosses_from_the_measuring_process_whole() -> None:
    """Else the process that measures would seem to have died of it."""
    for error in (
        UnreadableFile("p1.png", "it is empty", "Scan it again."),
        CollectionDamaged(Path("p1.png"), "it is not there any more"),
        UnknownShelfmark("P 1", ["P 2"]),
        InvalidRecord("P 1", [("kind", "is not known")]),
    ):
        again = pickle.loads(pickle.dumps(error))
        assert type(again) is type(error)
        assert (again.problem, again.advice) == (error.problem, error.advice)
        assert vars(again) == vars(error)


def test_an_overlay_never_takes_the_place_of_its_sheet() -> None:
    scan(Path("sheet.png"))
    with unchanged(Path()):
        told = run("measure", "sheet.png", "--overlay", "sheet.png")
    assert (told.code, told.err) == (
        2,
        "The overlay would take the place of the sheet “sheet.png” itself.\n"
        "Give it a name of its own; nothing has been changed.\n",
    )


@pytest.mark.parametrize(
    ("out", "code", "problem", "advice"),
    [
        ("found.pdf", 2, "An overlay cannot be written as “found.pdf”.",
         "Let its name end in .svg or .png."),
        ("missing/found.svg", 6,
         "“missing/found.svg” cannot be written: the folder it should go into is not there.",
         "Choose another name or place, or make the missing folder first; nothing already saved "
         "is lost."),
    ],
)  # fmt: skip
def test_what_was_found_is_told_although_its_overlay_cannot_be_written(
    out: str, code: int, problem: str, advice: str
) -> None:
    draw_sheet(Path("strip.svg"))
    with unchanged(Path()):
        told = run("measure", "strip.svg", "--overlay", str(Path(out)))
    assert (told.code, told.err) == (code, f"{problem}\n{advice}\n".replace(out, str(Path(out))))
    assert told.out.startswith("pinholes  210\n")


def test_a_sheet_without_pinholes_is_told_with_what_to_do() -> None:
    Image.new("L", (300, 300), 255).save("white.png")
    assert run("measure", "white.png").out == (
        "pinholes  none found. If there are some, scan the sheet again, sharp and with 300 dots\n"
        "          per inch or more.\n"
    )
