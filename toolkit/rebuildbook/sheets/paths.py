"""Find the field that a dotted path names, and what may be written there."""

from __future__ import annotations

import difflib
import typing
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from rebuildbook.sheets.fields import Quantity
from rebuildbook.sheets.messages import bare
from rebuildbook.sheets.overrides import Sheets, accepts, children
from rebuildbook.sheets.source import Problem, SheetError


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a sheet: its path from the sheet's root, what it takes, what it holds now.

    ``quantity`` is None for text, whole numbers, choices and dates; ``plain`` is None where the
    sheet leaves the field out.
    """

    sheet: str
    steps: tuple[str, ...]
    quantity: Quantity | None
    plain: Any


def field_at(path: str, sheets: Sheets, given: str) -> Field:
    """Find the field at ``path`` in the sheets, read as ``--set`` reads it.

    ``given`` is what was asked, for messages ("--over duty.rate=…"). All that stands above the
    field must be there. Raises SheetError naming the step that is not, and what is near.
    """
    steps = [step.strip() for step in path.split(".")]
    sheet, steps = _sheet_of(steps, sheets, given)
    source, model = sheets[sheet]
    here: Any = source.data
    annotations: list[Any] = [model]
    for position, step in enumerate(steps):
        above = ".".join(steps[:position])
        annotations = [child for one in annotations for child in children(one, step)]
        offered = list(_offered(model, steps[:position], here))
        last = position == len(steps) - 1
        absent = not last and _below(here, step) is None
        if not annotations or absent or (isinstance(here, list) and step not in offered):
            raise _problem(given, ".".join(steps[: position + 1]), _unknown(step, above, offered))
        here = _below(here, step)
    found = [mark for one in annotations for mark in _quantities(one)]
    fields = [name for one in annotations for name in _fields(one)]
    if fields and not found:
        raise _problem(given, path, f"is a mapping of fields; name one: {', '.join(fields)}")
    return Field(sheet, tuple(steps), found[0] if found else None, here)


def quantity_at(path: str, sheets: Sheets, given: str) -> Quantity | None:
    """What may be written at ``path``, also where the sheets have nothing there yet.

    None for text, choices and dates. Raises SheetError for a path that no sheet can have.
    """
    sheet, steps = _sheet_of([step.strip() for step in path.split(".")], sheets, given)
    annotations: list[Any] = [sheets[sheet][1]]
    for step in steps:
        annotations = [child for one in annotations for child in children(one, step)]
    if not annotations:
        raise _problem(given, path, "no sheet has such a field")
    return next((mark for one in annotations for mark in _quantities(one)), None)


def _sheet_of(steps: list[str], sheets: Sheets, given: str) -> tuple[str, list[str]]:
    if steps[0] in sheets and len(steps) > 1:
        return steps[0], steps[1:]
    dotted = ".".join(steps)
    having = [name for name, (_, model) in sheets.items() if accepts(model, steps)]
    having = having or [name for name, (_, model) in sheets.items() if steps[0] in _fields(model)]
    if len(having) == 1:
        return having[0], steps
    if having:
        ways = " or ".join(f"{name}.{dotted}" for name in having)
        raise _problem(given, dotted, f"more than one sheet has {dotted}; write {ways}")
    offered = sorted({field for _, model in sheets.values() for field in _fields(model)})
    raise _problem(given, dotted, _unknown(steps[0], "", offered))


def _fields(annotation: Any) -> list[str]:
    annotation = bare(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return list(annotation.model_fields)
    if typing.get_origin(annotation) in {dict, list}:
        return []
    return [name for option in typing.get_args(annotation) for name in _fields(option)]


def _offered(model: type[BaseModel], steps: list[str], here: Any) -> Iterable[str]:
    """What may be named below a part: its fields, else what the sheet has there."""
    annotations: list[Any] = [model]
    for step in steps:
        annotations = [child for one in annotations for child in children(one, step)]
    fields = dict.fromkeys(name for one in annotations for name in _fields(one))
    if fields:
        # of the parts that a form or shape decides between, those with the fields in hand
        return fields
    if isinstance(here, list):
        return [str(index) for index in range(len(here))]
    return here if isinstance(here, dict) else []


def _below(here: Any, step: str) -> Any:
    if isinstance(here, dict):
        return here.get(step)
    if isinstance(here, list) and step.isdigit() and int(step) < len(here):
        return here[int(step)]
    return None


def _quantities(annotation: Any) -> list[Quantity]:
    arguments = typing.get_args(annotation)
    if typing.get_origin(annotation) in {dict, list}:
        return []
    if typing.get_origin(annotation) is typing.Annotated:
        marks = [mark for mark in arguments[1:] if isinstance(mark, Quantity)]
        return marks or _quantities(arguments[0])
    return [mark for option in arguments for mark in _quantities(option)]


def _unknown(step: str, above: str, offered: list[str]) -> str:
    where = f"below {above}" if above else "in the sheets"
    if step in offered:
        return f"is not given in the sheet; there is nothing {where}.{step} to change"
    near = difflib.get_close_matches(step, offered, 1, 0.5)
    listed = ", ".join(offered) or "nothing"
    hint = f"did you mean {near[0]}?" if near else f"there are {listed}"
    return f"no {step!r} {where}; {hint}"


def _problem(given: str, dotted: str, message: str) -> SheetError:
    return SheetError([Problem(given, None, dotted, "", message)])
