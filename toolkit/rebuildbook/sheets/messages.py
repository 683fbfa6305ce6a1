"""Turn pydantic's errors into the toolkit's own: what was given, what is allowed, what is near."""

from __future__ import annotations

import difflib
import types
import typing
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from rebuildbook.sheets.source import PathKey, Problem, Source
from rebuildbook.units import DIMENSIONS


def problems_of(error: ValidationError, source: Source, model: type[BaseModel]) -> list[Problem]:
    """Give one Problem for each of pydantic's errors, on its line in the sheet."""
    return [_problem(detail, source, model) for detail in error.errors(include_url=False)]


def _problem(detail: ErrorDetails, source: Source, model: type[BaseModel]) -> Problem:
    path = _path(detail["loc"], source.data)
    kind = detail["type"]
    context = detail.get("ctx", {})
    owner = _owner(model, path[:-1], source.data)
    name = str(path[-1]) if path else ""
    if kind == "extra_forbidden":
        return source.problem(path, _unknown(name, owner))
    if kind == "missing":
        # a path that ends in a key the sheet lacks stands on the line of its parent
        return source.problem(path, f"is missing; {_about(owner, name)}")
    if path and path[-1] == "[key]":
        path = path[:-1]
        if kind == "quantity":
            return source.problem(path, _words(kind, context, detail))
        return source.problem(path, f"{path[-1]!r} is not a usable name; {_PATTERN}")
    return source.problem(path, _words(kind, context, detail))


_PATTERN = (
    "write lower-case letters, digits and hyphens for parts; letters, digits, space, _ and - for "
    "tools"
)


def _words(  # noqa: PLR0911, PLR0912  (one answer for each kind of pydantic's errors)
    kind: str, context: dict[str, Any], detail: ErrorDetails
) -> str:
    match kind:
        case "quantity":
            return str(context["message"])
        case "literal_error":
            return f"wanted one of {context['expected']}"
        case "union_tag_invalid":
            return f"{context['tag']!r} is not known; wanted one of {context['expected_tags']}"
        case "union_tag_not_found":
            return f"wants the field {context['discriminator']} to say which kind it is"
        case "string_pattern_mismatch":
            return f"is not a usable name; {_PATTERN}"
        case "string_too_long":
            return f"is longer than {context['max_length']} characters"
        case "string_too_short":
            return "is empty"
        case "string_type":
            return f"wanted text; got {_shape(detail['input'])}"
        case "int_type" | "int_parsing" | "int_from_float":
            return "wanted a whole number without a unit"
        case "greater_than_equal":
            return f"wanted at least {context['ge']}"
        case "less_than_equal":
            return f"wanted at most {context['le']}"
        case "dict_type" | "model_type" | "model_attributes_type":
            return f"wanted a mapping of fields; got {_shape(detail['input'])}"
        case "list_type":
            return f"wanted a list; got {_shape(detail['input'])}"
        case "too_long":
            return f"has {context['actual_length']} entries; at most {context['max_length']}"
        case "too_short":
            return f"is empty; wanted at least {context['min_length']}"
        case "bool_type" | "bool_parsing":
            return "wanted yes or no"
    if kind.startswith("date"):
        return "wanted a date as 2026-03-31"
    return detail["msg"]


def _shape(value: Any) -> str:
    if isinstance(value, dict):
        return "a mapping"
    if isinstance(value, list):
        return "a list"
    if value is None:
        return "nothing"
    return "yes/no" if isinstance(value, bool) else repr(value)


def _unknown(name: str, owner: type[BaseModel] | None) -> str:
    fields = list(owner.model_fields) if owner else []
    near = difflib.get_close_matches(name, fields, 1, 0.5)
    if near:
        return f"is not a field here; did you mean {near[0]}?"
    return f"is not a field here; the fields are {', '.join(fields)}"


def _about(owner: type[BaseModel] | None, name: str) -> str:
    field = owner.model_fields.get(name) if owner else None
    if field is None:
        return "it is needed"
    for mark in field.metadata:
        dimension = getattr(mark, "dimension", None)
        if dimension:
            return f"wanted a {dimension}, as {DIMENSIONS[dimension].example}"
    options = typing.get_args(field.annotation)
    if typing.get_origin(field.annotation) is typing.Literal:
        return f"wanted one of {', '.join(repr(option) for option in options)}"
    return field.description or "it is needed"


def _path(loc: tuple[int | str, ...], data: Any) -> PathKey:
    """Drop the union tags that pydantic puts into a location: they are no keys of the sheet."""
    path: list[int | str] = []
    here = data
    for position, step in enumerate(loc):
        last = position == len(loc) - 1
        if isinstance(here, dict) and (step in here or last):
            here = here.get(step)
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        elif not last:
            continue
        path.append(step)
    return tuple(path)


def _owner(model: type[BaseModel], path: PathKey, data: Any) -> type[BaseModel] | None:
    """Find the sheet part that the mapping at ``path`` is read as."""
    annotation: Any = model
    here = data
    for step in path:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            field = annotation.model_fields.get(str(step))
            if field is None:
                return None
            annotation = field.annotation
        else:
            annotation = typing.get_args(bare(annotation))[-1]
        here = here[step] if isinstance(here, dict) or isinstance(step, int) else None
        annotation = _pick(annotation, here)
    return (
        annotation if isinstance(annotation, type) and issubclass(annotation, BaseModel) else None
    )


def bare(annotation: Any) -> Any:
    """Take the marks off an annotated type."""
    while typing.get_origin(annotation) is typing.Annotated:
        annotation = typing.get_args(annotation)[0]
    return annotation


def _pick(annotation: Any, here: Any) -> Any:
    annotation = bare(annotation)
    if typing.get_origin(annotation) not in {typing.Union, types.UnionType}:
        return annotation
    options = [bare(option) for option in typing.get_args(annotation)]
    options = [option for option in options if option is not type(None)]
    for option in options:
        for key in ("shape", "form"):
            field = getattr(option, "model_fields", {}).get(key)
            options_here = typing.get_args(field.annotation) if field is not None else ()
            if isinstance(here, dict) and here.get(key) in options_here:
                return option
    return options[0]
