"""Read a filled form: every cell is accounted for, taken, refused or told."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import openpyxl

from rebuildbook.record.archive import check_archive
from rebuildbook.record.bench import Bench
from rebuildbook.record.cells import Cell, CellProblem
from rebuildbook.record.form_layout import (
    FORM,
    HEADER_ROW,
    LISTS,
    MARKS,
    SHEETS,
    VERSION,
    Column,
    FormSheet,
    marks_of,
)
from rebuildbook.record.form_rows import FormRow, form_rows, readings_of_test, subject_in_test
from rebuildbook.record.raw import Found, Place, Raw
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import Problem, SheetError

MOST_ROWS, MOST_COLUMNS = 5000, 200
FIRST_ROWS = HEADER_ROW + 6  # the heading is looked for up to here, where rows were put in above


def read_spreadsheet(path: Path, bench: Bench) -> Found:
    """Read the form of this job; raises SheetError for what is no such form."""
    raw = check_archive(path)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of features that it drops, none of them a cell
            book = openpyxl.load_workbook(io.BytesIO(raw), data_only=False, keep_links=False)
    except Exception as error:  # openpyxl raises what it meets: KeyError, ValueError, parse errors
        reason = " ".join(str(error).split())[:200]
        message = f"cannot be opened as a spreadsheet: {reason}"
        raise SheetError([Problem(str(path), None, "", "", message)]) from None
    found = Found()
    stale = _check_marks(book, str(path), bench, found)
    known: dict[str, dict[Any, FormRow]] = {}
    for row in form_rows(bench):
        known.setdefault(row.kind, {})[row.subject, row.number] = row
    tests = [reading.name for reading in readings_of_test(bench.case)]
    for sheet in SHEETS:
        if sheet.name in book.sheetnames:
            page = book[sheet.name]
            _Page(path, page, sheet, known.get(sheet.kind, {}), tests, found, stale).read()
        else:
            found.told.append(f"the sheet {sheet.name} is not there")
    for name in book.sheetnames:
        if name not in {MARKS, LISTS, *(sheet.name for sheet in SHEETS)}:
            found.told.append(f"the sheet {name} is not of the form; nothing of it was read")
    return found


def _check_marks(book: Any, name: str, bench: Bench, found: Found) -> tuple[Remark, ...]:
    """Hold the hidden sheet against the job; gives a remark where its model sheet was another."""

    def refuse(message: str, given: str = "") -> SheetError:
        return SheetError([Problem(name, None, "", given, message)])

    wanted = marks_of(bench.case)
    if MARKS not in book.sheetnames:
        told = "is no form of this toolkit: its hidden sheet is not there; write one with "
        raise refuse(f"{told}'rebuildbook form', or save the sheet as CSV and give a column map")
    pages = book[MARKS].iter_rows(min_row=1, max_row=20, max_col=2, values_only=True)
    marks = {str(key): str(value) for key, value in pages if key is not None}
    if marks.get("form") != FORM:
        raise refuse("is no form of this toolkit", marks.get("form", ""))
    if marks.get("version") != VERSION:
        told = f"is a form of another version; wanted {VERSION}: write the form anew"
        raise refuse(told, marks.get("version", ""))
    for key in ("job", "serial", "model"):
        if marks.get(key) != wanted[key]:
            raise refuse(
                f"is the form of another {key}; the card has {wanted[key]}", marks.get(key, "")
            )
    if marks.get("shop sheet") != wanted["shop sheet"]:
        found.told.append("the shop sheet has changed since the form was written")
    if marks.get("model sheet") == wanted["model sheet"]:
        return ()
    found.told.append("the model sheet has changed since the form was written")
    return (Remark("query", "read on a form of an older model sheet"),)


class _Page:
    """One sheet of the form on its way into what was found."""

    def __init__(
        self,
        path: Path,
        page: Any,
        sheet: FormSheet,
        known: dict[Any, FormRow],
        tests: list[str],
        found: Found,
        stale: tuple[Remark, ...],
    ) -> None:
        self._file, self._page, self._sheet = str(path), page, sheet
        self._known, self._tests, self._found, self._stale = known, tests, found, stale
        self._columns: dict[str, int] = {}
        self._seen: set[Any] = set()

    def read(self) -> None:
        rows, columns = self._page.max_row, self._page.max_column
        if rows > MOST_ROWS or columns > MOST_COLUMNS:
            message = (
                f"has {rows} rows and {columns} columns; at most {MOST_ROWS} and {MOST_COLUMNS} "
                "are read: delete the empty ones beyond the form"
            )
            self._problem("", message)
            return
        header = self._header()
        if header is None:
            return
        if self._merged(header):
            return
        self._extra_columns(header)
        empty, blank = 0, []
        for row in range(header + 1, rows + 1):
            match self._row(row):
                case "empty":
                    empty += 1
                case "not filled":
                    blank.append(row)
        self._tell(blank, empty)

    def _header(self) -> int | None:
        """Find the row of headings, and the column of each; by name, so that they may be moved."""
        wanted = {column.heading.casefold(): column for column in self._sheet.columns}
        best: tuple[int, dict[str, int], list[str]] = (0, {}, [])
        for row in range(1, min(FIRST_ROWS, self._page.max_row) + 1):
            columns: dict[str, int] = {}
            twice = []
            for place, cell in enumerate(self._page[row], 1):
                column = wanted.get(str(cell.value).strip().casefold())
                if column is not None:
                    twice += [column.heading] if column.field in columns else []
                    columns[column.field] = place
            if len(columns) > len(best[1]):
                best = row, columns, twice
        row, self._columns, twice = best
        missing = [one.heading for one in self._sheet.columns if one.field not in self._columns]
        needed = [one for one in missing if one not in {"What it is", "Note"}]
        if needed:
            self._problem("", f"the columns {', '.join(needed)} are not there by their headings")
        if twice:
            self._problem("", f"the heading {twice[0]} is there twice")
        return None if needed or twice else row

    def _merged(self, header: int) -> bool:
        found = [str(one) for one in self._page.merged_cells.ranges if one.max_row > header]
        for cells in sorted(found):
            message = "cells are merged; each reading has its own row: unmerge them"
            self._problem(cells, message)
        return bool(found)

    def _extra_columns(self, header: int) -> None:
        known = set(self._columns.values())
        for column in range(1, self._page.max_column + 1):
            if column not in known:
                letter = openpyxl.utils.get_column_letter(column)
                rows = range(header, self._page.max_row + 1)
                held = sum(self._page.cell(row, column).value is not None for row in rows)
                if held:
                    told = f"column {letter} is not of the form; its {held} cells were not read"
                    self._found.told.append(f"{self._sheet.name}: {told}")

    def _row(self, row: int) -> str:
        """Read one row; says "empty", "not filled", or nothing where it held something."""
        place = self._place(row)
        texts: dict[str, str] = {}
        remarks: list[Remark] = []
        for column in self._sheet.columns:
            if column.field not in self._columns:
                continue
            cell = Cell(self._page.cell(row, self._columns[column.field]))
            try:
                texts[column.field] = self._text(column, cell)
            except CellProblem as problem:
                self._found.problems.append(place.problem(column.field, cell.shown, str(problem)))
                return ""
            if column.field == "joint":
                texts["joint"] = self._full(texts["joint"])
            remarks += [Remark("told", told) for told in cell.told]
        filled = [one.field for one in self._sheet.columns if one.fill and texts.get(one.field)]
        if not filled:
            return "not filled" if texts.get("joint") else "empty"
        self._take(place, texts, filled, remarks)
        return ""

    def _text(self, column: Column, cell: Cell) -> str:
        if column.field == "date":
            return cell.day()
        if column.field in {"reading", "fastener"}:
            return cell.number()
        return cell.text()

    def _take(
        self, place: Place, texts: dict[str, str], filled: list[str], remarks: list[Remark]
    ) -> None:
        kind, value = self._sheet.kind, texts.get("reading", "")
        if kind != "signature" and not value:
            if "note" not in filled:
                named = ", ".join(filled)
                told = f"row {place.row} has {named}, but no reading; nothing was taken of it"
                self._found.told.append(f"{self._sheet.name}: {told}")
                return
            kind = "deviation"
            remarks.append(Remark("told", "a note without a reading, taken as a deviation"))
        number = texts.get("fastener", "")
        key = texts["joint"], int(number) if number.isdecimal() and number.isascii() else None
        self._seen.add(key)
        known = self._known.get(key)
        remarks += self._stale
        if known is not None and not self._stale and _differs(texts, known):
            shown, planned = _first_line(texts["wanted"]), _first_line(known.wanted)
            told = f"the form shows {shown!r}, the plan has {planned!r}"
            remarks.append(Remark("query", told))
        fields = {one: texts.get(one, "") for one in ("unit", "tool", "by", "note")}
        raw = Raw(
            kind,
            texts["joint"],
            value,
            place,
            number=number,
            on=texts.get("date", ""),
            shown=texts.get("wanted", ""),
            remarks=tuple(remarks),
            **fields,
        )
        self._found.raws.append(raw)

    def _tell(self, blank: list[int], empty: int) -> None:
        name, tell = self._sheet.name, self._found.told.append
        if blank:
            tell(f"{name}: {_count(len(blank), 'row')} not filled in ({_rows(blank)})")
        if empty:
            tell(f"{name}: {_count(empty, 'empty row')} skipped")
        held = {(self._subject(row), self._fastener(row)) for row in blank} | self._seen
        gone = [key for key in self._known if key not in held]
        if gone:
            tell(f"{name}: {_count(len(gone), 'row')} of the form not there")

    def _subject(self, row: int) -> str:
        return self._full(str(self._page.cell(row, self._columns["joint"]).value))

    def _full(self, name: str) -> str:
        return subject_in_test(name, self._tests) if self._sheet.kind == "test" else name

    def _fastener(self, row: int) -> int | None:
        column = self._columns.get("fastener")
        value = self._page.cell(row, column).value if column else None
        return int(value) if isinstance(value, int | float) else None

    def _place(self, row: int) -> Place:
        letters = {
            name: openpyxl.utils.get_column_letter(column) for name, column in self._columns.items()
        }
        return Place(Path(self._file).name, self._sheet.name, row, letters, full=self._file)

    def _problem(self, where: str, message: str) -> None:
        name = self._sheet.name
        field = f"{name}!{where}" if where else name
        self._found.problems.append(Problem(self._file, None, field, "", message))


def _differs(texts: dict[str, str], known: FormRow) -> bool:
    return _first_line(texts.get("wanted", "")) != _first_line(known.wanted)


def _first_line(text: str) -> str:
    """The window itself; what stands below it is the same in the unit of another wrench."""
    return " ".join(text.partition("\n")[0].split())


def _count(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _rows(rows: list[int]) -> str:
    return ", ".join(_runs(rows))


def _runs(rows: list[int]) -> Iterator[str]:
    """Rows as "5 to 9", "12": short where many lie together."""
    start = before = rows[0]
    for row in [*rows[1:], 0]:
        if row != before + 1:
            yield str(start) if start == before else f"{start} to {before}"
            start = row
        before = row
