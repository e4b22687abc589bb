"""A guild's list, as a spreadsheet or as text, read into records without losing a word."""

from archive.lists.headings import read_column_map
from archive.lists.opening import read_table
from archive.lists.problems import PROBLEMS, Problem
from archive.lists.reading import ListReading, read_list
from archive.lists.refusing import Refused, write_refused
from archive.lists.table import Table
from archive.lists.typed import TYPED, read_typed

__all__ = [
    "PROBLEMS",
    "TYPED",
    "ListReading",
    "Problem",
    "Refused",
    "Table",
    "read_column_map",
    "read_list",
    "read_table",
    "read_typed",
    "write_refused",
]
