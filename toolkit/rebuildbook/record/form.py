"""Write the form: a spreadsheet to fill in at the bench, one sheet for each kind of reading."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import datetime, time
from typing import Any

import xlsxwriter

from rebuildbook.record.bench import Bench
from rebuildbook.record.form_layout import (
    HEADER_ROW,
    LISTS,
    MARKS,
    ROLES,
    SHEETS,
    Column,
    FormSheet,
    marks_of,
)
from rebuildbook.record.form_rows import NAMED, FormRow, form_rows, readings_of_test, usual_units

_PAPER = {"letter": 1, "a4": 9}  # numbers of the file format
ROW_HEIGHT = 24  # points: two lines of small print, and room for a pencil
_INK, _LINE, _GREY, _HEAD = "#1f1f1f", "#8c8c8c", "#ededed", "#d0d0d0"


def form_of(bench: Bench) -> bytes:
    """Make the form of a job; the same inputs give the same bytes."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True, "strings_to_formulas": False})
    opened = datetime.combine(bench.case.job.opened, time())
    title = f"Readings, job {bench.case.job.job}"
    book.set_properties({"title": title, "created": opened})
    rows = [*form_rows(bench), *_signatures(bench)]
    ranges = _lists(bench)
    sheets = [_FormSheet(book, bench, sheet, ranges) for sheet in SHEETS]
    for made in sheets:
        made.fill([row for row in rows if row.kind == made.sheet.kind])
    _write_hidden(book, bench, ranges)
    book.close()
    return file.getvalue()


def _signatures(bench: Bench) -> Iterator[FormRow]:
    """A row for each hold point of the assembly, then for each role."""
    for name, step in bench.case.model.assembly.items():
        if step.hold_point:
            yield FormRow("signature", name, f"{step.what} ({step.hold_point})", "")
    for role in ROLES:
        yield FormRow("signature", role, "", "")


def _lists(bench: Bench) -> dict[str, tuple[str, ...]]:
    """What the drop-down lists offer, by the name of the list."""
    dimensions = dict.fromkeys(reading.dimension for reading in readings_of_test(bench.case))
    shop = bench.case.shop
    offered = {f"unit of {name}": usual_units(name) for name in ("torque", "length", *dimensions)}
    return offered | {"wrench": tuple(shop.wrenches), "gauge": tuple(shop.gauges)}


def _write_hidden(book: Any, bench: Bench, lists: dict[str, tuple[str, ...]]) -> None:
    about, offered = book.add_worksheet(MARKS), book.add_worksheet(LISTS)
    for row, pair in enumerate(marks_of(bench.case).items()):
        for column, text in enumerate(pair):
            about.write_string(row, column, text)
    for column, (name, options) in enumerate(lists.items()):
        for row, text in enumerate((name, *options)):
            offered.write_string(row, column, text)
    for sheet in (about, offered):
        sheet.protect()
        sheet.very_hidden()


class _FormSheet:
    """One sheet on its way into the book."""

    def __init__(
        self, book: Any, bench: Bench, sheet: FormSheet, lists: dict[str, tuple[str, ...]]
    ) -> None:
        self.sheet, self._bench, self._lists, self._book = sheet, bench, lists, book
        self._page = book.add_worksheet(sheet.name)
        self._dimensions = {one.name: one.dimension for one in readings_of_test(bench.case)}
        self._formats: dict[tuple[bool, bool, str], Any] = {}
        self._set_up()

    def _set_up(self) -> None:
        page, job = self._page, self._bench.case.job
        last = len(self.sheet.columns) - 1
        bold = self._book.add_format({"bold": True, "font_size": 14, "font_color": _INK})
        plain = self._book.add_format({"font_size": 9, "font_color": _INK, "text_wrap": True})
        head = self._book.add_format(
            {"bold": True, "bg_color": _HEAD, "border": 1, "border_color": _LINE, "text_wrap": True}
        )
        plain.set_align("top")
        page.write_string(0, 0, f"{self.sheet.name}, job {job.job}", bold)
        page.write_string(1, 0, f"{job.serial}, {self._bench.case.model.title}")
        page.merge_range(2, 0, 2, last, "", plain)
        page.write_string(2, 0, self.sheet.hint, plain)
        page.set_row(2, 27)
        for place, column in enumerate(self.sheet.columns):
            page.set_column(place, place, column.width)
            page.write_string(HEADER_ROW - 1, place, column.heading, head)
        page.freeze_panes(HEADER_ROW, 1)
        page.hide_gridlines(2)
        page.set_landscape()
        page.set_paper(_PAPER[self._bench.case.shop.paper])
        page.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
        page.fit_to_pages(1, 0)
        page.repeat_rows(HEADER_ROW - 1)
        page.set_footer(f"&L{_footer(job.job)}, {self.sheet.name}&RPage &P of &N")
        page.protect("", {"format_columns": True, "format_rows": True})

    def fill(self, rows: list[FormRow]) -> None:
        """Write the rows, with a heavier line where another joint begins."""
        before = ""
        for place, row in enumerate(rows, HEADER_ROW):
            first = row.subject != before
            before = row.subject
            self._page.set_row(place, ROW_HEIGHT)
            for column, head in enumerate(self.sheet.columns):
                self._cell(place, column, head, row, first)
        if not rows:
            self._page.write_string(HEADER_ROW, 0, "Nothing is to be read here.")

    def _cell(self, place: int, column: int, head: Column, row: FormRow, first: bool) -> None:
        page, cell = self._page, self._format(head, first)
        if head.fill:
            page.write_blank(place, column, None, cell)
            self._offer(place, column, head.field, row)
        elif head.field == "fastener" and row.number is not None:
            page.write_number(place, column, row.number, cell)
        else:
            subject = row.subject.removeprefix(NAMED)
            shown = {"joint": subject, "what": row.what if first else "", "hint": row.hint}
            page.write_string(place, column, shown.get(head.field, row.wanted), cell)

    def _format(self, head: Column, first: bool) -> Any:
        key = (head.fill, first, head.field)
        if key not in self._formats:
            look: dict[str, Any] = {"border": 1, "border_color": _LINE, "locked": not head.fill}
            look |= {"font_color": _INK, "valign": "vcenter"}
            look |= {"top": 2} if first and self.sheet.kind == "torque" else {}
            look |= {} if head.fill else {"bg_color": _GREY, "text_wrap": True}
            look |= {"num_format": "yyyy-mm-dd"} if head.field == "date" else {}
            look |= {"align": "center"} if head.field in {"fastener", "unit", "date"} else {}
            look |= {"bold": first, "font_size": 10} if head.field == "joint" else {}
            look |= {"bold": True} if head.field == "fastener" else {}
            look |= {"font_size": 9} if head.field in {"what", "hint", "wanted"} else {}
            self._formats[key] = self._book.add_format(look)
        return self._formats[key]

    def _offer(self, place: int, column: int, name: str, row: FormRow) -> None:
        """Put a list behind a cell; other words may be written, the one who reads will say."""
        dimension = {"torque": "torque", "measurement": "length"}.get(row.kind, "")
        dimension = dimension or self._dimensions.get(row.subject, "")
        if name == "unit":
            self._list(place, column, f"unit of {dimension}")
        elif name == "tool" and (row.kind == "torque" or dimension == "pressure"):
            self._list(place, column, "wrench" if row.kind == "torque" else "gauge")
        elif name == "date":
            opened = self._bench.case.job.opened
            rule = {
                "validate": "date",
                "criteria": ">=",
                "value": datetime.combine(opened, time()),
                "error_type": "warning",
                "error_title": "Date",
                "error_message": f"The job was opened on {opened.isoformat()}.",
            }
            self._page.data_validation(place, column, place, column, rule)

    def _list(self, place: int, column: int, name: str) -> None:
        at = list(self._lists).index(name)
        letter, last = chr(ord("A") + at), len(self._lists[name]) + 1
        if last == 1:
            return
        rule = {
            "validate": "list",
            "source": f"='{LISTS}'!${letter}$2:${letter}${last}",
            "error_type": "warning",
            "error_title": "Not in the list",
            "error_message": "This is none of the usual ones. Keep it if it is what was used.",
        }
        self._page.data_validation(place, column, place, column, rule)


def _footer(text: str) -> str:
    return "Job " + text.replace("&", "&&")
