"""`prickings check`: what disagrees is told kindly, with both values, and nothing is changed."""

from pathlib import Path

from tests.cli.running import run, unchanged
from tests.strategies_geometry import ground_patch


def test_a_sheet_that_is_not_measured_is_told(guild: Path) -> None:
    told = run("check", "--collection", str(guild))
    assert (told.code, told.err) == (1, "")
    assert told.out == (
        "Checked 5 records; 1 with a pricking.\n\n"
        "Please look at these; the record or the measurement may be right:\n"
        "  T 1: “t1.svg” has not been measured as it stands now, so nothing was compared with it.\n"
        "      Measure it with “prickings measure --all”.\n"
    )


def test_both_values_are_told(guild: Path) -> None:
    """The list says 12 pairs and a corner; the sheet is a straight strip for some 8 pairs."""
    run("measure", "T 1", "--collection", str(guild))
    with unchanged(guild):
        told = run("check", "t1", "--collection", str(guild), "--json")
    assert told.code == 1
    assert told.json["records"] == told.json["with_sheet"] == 1
    found = {finding["code"]: finding for finding in told.json["findings"]}
    assert found.keys() == {"pairs-differ", "corner-not-seen"}
    assert found["pairs-differ"]["shelfmark"] == "T 1"
    assert found["pairs-differ"]["found"].startswith(
        "12 pairs are stated; by its pins the sheet needs between 7 and 9."
    )


def test_a_record_that_agrees_with_its_sheet_is_done(guild: Path) -> None:
    collection = ("--collection", str(guild))
    run("measure", "T 1", *collection)
    for field in ("pairs=8", "corner=no", "kind=edging", "size.width_mm=12"):
        assert run("edit", "T 1", "--set", field, *collection).code == 0
    told = run("check", *collection)
    assert (told.code, told.err) == (0, "")
    assert told.out == (
        "Checked 5 records; 1 with a pricking.\n"
        "What the records state and what was measured agree.\n"
    )


def test_a_sheet_photographed_at_a_slant_is_told_with_what_to_do(guild: Path) -> None:
    flat = ground_patch(58, 2.0, 14, 40) + 8
    seen = flat / (1 - flat[:, 1:] * 0.0004)
    dots = "".join(f'<circle cx="{x}" cy="{y}" r=".3"/>' for x, y in seen)
    Path("slant.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="110mm" '
        f'viewBox="0 0 50 110">{dots}</svg>',
        encoding="utf-8",
    )
    collection = ("--collection", str(guild))
    run("attach", "P 1", "slant.svg", *collection)
    run("measure", "P 1", *collection)
    findings = run("check", "P 1", "--json", *collection).json["findings"]
    (bent,) = [finding for finding in findings if finding["code"] == "sheet-bent"]
    assert bent["found"].startswith("“slant.svg” is photographed at a slant: it shows things up to")
    assert "lay it flat and scan it again" in bent["advice"]


def test_a_record_without_a_sheet_has_nothing_to_check(guild: Path) -> None:
    told = run("check", "P 1", "--collection", str(guild))
    assert (told.code, told.out) == (0, "Checked 1 record; 0 with a pricking.\n")


def test_how_far_they_may_differ_is_set_in_the_collection(guild: Path) -> None:
    collection = ("--collection", str(guild))
    run("measure", "T 1", *collection)
    for field in ("pairs=8", "corner=no", "kind=edging", "size.width_mm=15"):
        run("edit", "T 1", "--set", field, *collection)
    assert "15 mm wide; the pins are 12.0 mm" in run("check", *collection).out
    settings = guild / "collection.toml"
    text = settings.read_text(encoding="utf-8")
    assert "width_percent = 10" in text
    settings.write_text(text.replace("width_percent = 10", "width_percent = 25"), encoding="utf-8")
    assert run("check", *collection).code == 0


def test_an_unknown_shelfmark_is_no_such_thing(guild: Path) -> None:
    told = run("check", "T 99", "--collection", str(guild))
    assert (told.code, told.out) == (4, "")
