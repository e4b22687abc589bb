"""Writes the list of the demo guild as its librarian keeps it, in an .xlsx workbook.

    wording     how the librarian writes what a recipe says of a pricking
    rows        the list's rows, from `list.yaml` and the drawn prickings' `index.json`
    workbook    rows -> the bytes of a workbook; the same rows give the same bytes

`python -m demo_collection.listing` writes `list.xlsx` anew.
"""
