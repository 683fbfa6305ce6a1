"""The what-if sheet: a job card with some values changed, kept in a file of its own.

It names the card and lists settings as ``--set`` takes them; nothing of the card is repeated.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, WithJsonSchema
from pydantic_core import PydanticCustomError

from rebuildbook.sheets.fields import Moment, Remark, Slug, Text, plain_text
from rebuildbook.sheets.part import Part


def _as_set(value: Any) -> Any:
    """Take what a sheet may hold as ``--set`` would be given it; an empty value leaves out."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value) if isinstance(value, int) else value


def _steps(path: str) -> str:
    if "=" in path or not all(step.strip() for step in path.split(".")):
        words = "is not the path of a field; write its steps with points, as joints.cover.torque"
        raise PydanticCustomError("quantity", "{message}", {"message": words})
    return path


SettingPath = Annotated[
    str, StringConstraints(strip_whitespace=True, max_length=300), AfterValidator(_steps)
]
SettingText = Annotated[
    str,
    BeforeValidator(_as_set),
    StringConstraints(strip_whitespace=True, max_length=2000),
    AfterValidator(plain_text),
    WithJsonSchema({
        "type": ["string", "number", "boolean", "null"],
        "description": "The value, as the sheet would have it; a list as '[1 mm, 2 mm]'",
        "examples": ["21 to 24 N*m", "70 psi"],
    }),
]  # fmt: skip


class WhatIfSheet(Part):
    """A job card that is named, and what is changed of it and of the sheets it names."""

    kind: Literal["what-if"]
    card: Text = Field(description="The job card, as seen from this file's folder")
    title: Text | None = None
    board: Slug | None = Field(None, description="The what-if board that it was written from")
    written: Moment | None = None
    note: Remark | None = None
    settings: dict[SettingPath, SettingText] = Field(
        min_length=1,
        max_length=200,
        description="Dotted path of a field of the sheets: value, as --set takes them",
    )
