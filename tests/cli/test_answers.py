"""The main answers, written out whole as people read them."""

import json
import re
from pathlib import Path

from tests.cli.conftest import LIST, draw_sheet
from tests.cli.running import run


def answer(*arguments: str, code: int = 0) -> str:
    """What the command prints, if it ends with `code` and complains of nothing."""
    told = run(*arguments)
    assert (told.code, told.err) == (code, "")
    return told.out


def test_new_says_where_the_settings_are() -> None:
    settings = Path("ours") / "collection.toml"
    assert answer("new", "ours", "--name", "Our prickings") == (
        "Started the collection “Our prickings” in “ours”.\n"
        f"Its settings are in “{settings}”; open it with any editor.\n"
    )
    assert 'name = "Our prickings"' in settings.read_text(encoding="utf-8")


def test_a_dry_run_says_what_an_import_would_do() -> None:
    answer("new", "ours")
    Path("list.csv").write_text(LIST, encoding="utf-8")
    assert (
        answer("import", "list.csv", "--dry-run", "--collection", "ours", code=1)
        == """\
Read 5 rows: 5 would be added, 0 would be changed, 0 unchanged, 0 refused.

1 thing to look at; the words are kept:
  row 3, P 2, “Thread”: cotton 50
      The thread's label leaves something open. Add the plies and the numbering system if you \
know them; a maker's number alone does not say how thick the thread is.
"""
    )


def test_what_stands_in_several_rows_is_told_once_with_all_of_them() -> None:
    answer("new", "ours")
    rows = [f"P {row},{'5 ells' if row < 5 else '3 ells'}" for row in range(2, 13)]
    Path("list.csv").write_text("\n".join(["Shelfmark,Width", *rows]), encoding="utf-8")
    said = answer("import", "list.csv", "--collection", "ours", code=1)
    advice = (
        "No size can be read from this. Write it like “25 mm”, “2.5 cm”, “1 in” or “25 x 40 mm”."
    )
    assert said == (
        "Read 11 rows: 11 added, 0 changed, 0 unchanged, 0 refused.\n"
        "\n2 things to look at; the words are kept:\n"
        f"  rows 2, 3 and 4, “Width”: 5 ells\n      {advice}\n"
        f"  rows 5, 6, 7, 8, 9 and 3 more, “Width”: 3 ells\n      {advice}\n"
    )


def test_import_tells_of_refused_rows_and_keeps_them_where_it_is_told_to(guild: Path) -> None:
    Path("more.csv").write_text(
        "Shelfmark,Title\nP 3,Moss\nP 3,Fern\n,Nameless\n", encoding="utf-8"
    )
    arguments = ("import", "more.csv", "--collection", "guild", "--refused", "mend.csv")
    assert (
        answer(*arguments, code=1)
        == """\
Read 3 rows: 1 added, 0 changed, 0 unchanged, 2 refused.

Refused:
  row 3, P 3: Row 2 has the same shelfmark and says something else.
  row 4, no shelfmark: The row has no shelfmark.

The refused rows are in “mend.csv”: mend them there and import that file.
"""
    )
    assert Path("mend.csv").read_text(encoding="utf-8-sig") == (
        "Shelfmark,Title,Reason refused\n"
        "P 3,Fern,Row 2 has the same shelfmark and says something else.\n"
        ",Nameless,The row has no shelfmark.\n"
    )
    assert guild.is_dir()


def test_show_tells_everything_that_is_known_of_a_record(guild: Path) -> None:
    answer("edit", "P 2", "--collection", str(guild),
           "--set", "source=Leaves of a Notebook, p. 12",
           "--set", "related=companion insertion P 10",
           "--set", "rights.design=CC BY; holder A. Fern",
           "--set", "working_notes=Hang in at the top.\nMind: the gimp turns twice.",
           "--set", "corrections=2024-05-01: one hole is missing: prick it",
           "--set", "internal.donor=a member")  # fmt: skip
    assert (
        answer("show", "P 2", "--collection", str(guild))
        == """\
P 2  Kestrel
family               Bucks point
kind                 edging
taught               honeycomb ring
practised            point ground, gimp
pairs                24 (+6 for the corner) stated
gimps                2 single
thread               cotton 50
difficulty           3 of 5, middling
width                35.0 mm
designer             A. Fern
source               Leaves of a Notebook, p. 12
companion insertion  P 10
rights, design       CC BY 4.0, A. Fern. Free to copy and change, naming the maker.
place (internal)     Box 12
donor (internal)     a member

CORRECTION (2024-05-01): one hole is missing: prick it

Working notes
  1. Hang in at the top.
  2. Easily wrong: the gimp turns twice.
"""
    )


def test_a_right_that_nobody_has_looked_into_is_said_to_be_unknown(guild: Path) -> None:
    assert "rights            Nobody has looked into them: ask before copying.\n" in answer(
        "show", "T 1", "--collection", str(guild)
    )


def test_find_shows_a_table(guild: Path) -> None:
    asked = ("find", "--technique", "ground", "--pairs", "-20", "--collection", str(guild))
    assert (
        answer(*asked)
        == """\
3 patterns

shelfmark  title     pairs  level  found in
─────────  ────────  ─────  ─────  ──────────────────────
P 1        Bracken   18     2      ground: point ground
T 1        Gatepost  12     1      ground: torchon ground
T 2        Wicket    11     2      ground: rose ground
"""
    )


def test_find_counts_what_it_found(guild: Path) -> None:
    assert (
        answer("find", "Fern", "--facets", "--limit", "1", "--collection", str(guild))
        == """\
2 patterns, the first shown

shelfmark  title    pairs  level  found in
─────────  ───────  ─────  ─────  ──────────────
P 1        Bracken  18     2      designer: fern

technique  ground 2, point ground 2, gimp 1, honeycomb 1, honeycomb ring 1, picot 1
family     point ground 2, Bucks point 2
kind       edging 2
level      easy 1, middling 1
pairs      11 to 20 pairs 1, 21 to 30 pairs 1
corner     without a corner 1
gimp       with a gimp 1, without a gimp 1
pricking   without a pricking 2
"""
    )


def test_find_asks_what_was_meant_where_nothing_is_found(guild: Path) -> None:
    assert answer("find", "spyder", "--collection", str(guild)) == (
        "Nothing found.\nDid you mean “spider”?\n"
        "Pairs, level, width and more are asked with options, such as --pairs -20: “prickings "
        "find --help” lists them.\n"
    )


def test_next_names_what_opens_up_and_the_patterns_for_it(guild: Path) -> None:
    told = answer("next", "honeycomb rings", "--collection", str(guild))
    assert "pin chain" in told.splitlines()[0]
    assert told.endswith("""\

shelfmark  title    new    pairs  difficulty
─────────  ───────  ─────  ─────  ────────────
P 1        Bracken  picot  18     2 of 5, easy
""")


def test_history_lists_the_changes(guild: Path) -> None:
    answer("edit", "P 1", "--set", "title=Bracken Edge", "--set", "pairs=19",
           "--collection", str(guild))  # fmt: skip
    told = answer("edit", "P 1", "--back-to", "1", "--collection", str(guild))
    assert told == "“P 1” is again as it was after change 1.\n"
    told = answer("history", "P 1", "--collection", str(guild))
    fields = (
        "shelfmark, title, families, kind, techniques, pairs, gimps, threads, difficulty, size, "
        "corner, designer, internal"
    )
    assert re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d", "yyyy-mm-dd hh:mm", told) == (
        "change  when (UTC)        how       fields\n"
        f"──────  ────────────────  ────────  {'─' * len(fields)}\n"
        f"1       yyyy-mm-dd hh:mm  imported  {fields}\n"
        "2       yyyy-mm-dd hh:mm  edited    title, pairs\n"
        "3       yyyy-mm-dd hh:mm  put back  title, pairs\n"
    )


def test_add_takes_options_as_people_write_them(guild: Path) -> None:
    told = answer(
        "add", "--shelfmark", "L 1", "--title", "Lantern", "--family", "Bedfordshire",
        "--kind", "edging", "--teaches", "plaits", "--technique", "picots",
        "--pairs", "24 (+6 corner)", "--thread", "80/2 NeL", "--difficulty", "hard",
        "--width", "2,5 cm",
        "--set", "internal.location=Box 7", "--collection", str(guild))  # fmt: skip
    assert told == "Added “L 1”, Lantern.\n"
    assert (
        answer("show", "l1", "--collection", str(guild))
        == """\
L 1  Lantern
family            Bedfordshire
kind              edging
taught            plait
practised         picot
pairs             24 (+6 for the corner) stated
thread            80/2 NeL
difficulty        4 of 5, hard
width             25.0 mm
designer          unknown
rights            Nobody has looked into them: ask before copying.
place (internal)  Box 7
"""
    )


def test_add_reads_yaml_as_it_is_written(guild: Path) -> None:
    """A page 012 is not the number 10, and words stand for a field as in a list."""
    Path("l2.yaml").write_text(
        "shelfmark: 12\ntitle: 1.10\nfamilies: Bucks point; Lille\npairs: 18 + 2 gimps\n"
        "techniques:\n- {technique: picot, role: taught}\nsource: {title: Notes, page: 012}\n"
        "size: {width_mm: 25}\ncorner: yes\n",
        encoding="utf-8",
    )
    assert answer("add", "l2.yaml", "--collection", str(guild)) == "Added “12”, 1.10.\n"
    record = run("show", "12", "--json", "--collection", str(guild)).json
    assert record["source"]["page"] == "012"
    assert record["families"] == ["bucks", "lille"]
    assert record["pairs"]["stated"]["most"] == 18
    assert record["gimps"] == {"singles": 2, "pairs": 0}
    assert record["techniques"] == [{"technique": "picot", "role": "taught"}]
    assert record["size"]["width_mm"] == 25
    assert record["corner"] is True


def test_what_show_prints_as_json_can_be_added_elsewhere(guild: Path) -> None:
    record = run("show", "P 2", "--json", "--collection", str(guild)).json
    for hanging_on in ("attachments", "measured"):
        del record[hanging_on]
    answer("new", "other")
    Path("p2.json").write_text(json.dumps(record), encoding="utf-8")
    assert answer("add", "p2.json", "--collection", "other") == "Added “P 2”, Kestrel.\n"
    again = run("show", "P 2", "--json", "--collection", "other").json
    assert {**again, "attachments": None, "measured": None} == {
        **record, "attachments": None, "measured": None
    }  # fmt: skip


def test_edit_changes_a_part_of_a_list_and_leaves_the_others(guild: Path) -> None:
    told = answer("edit", "P 2", "--set", "techniques.taught=picots; gimp",
                  "--set", "size.width_mm=36", "--collection", str(guild))  # fmt: skip
    assert told == "Changed “P 2”, Kestrel.\n"
    shown = answer("show", "P 2", "--collection", str(guild))
    assert "taught            picot, gimp\n" in shown
    assert "practised         point ground\n" in shown
    assert "width             36.0 mm\n" in shown


def test_edit_says_when_a_field_says_so_already(guild: Path) -> None:
    told = answer("edit", "P 2", "--set", "title=Kestrel", "--collection", str(guild))
    assert told == "Nothing to change in “P 2”, Kestrel.\n"
    assert len(run("history", "P 2", "--json", "--collection", str(guild)).json) == 1


def test_attach_says_what_it_stored(guild: Path) -> None:
    draw_sheet(Path("p1.svg"))
    assert answer("attach", "p1", "p1.svg", "--collection", str(guild)) == (
        "Stored “p1.svg” with “P 1” as pricking.\n"
    )


def test_attach_says_what_is_there_already_and_leaves_what_is_not_said(guild: Path) -> None:
    draw_sheet(Path("p1.svg"))
    answer("attach", "P 1", "p1.svg", "--role", "working diagram", "--collection", str(guild))
    Path("p1.svg").rename("copy.svg")
    assert answer("attach", "P 1", "copy.svg", "--caption", "x", "--collection", str(guild)) == (
        "“copy.svg” is with “P 1” already: “p1.svg”, as working diagram.\n"
    )
    (kept,) = run("show", "P 1", "--json", "--collection", str(guild)).json["attachments"]
    assert (kept["role"], kept["caption"]) == ("working diagram", "x")


def test_find_says_how_to_go_on_when_it_finds_nothing(guild: Path) -> None:
    assert answer("find", "Bracken", "18", "pairs", "--collection", str(guild)) == (
        "Nothing found.\n1 pattern with 1 of the 3 words.\n"
        "Pairs, level, width and more are asked with options, such as --pairs -20: “prickings "
        "find --help” lists them.\n"
    )
    assert answer("find", "--width", "99", "--collection", str(guild)) == (
        "Nothing found.\nA pattern of which something you ask for is not known is not found: ask "
        "for less to see more.\n"
    )


def test_measure_tells_units_and_estimates_apart() -> None:
    draw_sheet(Path("strip.svg"))
    told = answer("measure", "strip.svg", "--overlay", "found.svg")
    assert told.startswith("""\
pinholes  210
scale     from the drawing's own units
size      12.0 mm wide, 118.0 mm long
footside  on both sides, 60 pins, one every 4.00 mm; one of them may be a straight
          headside, which the pins do not tell: if you know, say it with --foot
ground    45.00° from the footside (± 0.01°), pitch 4.00 mm; 100% of the pins stand on
          it
areas     1 full net
repeat    4.0 mm, 1 row, 7 pins, 30 on the sheet
symmetry  mirrored across and along the lace; the same when turned by half (p2mm)
pairs     about 8, between 7 and 9.""")
    assert "estimate, not a count." in told.replace("\n          ", " ")
    assert told.endswith("\n\nWhat was found is drawn over the sheet in “found.svg”.\n")
    assert Path("found.svg").read_text(encoding="utf-8").startswith("<")


def test_measure_all_says_what_it_did(guild: Path) -> None:
    asked = ("measure", "--all", "--collection", str(guild))
    assert answer(*asked) == "Measured 1 sheet; 0 measured before.\n"
    assert answer(*asked) == "Measured 0 sheets; 1 measured before.\n"


def test_publish_says_which_file_to_open(guild: Path) -> None:
    first = answer("publish", "--into", "site", "--collection", str(guild))
    page = Path("site") / "index.html"
    assert re.sub(r"\d+", "N", first) == (
        f"Published N pages and N pictures into “site”; N files new or changed.\n"
        "\nN picture held back:\n"
        "  T N: nobody has looked into the rights in the design\n"
        "      Nothing to do, unless you know more: “prickings edit SHELFMARK --set "
        '"rights.design=CC BY N.N"” records it, and rights.pricking and rights.photograph '
        "are set in the same way.\n"
        f"\nOpen “{page}” in any browser.\n"
    )
    assert page.is_file()
    again = answer("publish", "--into", "site", "--collection", str(guild))
    assert "into “site”; 0 files new or changed." in again


def test_vocabulary_finds_a_word_in_any_language() -> None:
    assert (
        answer("vocabulary", "Halbschlag")
        == """\
half stitch
            Cross, twist: only one thread of each pair travels on, giving a lattice of
            slanting threads.
also        lattice stitch, net passing, half passing
French      grille, grillé, demi-point
German      Halbschlag, Netzschlag (the area)
Dutch       netslag, halve slag
Danish      halvslag
Italian     mezzo punto
know first  cross, twist
"""
    )


def test_vocabulary_says_which_languages_it_knows_no_name_in() -> None:
    assert (
        answer("vocabulary", "nook pin")
        == """\
nook pin
                  Pin in the angle between two headside scallops.
also              valley pin
no name known in  French, German, Dutch, Danish, Italian
know first        headside, picot
"""
    )


def test_vocabulary_without_a_word_lists_them_all() -> None:
    told = answer("vocabulary")
    assert re.search(r"^half stitch +Cross, twist: only one thread", told, re.MULTILINE)
    families, kinds = told.splitlines()[-2:]
    assert families.startswith("Families of lace: torchon, point ground, Bucks point, ")
    assert kinds.startswith("Kinds of pattern: edging, edging with a corner, insertion, ")
