"""A guild's list, as a spreadsheet or as text, read into records without losing a word.

words       the words of lists, from schema/vocabulary/list_words.yaml
table       rows of cells as they stand in a file          (knows nobody here)
delimited, first_sheet, workbook, opening      files -> table; hostile ones are refused
problems    every code a finding can have, with its advice -> words
cells, amounts, pairs, lacework, texts   words of a cell -> value and remarks
headings    which column holds what                        -> words, table
drafting    where values go in a record                    -> pairs, lacework
filling     how the cells of each field are read           -> cells …, drafting, headings
layout      the columns of one list                        -> filling
reading     rows -> records, findings, refused rows        -> all of the above
refusing    refused rows -> a file that can be mended
typed       single fields as a person types them           -> filling
"""

from archive.lists.headings import read_column_map, usual_headings
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
    "usual_headings",
    "write_refused",
]
