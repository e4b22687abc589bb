"""The public data of a site: `records.json` and `records.csv`, with a line for each record.

The lines are larger than all else that is worked out of records. So they are written as they
come and held nowhere; those of records that have not changed are read from the site before.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import tee, zip_longest
from typing import NamedTuple

from archive.records import Entry
from archive.records.settings import CollectionSettings
from archive.site.public_records import lines_of, record_line, records_file
from archive.site.public_table import rows_of, table_file, table_row
from archive.site.remembering import OfFile
from archive.site.swapping import SiteFolder

JSON, CSV = "records.json", "records.csv"


class PublicLine(NamedTuple):
    """A record in `records.json` and in `records.csv`, without the ends of the lines."""

    line: bytes
    row: bytes


def public_line(entry: Entry) -> PublicLine:
    """A record as the public data tells it."""
    return PublicLine(record_line(entry), table_row(entry))


@contextmanager
def old_lines(
    folder: SiteFolder, files: dict[str, OfFile]
) -> Iterator[Iterator[PublicLine] | None]:
    """The lines in the site before, in their order; None if its files are not as remembered."""
    nothing = OfFile("", "")
    with (
        folder.old_file(JSON, files.get(JSON, nothing).sha256) as json,
        folder.old_file(CSV, files.get(CSV, nothing).sha256) as csv,
    ):
        yield map(PublicLine, lines_of(json), rows_of(csv)) if json and csv else None


def write_public_data(
    folder: SiteFolder, told: Iterable[PublicLine], settings: CollectionSettings
) -> dict[str, OfFile]:
    """Put both files into the new site, as the lines come."""
    ones, others = tee(told)
    json = records_file((one.line for one in ones), settings.name, settings.holder)
    csv = table_file(one.row for one in others)
    with folder.growing(JSON) as add_json, folder.growing(CSV) as add_csv:
        for json_part, csv_part in zip_longest(json, csv, fillvalue=b""):
            add_json(json_part)
            add_csv(csv_part)
    return {path: OfFile("", folder.sha256_of_new(path)) for path in (JSON, CSV)}
