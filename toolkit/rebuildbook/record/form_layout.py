"""Sheets and columns of the form, for the one who writes it and the one who reads it."""

from __future__ import annotations

from dataclasses import dataclass

from rebuildbook.record.entry import Kind
from rebuildbook.sheets import Case

FORM = "readings to fill in"
VERSION = "1"
MARKS = "about this form"  # hidden: what job and model the form is for
LISTS = "lists"  # hidden: what the drop-down lists offer
HEADER_ROW = 4


@dataclass(frozen=True, slots=True)
class Column:
    """One column: the field it holds, its heading, its width, and whether it is filled in."""

    field: str
    heading: str
    width: float
    fill: bool = False


@dataclass(frozen=True, slots=True)
class FormSheet:
    """One sheet of the form."""

    name: str
    kind: Kind
    hint: str
    columns: tuple[Column, ...]

    @property
    def subject(self) -> Column:
        """The column that names what was read."""
        return self.columns[0]


_FILLED = (
    Column("reading", "Reading", 11, fill=True),
    Column("unit", "Unit", 9, fill=True),
    Column("tool", "Tool", 13, fill=True),
    Column("date", "Date", 12, fill=True),
    Column("by", "By", 13, fill=True),
    Column("note", "Note", 26, fill=True),
)
_HOW = (
    "Fill in the white cells, grey ones are for reading. A reading without its unit is not taken. "
)

TORQUE = FormSheet(
    "Torque",
    "torque",
    _HOW + "Final pass, one fastener a row, in the order of the last round; the number as the "
    "wrench shows it.",
    (
        Column("joint", "Joint", 16),
        Column("what", "What it is", 38),
        Column("fastener", "Fastener", 9),
        Column("wanted", "Window wanted", 17),
        Column("hint", "Wrench in hand", 20),
        *_FILLED,
    ),
)
MEASUREMENTS = FormSheet(
    "Measurements",
    "measurement",
    _HOW + "The worst of all places measured.",
    (
        Column("joint", "Part", 16),
        Column("what", "What it is", 38),
        Column("hint", "When new", 18),
        Column("wanted", "Limit", 30),
        *_FILLED,
    ),
)
TESTS = FormSheet(
    "Test",
    "test",
    _HOW + "Pressures as the gauge shows them.",
    (
        Column("joint", "Name", 30),
        Column("what", "What it is", 34),
        Column("wanted", "Wanted", 26),
        *_FILLED,
    ),
)
SIGNATURES = FormSheet(
    "Signatures",
    "signature",
    "Hold points before anybody goes on; then who did it and who checked it: a name and a day.",
    (
        Column("joint", "Hold point or role", 20),
        Column("what", "What is signed for (by)", 44),
        Column("by", "Name", 24, fill=True),
        Column("date", "Date", 12, fill=True),
        Column("note", "Note", 40, fill=True),
    ),
)
SHEETS = (TORQUE, MEASUREMENTS, TESTS, SIGNATURES)
ROLES = ("fitter", "checker")


def marks_of(case: Case) -> dict[str, str]:
    """What the hidden sheet says, so that a form of another job or model is known."""
    return {
        "form": FORM,
        "version": VERSION,
        "job": case.job.job,
        "serial": case.job.serial,
        "model": case.job.model,
        "model sheet": case.files["model"][1],
        "shop sheet": case.files["shop"][1],
        "job card": case.files["job"][1],
    }
