"""What a site tells programs: its records, its files, what a page shows."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from rdflib import SDO, Graph, Literal

from tests.integration.site.invented import SETTINGS, Shelf, publish


def test_the_index_of_files_names_every_file_with_its_hash(
    site: dict[str, bytes],
) -> None:
    told = dict(
        reversed(line.split("  ", 1)) for line in site["files.sha256"].decode().splitlines()
    )
    assert set(told) == set(site) - {"files.sha256", "manifest.json"}
    for path, sha256 in told.items():
        assert hashlib.sha256(site[path]).hexdigest() == sha256


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs GNU coreutils")
def test_the_index_of_files_is_what_a_common_program_checks(shelf: Shelf, tmp_path: Path) -> None:
    publish(shelf, tmp_path / "site")
    command = ["sha256sum", "--check", "--strict", "--quiet", "files.sha256"]
    assert subprocess.run(command, cwd=tmp_path / "site", check=False).returncode == 0
    page = tmp_path / "site" / "patterns" / "b-2.html"
    page.write_bytes(page.read_bytes() + b" ")
    found = subprocess.run(command, cwd=tmp_path / "site", check=False, capture_output=True)
    assert found.returncode == 1
    assert found.stdout.startswith(b"patterns/b-2.html: FAILED")


def test_the_public_records_are_plain_data_in_shelf_order(
    site: dict[str, bytes],
) -> None:
    told = json.loads(site["records.json"])
    assert told["collection"] == SETTINGS.name
    assert [record["shelfmark"] for record in told["records"]] == [
        "B 2", "B 10", "K/3", "k-3", "T 1", "T 2",
    ]  # fmt: skip
    first = told["records"][0]
    assert first["pairs"]["stated"] == {"start": 16, "most": 18}
    assert first["measured"]["ground_angle_deg"] == 60.0
    assert "sha256" not in json.dumps(told)


# rdflib's own reader of JSON-LD uses what rdflib warns of.
@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
def test_a_page_tells_programs_what_it_shows(site: dict[str, bytes]) -> None:
    """Read by rdflib, with the part of schema.org's context that the page needs."""
    (told,) = re.findall(
        r'<script type="application/ld\+json">(.*?)</script>', site["patterns/b-2.html"].decode()
    )
    data = json.loads(told)
    assert data["@context"] == "https://schema.org"
    assert data["@type"] in SDO
    assert [name for name in data if name[0] != "@" and name not in SDO] == []
    address = {"@type": "@id"}
    data["@context"] = {"@vocab": str(SDO), "image": address, "license": address}
    base = "file:///patterns/b-2.html"
    graph = Graph().parse(data=json.dumps(data), format="json-ld", base=base)
    (work,) = graph.subjects(SDO.identifier, Literal("B 2"))
    (picture,) = graph.objects(work, SDO.image)
    assert str(picture).removeprefix("file:///") in site
    assert [str(name) for name in graph.objects(work, SDO.teaches)] == ["picot"]
    (designer,) = graph.objects(work, SDO.creator)
    assert graph.value(designer, SDO.name) == Literal("A. Invented")


def test_the_table_has_a_row_for_every_record(site: dict[str, bytes]) -> None:
    rows = list(csv.reader(io.StringIO(site["records.csv"].decode("utf-8-sig"), newline="")))
    assert [row[0] for row in rows[1:]] == ["B 2", "B 10", "K/3", "k-3", "T 1", "T 2"]
