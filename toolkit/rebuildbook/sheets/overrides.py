"""Overrides by dotted path: ``joints.cover.torque=15 N*m`` changes one value of one sheet."""

from __future__ import annotations

import typing
from typing import Any

from pydantic import BaseModel

from rebuildbook.sheets.messages import bare
from rebuildbook.sheets.source import Problem, SheetError, Source, read_value

Sheets = dict[str, tuple[Source, type[BaseModel]]]


def apply_overrides(settings: list[str], sheets: Sheets) -> None:
    """Change the plain values of the sheets ("job", "model", "shop") in place.

    A path may begin with the sheet's name; without it, the sheet that has such a field is taken.
    Raises SheetError naming the setting for a path that no sheet has.
    """
    problems: list[Problem] = []
    for setting in settings:
        try:
            _apply(setting, sheets)
        except SheetError as error:
            problems += error.problems
    if problems:
        raise SheetError(problems)


def split_setting(setting: str) -> tuple[list[str], str]:
    """Split ``dotted.path=value``; raises SheetError for what is not one."""
    path, equals, value = setting.partition("=")
    steps = [step.strip() for step in path.split(".")]
    if not equals or not all(steps):
        message = "wanted dotted.path=value, as joints.cover.torque='21 to 24 N*m'"
        raise SheetError([Problem(f"--set {setting}", None, "", "", message)])
    return steps, value.strip()


def _apply(setting: str, sheets: Sheets) -> None:
    steps, text = split_setting(setting)
    name, steps = _which_sheet(steps, sheets, setting)
    source, _ = sheets[name]
    here: Any = source.data
    for position, step in enumerate(steps[:-1]):
        here = _descend(here, step, setting, ".".join(steps[: position + 1]))
    key = _key(here, steps[-1], setting, ".".join(steps))
    here[key] = read_value(text)
    path = tuple(int(step) if step.isdigit() else step for step in steps)
    source.overridden[path] = setting


def _which_sheet(steps: list[str], sheets: Sheets, setting: str) -> tuple[str, list[str]]:
    if steps[0] in sheets and len(steps) > 1:
        return steps[0], steps[1:]
    having = [name for name, (_, model) in sheets.items() if accepts(model, steps)]
    if len(having) == 1:
        return having[0], steps
    dotted = ".".join(steps)
    if having:
        ways = " or ".join(f"{name}.{dotted}" for name in having)
        message = f"more than one sheet has {dotted}; write {ways}"
    else:
        fields = sorted({field for _, model in sheets.values() for field in model.model_fields})
        message = f"no sheet has a field {dotted}; the first step is one of {', '.join(fields)}"
    raise SheetError([Problem(f"--set {setting}", None, dotted, "", message)])


def accepts(model: type[BaseModel], steps: list[str]) -> bool:
    """Whether a sheet of this kind can have a field at this path."""
    annotations: list[Any] = [model]
    for step in steps:
        following: list[Any] = []
        for annotation in annotations:
            following += children(annotation, step)
        if not following:
            return False
        annotations = following
    return True


def children(annotation: Any, step: str) -> list[Any]:
    """Give what may stand one step below a part of a sheet, with the marks of its fields."""
    annotation = bare(annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        field = annotation.model_fields.get(step)
        if field is None:
            return []
        marks = tuple(field.metadata)
        return [typing.Annotated[(field.annotation, *marks)] if marks else field.annotation]
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is dict:
        return [arguments[1]]
    if origin is list:
        return [arguments[0]] if step.isdigit() else []
    return [child for option in arguments for child in children(option, step)]


def _descend(here: Any, step: str, setting: str, dotted: str) -> Any:
    key = _key(here, step, setting, dotted)
    if isinstance(here, dict) and here.get(key) is None:
        here[key] = {}
    return here[key]


def _key(here: Any, step: str, setting: str, dotted: str) -> Any:
    if isinstance(here, dict):
        return step
    if isinstance(here, list) and step.isdigit() and int(step) < len(here):
        return int(step)
    length = f"a list of {len(here)}" if isinstance(here, list) else "a single value"
    message = f"cannot be reached: what stands above it is {length}"
    raise SheetError([Problem(f"--set {setting}", None, dotted, "", message)])
