"""Read a CSV file of a tool by its column map: nothing is guessed and no row is dropped unsaid."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

from rebuildbook.record.raw import Found, Place, Raw
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import Problem, SheetError
from rebuildbook.sheets.columns import ColumnMap
from rebuildbook.sheets.pointing import nowhere

LARGEST_FILE = 5_000_000  # bytes
MOST_ROWS = 20_000
LONGEST_CELL = 2000  # characters
_UNIT = re.compile(r"[\[(]([^\[\]()]+)[\])]\s*$")


def read_csv(path: Path, columns: ColumnMap) -> Found:
    """Read a file by its map; raises SheetError where the map does not fit the file."""
    text = _text(path, columns.encoding)
    lines = text.splitlines(keepends=True)
    body = "".join(lines[columns.skip_lines :])
    separator = "\t" if columns.separator == "tab" else columns.separator
    rows = csv.reader(io.StringIO(body, newline=""), delimiter=separator, strict=True)
    found = Found()
    if columns.skip_lines:
        found.told.append(f"{columns.skip_lines} lines above the headings skipped, as the map says")
    try:
        _File(path, columns, found).read(rows)
    except csv.Error as error:
        line = columns.skip_lines + rows.line_num
        raise SheetError([Problem(str(path), line, "", "", f"is not CSV: {error}")]) from None
    return found


def _text(path: Path, encoding: str) -> str:
    def refuse(message: str) -> SheetError:
        return SheetError([Problem(str(path), None, "", "", message)])

    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise refuse(f"cannot be read: {(error.strerror or str(error)).lower()}") from None
    if len(raw) > LARGEST_FILE:
        raise refuse(f"is over {LARGEST_FILE / 1e6:.0f} MB; give the file of one job")
    if encoding != "utf-16" and raw[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        raise refuse("begins as UTF-16 does; write encoding: utf-16 in the column map")
    if encoding == "latin-1" and raw[:3] == b"\xef\xbb\xbf":
        raise refuse("begins as UTF-8 does; write encoding: utf-8 in the column map")
    try:
        text = raw.decode("utf-8-sig" if encoding == "utf-8" else encoding)
    except UnicodeDecodeError as error:
        told = f"is not {encoding} text (byte {error.start})"
        raise refuse(f"{told}; say in the column map which encoding it has") from None
    if "\x00" in text:
        raise refuse(f"holds zero bytes; is it {encoding} text?")
    return text


class _File:
    """One file on its way into what was found."""

    def __init__(self, path: Path, columns: ColumnMap, found: Found) -> None:
        self._path, self._map, self._found = path, columns, found
        self._at: dict[str, int] = {}
        self._names: dict[str, str] = {}
        self._unit = columns.fixed.unit or ""
        self._width = 0

    def read(self, rows: Iterator[list[str]]) -> None:
        before = self._map.skip_lines
        line, blank = before, 0
        first = True
        for row in rows:
            start, line = line + 1, before + rows.line_num  # type: ignore[attr-defined]
            if not any(cell.strip() for cell in row):
                blank += 1
                continue
            if first:
                first = False
                self._width = len(row)
                self._columns(row, start)
                if self._map.headings:
                    continue
            if len(self._found.raws) >= MOST_ROWS:
                raise self._refuse(start, "", f"has more than {MOST_ROWS} rows")
            self._row(row, start)
        if first:
            raise self._refuse(0, "", "is empty")
        if blank:
            self._found.told.append(f"{blank} empty lines skipped")
        self._last_of_several()

    def _columns(self, row: list[str], line: int) -> None:
        headings = [cell.strip() for cell in row]
        for name, wanted in self._map.columns.model_dump().items():
            if wanted is None:
                continue
            if not self._map.headings:
                if not wanted.isdecimal() or not 1 <= int(wanted) <= len(row):
                    message = (
                        f"columns.{name}: wanted a number from 1 to {len(row)}; got {wanted!r}"
                    )
                    raise self._refuse(line, "", message)
                place = int(wanted) - 1
            else:
                place = self._heading(name, wanted, headings, line)
            self._at[name] = place
            self._names[name] = headings[place] if self._map.headings else f"column {place + 1}"
        shared = [
            self._names[one] for one in self._at if list(self._at.values()).count(self._at[one]) > 1
        ]
        if shared:
            raise self._refuse(line, shared[0], "is named for two things by the column map")
        if self._map.unit_in_heading:
            self._unit = self._unit_of(self._names["reading"], line)
        if self._map.headings:
            left = [
                one or "(no heading)"
                for place, one in enumerate(headings)
                if place not in self._at.values()
            ]
            if left:
                self._found.told.append(f"columns not read: {', '.join(left)}")

    def _heading(self, name: str, wanted: str, headings: list[str], line: int) -> int:
        matches = [place for place, one in enumerate(headings) if one == wanted]
        if not matches and name == "reading" and self._map.unit_in_heading:
            bare = [_UNIT.sub("", one).strip() for one in headings]
            matches = [place for place, one in enumerate(bare) if one == wanted]
        if not matches:
            message = nowhere(wanted, "heading of this file", headings)
            raise self._refuse(line, "", f"columns.{name}: {message}")
        if len(matches) > 1:
            raise self._refuse(line, wanted, "is the heading of two columns")
        return matches[0]

    def _unit_of(self, heading: str, line: int) -> str:
        match = _UNIT.search(heading)
        if match is None:
            raise self._refuse(line, heading, "has no unit in brackets, as in 'Torque [N*m]'")
        if self._unit:
            raise self._refuse(line, heading, "the map gives the unit twice: fixed and in heading")
        return match[1].strip()

    def _row(self, row: list[str], line: int) -> None:
        place = Place(self._path.name, row=line, columns=self._names, full=str(self._path))
        if len(row) != self._width:
            message = f"has {len(row)} cells; the first row has {self._width}"
            self._found.problems.append(place.problem("", "", message))
            return
        if any(len(cell) > LONGEST_CELL for cell in row):
            message = f"has a cell of over {LONGEST_CELL} characters"
            self._found.problems.append(place.problem("", "", message))
            return
        cells = {name: row[at].strip() for name, at in self._at.items()}
        if not cells["reading"]:
            filled = ", ".join(value for value in cells.values() if value)
            self._found.told.append(f"line {line} has no reading ({filled}); not taken")
            return
        self._found.raws.append(self._raw(cells, place))

    def _raw(self, cells: dict[str, str], place: Place) -> Raw:
        fixed = self._map.fixed
        remarks = []
        joint = cells.get("joint") or fixed.joint or ""
        if joint in self._map.names:
            joint = self._map.names[joint]
        tool = cells.get("tool") or fixed.tool or ""
        if tool in self._map.tools:
            remarks.append(Remark("told", f"{tool} in the file is {self._map.tools[tool]}"))
            tool = self._map.tools[tool]
        on, time = self._moment(cells, place)
        return Raw(
            self._map.reads,
            joint,
            cells["reading"],
            place,
            unit=cells.get("unit") or self._unit,
            number=cells.get("fastener", ""),
            tool=tool,
            on=on,
            time=time,
            by=cells.get("by") or fixed.by or "",
            note=cells.get("note", ""),
            comma="decimal" if self._map.decimal == "comma" else "never",
            remarks=tuple(remarks),
        )

    def _moment(self, cells: dict[str, str], place: Place) -> tuple[str, str]:
        """Day and time; a day that is not as the map says is left as it stands, to be refused."""
        text, time = cells.get("date", ""), cells.get("time", "")
        if not text:
            return self._map.fixed.date or "", time
        try:
            moment = datetime.strptime(text, self._map.date_format)
        except ValueError:
            message = f"is not a date as the column map has it, {self._map.date_format}"
            self._found.problems.append(place.problem("date", text, message))
            return "", time
        timed = any(mark in self._map.date_format for mark in ("%H", "%I", "%X", "%T"))
        return moment.date().isoformat(), time or (moment.time().isoformat() if timed else "")

    def _last_of_several(self) -> None:
        if self._map.several != "last":
            return
        last = {(raw.subject, raw.number): raw for raw in self._found.raws}
        left = len(self._found.raws) - len(last)
        if left:
            self._found.told.append(
                f"{left} earlier readings of the same fasteners left out, as the map says"
            )
        kept = set(map(id, last.values()))
        self._found.raws = [raw for raw in self._found.raws if id(raw) in kept]

    def _refuse(self, line: int, field: str, message: str) -> SheetError:
        return SheetError([Problem(str(self._path), line or None, field, "", message)])
