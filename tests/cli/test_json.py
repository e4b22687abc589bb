"""Every answer for programs: whole JSON on stdout and nothing else."""

import json
from pathlib import Path
from typing import Any

import click
import pytest
from jsonschema import Draft202012Validator

from archive.cli import prickings
from archive.cli.commands import COMMANDS
from archive.resources import SCHEMA
from tests.cli.conftest import draw_sheet
from tests.cli.running import run

ONLY_CONFIRM = {"new", "add", "edit", "attach"}
"""Commands that change something and say so; all others report."""


def answer(*arguments: str, code: int = 0) -> Any:
    told = run(*arguments, "--json")
    assert (told.code, told.err) == (code, "")
    return told.json


@pytest.mark.parametrize("name", [name for name in COMMANDS if name not in ONLY_CONFIRM])
def test_every_command_that_reports_takes_json(name: str) -> None:
    command = prickings.get_command(click.Context(prickings), name)
    assert command is not None
    assert "as_json" in {parameter.name for parameter in command.params}


def test_a_record_is_as_the_published_schema_describes_it(guild: Path) -> None:
    run("measure", "T 1", "--collection", str(guild))
    schema = json.loads((SCHEMA / "record.schema.json").read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    for shelfmark in ("P 1", "P 2", "P 10", "T 1", "T 2"):
        record = answer("show", shelfmark, "--collection", str(guild))
        Draft202012Validator(schema).validate(record)
        assert record["shelfmark"] == shelfmark
        assert (record["measured"] is not None) == (shelfmark == "T 1")


def test_the_schema_refuses_what_is_no_record(guild: Path) -> None:
    schema = json.loads((SCHEMA / "record.schema.json").read_text(encoding="utf-8"))
    record = answer("show", "P 1", "--collection", str(guild))
    assert not Draft202012Validator(schema).is_valid({**record, "size": {"width_mm": -1}})
    assert not Draft202012Validator(schema).is_valid({**record, "shelfmark": None})


def test_find_gives_what_was_found_and_why(guild: Path) -> None:
    asked = ("find", "kestrel", "--technique", "ground", "--sort", "shelfmark")
    found = answer(*asked, "--collection", str(guild))
    assert (found["total"], found["facets"], found["did_you_mean"]) == (2, None, [])
    assert found["hits"] == [
        {
            "shelfmark": "P 2",
            "title": "Kestrel",
            "families": ["bucks"],
            "techniques": ["point_ground", "gimp", "honeycomb_ring"],
            "pairs": 24,
            "difficulty": 3,
            "matched": ["title: kestrel", "ground: point ground, honeycomb ring"],
        },
        {
            "shelfmark": "P 10",
            "title": "Kestrel Insertion",
            "families": ["bucks"],
            "techniques": ["point_ground"],
            "pairs": 30,
            "difficulty": 4,
            "matched": ["title: kestrel", "ground: point ground"],
        },
    ]


def test_find_counts_by_the_ids_that_can_be_asked_for(guild: Path) -> None:
    found = answer("find", "--facets", "--collection", str(guild))
    assert {"id": "spider", "name": "spider", "count": 2} in found["facets"]["technique"]
    for group, asked in (("technique", "--technique"), ("family", "--family"), ("kind", "--kind")):
        for counted in found["facets"][group]:
            again = answer("find", asked, counted["id"], "--collection", str(guild))
            assert again["total"] == counted["count"]


def test_find_suggests_where_it_finds_nothing(guild: Path) -> None:
    found = answer("find", "spyder", "--collection", str(guild))
    assert (found["total"], found["hits"], found["did_you_mean"]) == (0, [], ["spider"])


def test_import_numbers_rows_as_the_spreadsheet_shows_them(guild: Path) -> None:
    Path("more.csv").write_text(
        "Our prickings\n\nShelfmark,Title,Techniques\nP 3,Moss,pikots\nP 3,Fern,\n",
        encoding="utf-8",
    )
    told = answer("import", "more.csv", "--collection", str(guild), code=1)
    del told["findings"][0]["advice"]
    assert told == {
        "read": 2,
        "added": 1,
        "changed": 0,
        "unchanged": 0,
        "refused": [
            {
                "row": 5,
                "shelfmark": "P 3",
                "reason": "Row 4 has the same shelfmark and says something else.",
            }
        ],
        "findings": [
            {
                "row": 4,
                "shelfmark": "P 3",
                "column": "Techniques",
                "code": "unknown-technique",
                "found": "pikots",
            }
        ],
        "columns": {"Shelfmark": "shelfmark", "Title": "title", "Techniques": "techniques"},
        "suggestion": {},
    }


def test_measure_gives_the_whole_result_with_its_units() -> None:
    draw_sheet(Path("strip.svg"))
    found = answer("measure", "strip.svg")
    assert found["source"]["file"] == "strip.svg"
    assert found["scale"]["how"] == "drawing-units"
    assert found["pins"]["count"] == len(found["pins"]["positions_mm"]) == 210
    assert found["pins"]["positions_mm"][0] == [10, 10]
    assert found["extent_mm"] == [12, 118]
    assert found["foot"]["pitch_mm"] == 4
    assert found["ground"]["angle_deg"] == 45
    assert found["ground"]["column_mm"] == 2
    assert found["corner"] == {"present": False}
    assert found["pairs"]["low"] <= found["pairs"]["estimate"] <= found["pairs"]["high"]
    assert {"analyser", "tilt_deg", "areas", "rings", "repeat", "thread", "doubts"} <= found.keys()


def test_the_sheet_of_a_record_is_called_by_the_name_it_came_with(guild: Path) -> None:
    assert answer("measure", "T 1", "--collection", str(guild))["source"]["file"] == "t1.svg"


def test_measure_all_gives_counts_and_findings(guild: Path) -> None:
    told = answer("measure", "--all", "--collection", str(guild))
    assert told == {"measured": 1, "current": 0, "findings": []}


def test_next_gives_ids(guild: Path) -> None:
    told = answer("next", "honeycomb ring", "--collection", str(guild))
    assert "pin_chain" in told["opened"]
    assert [(one["shelfmark"], one["new"]) for one in told["patterns"]] == [("P 1", ["picot"])]


def test_history_gives_every_state(guild: Path) -> None:
    run("edit", "P 1", "--set", "title=Moss", "--collection", str(guild))
    changes = answer("history", "P 1", "--collection", str(guild))
    assert [(one["number"], one["how"], one["pattern"]["title"]) for one in changes] == [
        (1, "imported", "Bracken"),
        (2, "edited", "Moss"),
    ]


def test_publish_counts_what_it_wrote(guild: Path) -> None:
    told = answer("publish", "--into", "site", "--collection", str(guild))
    files = [path for path in Path("site").rglob("*") if path.is_file()]
    pages = [path for path in files if path.suffix == ".html"]
    assert told["pages"] == len(pages)
    assert told["written"] <= len(files)
    assert (told["pictures"], told["unchanged"]) == (0, 0)
    assert [(one["code"], one["shelfmark"]) for one in told["withheld"]] == [
        ("picture-withheld", "T 1")
    ]


def test_vocabulary_says_what_each_word_is() -> None:
    assert [(one["is"], one["id"]) for one in answer("vocabulary", "Spitze")] == [
        ("technique", "edging"),
        ("kind of pattern", "edging"),
    ]
    everything = answer("vocabulary")
    assert {one["is"] for one in everything} == {"technique", "family of lace", "kind of pattern"}
    assert sum(one["is"] == "technique" for one in everything) == 84
