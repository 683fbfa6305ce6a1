"""Every field of a file that people write or read: path, meaning, form, example.

The fields come from the JSON schemas, their meanings from the models (and, where a model leaves it
to the name, from ``meanings.yaml``), their examples from the sheets of the demo.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from importlib import resources
from typing import Any

from pydantic.fields import FieldInfo
from ruamel.yaml import YAML

from rebuildbook.sheets.part import Part
from rebuildbook.site.forms import form_of, usual_example

Schema = Mapping[str, Any]
_DEEPEST = 12  # groups within groups; a schema that went round in circles would come here
_EXAMPLE = 70  # characters of an example


@dataclass(frozen=True, slots=True)
class Field:
    """One field: where it stands, what it means, how it is written, and whether it has to be.

    ``only`` says of which kind it is where a group has several ("shape: circle").
    """

    path: str
    meaning: str
    form: str
    example: str
    required: bool
    default: str = ""
    only: str = ""

    @property
    def top(self) -> str:
        """The field of the file that it is, or lies in."""
        return self.path.split(".")[0].removesuffix("[]")

    @property
    def anchor(self) -> str:
        """Its name on a page; the same path of several kinds has only the kind's."""
        kind = re.sub(r"\W+", "-", self.only.partition(": ")[2])
        return re.sub(r"[^\w.-]", "", self.path) + (f"--{kind}" if kind else "")


@dataclass(frozen=True, slots=True)
class _At:
    """A place in a schema: its path, and the values that the examples have there."""

    schema: Schema
    path: str
    seen: tuple[Any, ...]
    only: str = ""


class Missing(LookupError):  # noqa: N818  (an answer to the one who adds a field)
    """A field without a meaning."""


def fields_of(schema: Schema, examples: Iterable[Any] = ()) -> tuple[Field, ...]:
    """Give the fields of a schema in its own order, with examples out of plain data."""
    found = _walk(_At(schema, "", tuple(examples)), schema.get("$defs", {}), 0)
    return tuple(dict.fromkeys(found))


def _walk(at: _At, groups: Schema, depth: int) -> Iterator[Field]:
    if depth > _DEEPEST:
        raise RecursionError(f"{at.path}: the schema holds itself")
    schema = _opened(at.schema, groups)
    for one in schema.get("anyOf", ()):
        yield from _walk(replace(at, schema=one), groups, depth + 1)
    if "properties" not in schema:
        for one in schema.get("oneOf", ()):
            yield from _walk(_kind(at, one, groups, schema), groups, depth + 1)
    yield from _properties(at, schema, groups, depth)
    inside = schema.get("additionalProperties")
    if isinstance(inside, Mapping):
        seen = tuple(v for one in at.seen if isinstance(one, dict) for v in one.values())
        yield from _walk(_At(inside, f"{at.path}.<name>", seen), groups, depth + 1)
    if "items" in schema:
        seen = tuple(v for one in at.seen if isinstance(one, list) for v in one)
        yield from _walk(_At(schema["items"], f"{at.path}[]", seen), groups, depth + 1)


def _properties(at: _At, schema: Schema, groups: Schema, depth: int) -> Iterator[Field]:
    required = schema.get("required", ())
    for name, field in schema.get("properties", {}).items():
        path = f"{at.path}.{name}".lstrip(".")
        seen = tuple(one[name] for one in at.seen if isinstance(one, dict) and name in one)
        info = _info(schema, name)
        form = form_of(field, groups, info)
        yield Field(
            path,
            _meaning(schema, name, _opened(field, groups)),
            form,
            _example(seen, field) if "the fields" not in form else "",
            name in required,
            _default(field),
            at.only,
        )
        yield from _walk(_At(field, path, seen), groups, depth + 1)


def _kind(at: _At, one: Schema, groups: Schema, schema: Schema) -> _At:
    """One of several kinds that a group may be, with the examples that are of it."""
    told = schema.get("discriminator", {}).get("propertyName", "")
    says = _opened(one, groups).get("properties", {}).get(told, {})
    words = says.get("enum") or [says.get("const")]
    seen = tuple(v for v in at.seen if isinstance(v, dict) and v.get(told) in words)
    return replace(at, schema=one, seen=seen, only=f"{told}: {' or '.join(map(str, words))}")


def _opened(schema: Schema, groups: Schema) -> Schema:
    if "$ref" not in schema:
        return schema
    group: Schema = groups[schema["$ref"].rsplit("/", 1)[-1]]
    return {**group, **{key: value for key, value in schema.items() if key != "$ref"}}


@functools.cache
def _models() -> dict[str, type[Part]]:
    def below(part: type[Part]) -> Iterator[type[Part]]:
        for one in part.__subclasses__():
            yield one
            yield from below(one)

    return {one.__name__: one for one in below(Part)}


@functools.cache
def meanings() -> dict[str, dict[str, str]]:
    """Give the written meanings: class, field, words."""
    text = (resources.files("rebuildbook.site") / "meanings.yaml").read_text(encoding="utf-8")
    return {
        name: {field: str(words) for field, words in fields.items()}
        for name, fields in YAML(typ="safe").load(text).items()
    }


def _info(schema: Schema, name: str) -> FieldInfo | None:
    model = _models().get(schema.get("title", ""))
    return model.model_fields.get(name) if model else None


def _meaning(schema: Schema, name: str, field: Schema) -> str:
    """What a field means; raises Missing where nobody says."""
    model = _models().get(schema.get("title", ""))
    if model is None:  # a schema without a model describes every field itself
        words = field.get("description", "")
    else:
        classes = [one.__name__ for one in model.__mro__]
        written = (meanings().get(one, {}).get(name, "") for one in classes)
        words = model.model_fields[name].description or next(filter(None, written), "")
    if not words:
        raise Missing(f"{schema.get('title')}.{name} has no meaning; describe it in its model")
    return str(words)


def _default(field: Schema) -> str:
    value = field.get("default")
    if value is None or value in ([], {}):
        return ""
    return {True: "yes", False: "no"}.get(value, str(value)) if isinstance(value, bool) else (
        str(value) if not isinstance(value, dict) else ""
    )  # fmt: skip


def _example(seen: tuple[Any, ...], field: Schema) -> str:
    written = (_written(value) for value in seen)
    return next(filter(None, written), "") or usual_example(field)


def _written(value: Any) -> str:  # noqa: PLR0911  (one return for each kind of value)
    """A value as a sheet has it; empty for what is too long to show, or a group of fields."""
    match value:
        case bool():
            return "yes" if value else "no"
        case datetime():
            return f"{value:%Y-%m-%d %H:%M}"
        case date() | int() | float():
            return str(value)
        case str():
            text = " ".join(value.split())
            return text if len(text) <= _EXAMPLE else text[: _EXAMPLE - 1].rsplit(" ", 1)[0] + " …"
        case list() if value and not isinstance(value[0], dict | list):
            inside = ", ".join(map(_written, value[:3]))
            return f"[{inside}{', …' if len(value) > 3 else ''}]"
        case dict() if value:
            key, one = next(iter(value.items()))
            text = f"{key}: {_written(one)}" if not isinstance(one, dict) else ""
            return text if len(text) <= _EXAMPLE else ""
    return ""
