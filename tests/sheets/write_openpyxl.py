#!/usr/bin/env python3
"""usage: write_openpyxl.py TOLD.json OUT.xlsx      the workbook as openpyxl (Debian: python3-openpyxl) writes it"""
import datetime
import json
import sys

import openpyxl
from openpyxl.comments import Comment
from openpyxl.styles import Font


def put(sheet, place, cell):
    at = sheet[place]
    if cell["put"] == "text":
        at.value = cell["value"]
        at.data_type = "s"
    elif cell["put"] == "date":
        at.value = datetime.datetime.fromisoformat(cell["value"])
    elif cell["put"] == "formula":
        at.value = "=" + cell["value"]
    elif cell["put"] != "nothing":
        at.value = cell["value"]
    if "format" in cell:
        at.number_format = cell["format"]
    if cell.get("struck"):
        at.font = Font(strike=True)
    if cell.get("note"):
        at.comment = Comment(cell["note"], "someone")


def main():
    told = json.load(open(sys.argv[1], encoding="utf-8"))
    book = openpyxl.Workbook()
    book.remove(book.active)
    for table in told["tables"]:
        sheet = book.create_sheet(table["name"])
        for place, cell in table["cells"].items():
            if "openpyxl" not in cell.get("not", []):
                put(sheet, place, cell)
        for block in table.get("merges", []):
            sheet.merge_cells(block)
        for row in table.get("hidden_rows", []):
            sheet.row_dimensions[row].hidden = True
        for column in table.get("hidden_columns", []):
            sheet.column_dimensions[openpyxl.utils.get_column_letter(column)].hidden = True
        if table.get("hidden"):
            sheet.sheet_state = "hidden"
    book.save(sys.argv[2])


main()
