"""The tables of a fleet as a spreadsheet: one sheet each, numbers as numbers."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

import xlsxwriter

from rebuildbook.worksheet.fleet_table import Cell, FleetTable

_LINE, _HEAD = "#8c8c8c", "#d0d0d0"
_EPOCH = datetime(2000, 1, 1)  # a stamp of its own would make every file another
_LONGEST = 32_000  # letters that a cell may hold


def fleet_book(tables: Sequence[FleetTable]) -> bytes:
    """Make the spreadsheet; the same tables give the same bytes."""
    file = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(file, options)
    book.set_properties({"title": "Fleet", "created": _EPOCH})
    base = {"border": 1, "border_color": _LINE, "valign": "top"}
    looks = {
        "head": book.add_format({**base, "bold": True, "bg_color": _HEAD, "text_wrap": True}),
        "text": book.add_format({**base, "text_wrap": True}),
        "int": book.add_format({**base, "num_format": "0"}),
        "float": book.add_format({**base, "num_format": "0.00"}),
        "date": book.add_format({**base, "num_format": "yyyy-mm-dd", "align": "left"}),
    }
    for table in tables:
        _page(book.add_worksheet(table.name), table, looks)
    book.close()
    return file.getvalue()


def _page(page: Any, table: FleetTable, looks: dict[str, Any]) -> None:
    for place, column in enumerate(table.columns):
        page.set_column(place, place, column.width)
        page.write_string(0, place, column.heading, looks["head"])
    for line, row in enumerate(table.rows, 1):
        for place, cell in enumerate(row):
            _write(page, line, place, cell, looks)
    page.freeze_panes(1, 0)
    page.autofilter(0, 0, max(len(table.rows), 1), len(table.columns) - 1)
    page.set_landscape()
    page.fit_to_pages(1, 0)
    page.repeat_rows(0)
    page.set_footer(f"&L{table.name}&RPage &P of &N")


def _write(page: Any, line: int, place: int, cell: Cell, looks: dict[str, Any]) -> None:
    if cell is None:
        page.write_blank(line, place, None, looks["text"])
    elif isinstance(cell, str):
        page.write_string(line, place, cell[:_LONGEST], looks["text"])
    elif isinstance(cell, date):
        page.write_datetime(line, place, datetime(cell.year, cell.month, cell.day), looks["date"])
    else:
        page.write_number(line, place, cell, looks["int" if isinstance(cell, int) else "float"])
