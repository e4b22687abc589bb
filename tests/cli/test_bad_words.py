"""Words, fields, ranges and shelfmarks that there are not: the nearest ones are named."""

from pathlib import Path

import pytest

from tests.cli.running import refused, run, unchanged

FIELDS = "“prickings show SHELFMARK --json” names every field."
LISTED = "“prickings find” lists what there is."


@pytest.mark.parametrize(
    ("arguments", "code", "problem", "advice"),
    [
        (("show", "P 11"), 4, "No record has the shelfmark “P 11”.",
         "Did you mean “P 1” or “P 10”?"),
        (("show", "Q/77"), 4, "No record has the shelfmark “Q/77”.", LISTED),
        (("history", "P 11"), 4, "No record has the shelfmark “P 11”.",
         "Did you mean “P 1” or “P 10”?"),
        (("edit", "Q/77", "--set", "title=x"), 4, "No record has the shelfmark “Q/77”.", LISTED),
        (("measure", "Q 77"), 4, "No record has the shelfmark “Q 77”.", LISTED),
        (("measure", "P 1"), 4, "“P 1” has no pricking to measure.",
         "Attach a scan or a drawing with “prickings attach”."),
        (("find", "--technique", "honeycom"), 4,
         "“honeycom” is not a technique that prickings knows.",
         "Did you mean “honeycomb” or “honeycomb ring” or “isolated honeycomb stitch”?"),
        (("find", "--without-technique", "gimpp"), 4,
         "“gimpp” is not a technique that prickings knows.",
         "Did you mean “gimp” or “gimps crossed or doubled”?"),
        (("next", "picott"), 4, "“picott” is not a technique that prickings knows.",
         "Did you mean “picot” or “left and right picots” or “double (twisted) picot”?"),
        (("find", "--family", "torchn"), 4,
         "“torchn” is not a family of lace that prickings knows.", "Did you mean “torchon”?"),
        (("find", "--kind", "xyzzy"), 4, "“xyzzy” is not a kind of pattern that prickings knows.",
         "“prickings vocabulary” lists the words it knows."),
        (("vocabulary", "zzzz"), 4, "“zzzz” is not a word that prickings knows.",
         "“prickings vocabulary” lists the words it knows."),
        (("find", "--pairs", "many"), 2, "“many” is not a range of numbers.",
         "Write it as 10-20, -20 (at most), 10- (at least) or 18."),
        (("find", "--width", "30-20"), 2, "The range “30-20” ends below its beginning.",
         "Write the smaller number first."),
        (("find", "--thread", "60/2 linen"), 2,
         "“60/2 linen” does not say how thick the thread is.",
         "Add the numbering system, for example “80/2 NeL” for linen or “80/2 Ne” for cotton. "
         "Or count its wraps on a ruler and give --wraps."),
        (("find", "--sort", "colour"), 2,
         "Invalid value for '--sort': 'colour' is not one of 'fit', 'shelfmark', 'title', "
         "'difficulty', 'pairs', 'width'.",
         "“prickings find --help” shows how it is used."),
        (("edit", "P 1", "--set", "titel=x"), 2, "Records have no field called “titel”.",
         "Did you mean “title” or “other_titles” or “source.title”?"),
        (("edit", "P 1", "--set", "zzzz=x"), 2, "Records have no field called “zzzz”.", FIELDS),
        (("edit", "P 1", "--set", "title"), 2,
         "“title” does not say what the field shall be.",
         "Write it as FIELD=VALUE, for example --set title=Bracken."),
        (("edit", "P 1"), 2, "Say what to change.",
         "Give fields with --set FIELD=VALUE, or an earlier state with --back-to N."),
        (("edit", "P 1", "--back-to", "1", "--set", "title=x"), 2, "Say what to change.",
         "Give fields with --set FIELD=VALUE, or an earlier state with --back-to N."),
        (("edit", "P 1", "--back-to", "7"), 4, "The record “P 1” has no change 7.",
         "Its changes are numbered from 1 to 1; “prickings history” lists them."),
        (("edit", "P 1", "--back-to", "0"), 2,
         "Invalid value for '--back-to': 0 is not in the range x>=1.",
         "“prickings edit --help” shows how it is used."),
        (("edit", "P 1", "--set", "shelfmark=P 9"), 3,
         "A shelfmark cannot be changed, since boxes and sheets carry it.",
         "Add a record under the new shelfmark and relate the two."),
        (("edit", "P 1", "--set", "difficulty.level=9"), 3,
         "The record “P 1” is not valid: difficulty.level: must be 5 or less.",
         "Correct the named fields and try again; nothing has been changed."),
        (("edit", "P 1", "--set", "corner=perhaps"), 3, "corner: “perhaps” is not understood.",
         "This is neither yes nor no. Write “yes” or “no”."),
        (("edit", "P 1", "--set", "related=companion to P 10"), 3,
         "related: it is not clear what kind of companion “P 10” is.",
         "Write “companion edging P 10” or “companion insertion P 10”."),
        (("add",), 2, "A new record needs a shelfmark.",
         "Give it with --shelfmark, or name a YAML or JSON file that says it."),
        (("add", "--shelfmark", "P 1"), 3, "There is a record “P 1” already.",
         "Choose another shelfmark, or change that record with “prickings edit”."),
        (("measure",), 2, "Say what to measure: a file, a shelfmark, or --all.",
         "For example “prickings measure sheet.png” or “prickings measure --all”."),
        (("measure", "T 1", "--dpi", "300"), 2, "--dpi is for a file that belongs to no record.",
         "Give a record's sheet its resolution with “prickings attach … --dpi N”."),
        (("next",), 2, "Say which techniques you have learnt.",
         'For example “prickings next picot "honeycomb ring"”; “prickings vocabulary” lists them '
         "all."),
        (("find", "--thread", "80/2 NeL", "--wraps", "25-32"), 2,
         "--thread and --wraps both say how thick the thread is.", "Give one of the two."),
        (("publish",), 2, "Missing option '--into'.",
         "“prickings publish --help” shows how it is used."),
        (("frobnicate",), 2, "No such command 'frobnicate'.",
         "“prickings --help” shows how it is used."),
    ],
)  # fmt: skip
def test_what_there_is_not_is_named_with_the_way_on(
    guild: Path,
    monkeypatch: pytest.MonkeyPatch,
    arguments: tuple[str, ...],
    code: int,
    problem: str,
    advice: str,
) -> None:
    monkeypatch.setenv("PRICKINGS_COLLECTION", str(guild))
    with unchanged(Path()):
        refused(run(*arguments), code, problem, advice)


def test_an_unknown_technique_of_a_new_record_names_the_nearest(guild: Path) -> None:
    with unchanged(guild):
        told = run("add", "--shelfmark", "P 5", "--technique", "honeycom",
                   "--collection", str(guild))  # fmt: skip
    assert (told.code, told.out) == (3, "")
    problem, advice = told.err.splitlines()
    assert problem == "techniques: “honeycom” is not understood."
    assert "“honeycomb” or “honeycomb ring”" in advice


def test_an_unknown_family_that_is_like_none_names_them_all(guild: Path) -> None:
    told = run("add", "--shelfmark", "P 5", "--family", "xyzzy", "--collection", str(guild))
    assert told.code == 3
    assert "Write one of: torchon, point ground, Bucks point, " in told.err.splitlines()[1]
