"""A bench of the demo, and forms filled in for it."""

import datetime
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest

from rebuildbook.commands.bench import bench_of
from rebuildbook.record.form import form_of
from rebuildbook.sheets import load_case

ROOT = Path(__file__).resolve().parents[2]
DAY = datetime.date(2026, 9, 21)
# middle of each window of the wash plunger pump, in the unit of the wrench in hand
GOOD = {
    "plunger-screws": (21, "ft·lbf", "C-80ft"),
    "head-studs": (37, "ft·lbf", "C-80ft"),
    "valve-plugs": (120, "N·m", "C-400"),
    "outlet-manifold": (17.5, "N·m", "C-60"),
    "crankcase-cover": (67, "in·lbf", "C-150in"),
}
SIZES = {
    "plunger-1": 0.7494,
    "plunger-2": 0.7493,
    "plunger-3": 0.7495,
    "check-balls": 0.6248,
    "seal-bore": 1.0635,
}


@dataclass
class Form:
    """A form on its way to the reader: cells are set by sheet, row and heading."""

    book: openpyxl.Workbook
    folder: Path
    headings: dict = field(default_factory=dict)

    def rows(self, sheet: str):
        """Rows below the headings that name something."""
        page = self.book[sheet]
        return [row for row in range(5, page.max_row + 1) if page.cell(row, 1).value]

    def column(self, sheet: str, heading: str) -> int:
        page = self.book[sheet]
        return next(cell.column for cell in page[4] if cell.value == heading)

    def cell(self, sheet: str, row: int, heading: str):
        return self.book[sheet].cell(row, self.column(sheet, heading))

    def put(self, sheet: str, row: int, **cells) -> None:
        for heading, value in cells.items():
            self.cell(sheet, row, heading.capitalize()).value = value

    def save(self, name: str = "filled.xlsx") -> Path:
        path = self.folder / name
        self.book.save(path)
        return path

    def fill(self) -> "Form":
        """Fill in torques and sizes as a good job has them."""
        for row in self.rows("Torque"):
            value, unit, tool = GOOD[self.cell("Torque", row, "Joint").value]
            self.put("Torque", row, reading=value, unit=unit, tool=tool, date=DAY, by="bench 1")
        for row in self.rows("Measurements"):
            value = SIZES[self.cell("Measurements", row, "Part").value]
            self.put("Measurements", row, reading=value, unit="in", date=DAY, by="bench 1")
        return self


@pytest.fixture(scope="session")
def card() -> Path:
    return ROOT / "parameters" / "jobs" / "TW-2602.yaml"


@pytest.fixture(scope="session")
def bench(card):
    return bench_of(load_case(card))


@pytest.fixture(scope="session")
def form_bytes(bench) -> bytes:
    return form_of(bench)


@pytest.fixture
def form(form_bytes, tmp_path) -> Form:
    return Form(openpyxl.load_workbook(BytesIO(form_bytes)), tmp_path)
