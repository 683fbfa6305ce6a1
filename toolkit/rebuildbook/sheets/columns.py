"""The column map: which column of a tool's own file holds what."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rebuildbook.sheets.fields import Remark, Slug, Text, YesNo
from rebuildbook.sheets.part import Part


class Columns(Part):
    """Headings of the columns as the file has them; where it has none, their numbers from 1."""

    joint: Text | None = Field(None, description="Joint, wear limit or reading of the test")
    fastener: Text | None = Field(None, description="Number of the fastener")
    reading: Text
    unit: Text | None = None
    tool: Text | None = None
    date: Text | None = None
    time: Text | None = None
    by: Text | None = None
    note: Text | None = None


class Fixed(Part):
    """What is the same in every row and has no column."""

    joint: Slug | None = None
    unit: Text | None = None
    tool: Text | None = None
    date: Text | None = None
    by: Text | None = None


class ColumnMap(Part):
    """How a CSV file of readings is to be read; nothing of it is guessed."""

    what: Text | None = None
    reads: Literal["torque", "measurement", "test"] = "torque"
    columns: Columns
    fixed: Fixed = Field(default_factory=Fixed)
    names: dict[Text, Text] = Field(
        default_factory=dict,
        max_length=500,
        description="Name in the file: joint, wear limit or reading of the test that it is",
    )
    tools: dict[Text, Text] = Field(
        default_factory=dict, max_length=200, description="Tool in the file: label in the shop"
    )
    encoding: Literal["utf-8", "utf-16", "latin-1"] = "utf-8"
    separator: Literal[",", ";", "tab", "|"] = ","
    decimal: Literal["point", "comma"] = "point"
    skip_lines: int = Field(0, ge=0, le=1000, description="Lines above the headings")
    headings: YesNo = True
    unit_in_heading: YesNo = Field(False, description="The reading's heading ends in [N*m]")
    date_format: Text = Field("%Y-%m-%d", description="As %d.%m.%Y; with the time if it is there")
    several: Literal["refuse", "last"] = Field(
        "refuse",
        description="Of several readings of one fastener the last counts, or none is taken",
    )


class ColumnSheet(ColumnMap):
    """A column map in a file of its own."""

    kind: Literal["columns"]
    note: Remark | None = None
