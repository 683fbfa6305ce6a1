"""In words, how the value of a field is written."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, get_args, get_origin

from pydantic.fields import FieldInfo

from rebuildbook.sheets.fields import JobNumber, Label, OneOf, Quantity, ReadingName, Slug
from rebuildbook.units import DIMENSIONS

Schema = Mapping[str, Any]
_NAME = "a name of small letters, digits and hyphens"
_NAMED = (
    (Slug, _NAME),
    (ReadingName, _NAME),
    (Label, "a label of letters, digits, spaces and hyphens"),
    (JobNumber, "a job number of letters, digits, points and hyphens"),
)
_FORMS = {
    "single": "one value",
    "tolerance": "with a tolerance",
    "range": "a range",
    "spread": "± and a value",
}
_SIGNS = {"positive": "above zero", "not negative": "zero or more", "any": ""}
_PLAIN = {
    "string": "text",
    "number": "a number",
    "boolean": "yes or no",
    "object": "the fields below it",
    "null": "nothing",
}


def form_of(schema: Schema, groups: Schema, info: FieldInfo | None) -> str:
    """Say how a field is written; ``info`` is the field of the model, where there is one."""
    marks = tuple(_marks(info)) if info else ()
    return _form(schema, groups, marks)


def _form(schema: Schema, groups: Schema, marks: tuple[Any, ...]) -> str:  # noqa: PLR0911
    if "anyOf" in schema:
        kinds = [one for one in schema["anyOf"] if one.get("type") != "null"]
        return " or ".join(dict.fromkeys(_form(one, groups, marks) for one in kinds))
    if "$ref" in schema:
        group = groups[schema["$ref"].rsplit("/", 1)[-1]]
        return _form(group, groups, ())
    if "oneOf" in schema and "properties" not in schema:
        return "the fields below it, by its kind"
    if "const" in schema:
        return f"the word {schema['const']}" if schema.get("type") == "string" else "a number"
    if "enum" in schema:
        return _choice(schema["enum"])
    if schema.get("type") == "array":
        return f"a list; each {_form(schema['items'], groups, marks)}"
    inside = schema.get("additionalProperties")
    if isinstance(inside, Mapping):
        return f"names, each with {_form(inside, groups, marks)}"
    if "properties" in schema:
        return "the fields below it"
    return _plain(schema, marks)


def _choice(words: list[Any]) -> str:
    texts = [str(word) for word in words if not isinstance(word, bool)]
    if texts == ["yes", "no"]:
        return "yes or no"
    shown = [
        text if re.search(r"\w", text) else f"“{text}”" if text else "nothing" for text in texts
    ]
    return f"{', '.join(shown[:-1])} or {shown[-1]}" if len(shown) > 1 else shown[0]


def _plain(schema: Schema, marks: tuple[Any, ...]) -> str:  # noqa: PLR0911
    quantity = next((mark for mark in marks if isinstance(mark, Quantity)), None)
    if quantity is not None:
        return _quantity(quantity)
    if schema.get("format") == "date":
        return "a date, year first"
    kind = schema.get("type", "string")
    if isinstance(kind, list):
        return " or ".join(_PLAIN[one] for one in kind)
    if kind == "integer":
        least, most = schema.get("minimum"), schema.get("maximum")
        span = f" from {least} to {most}" if least is not None and most is not None else ""
        return f"a whole number{span}"
    if "clock" in schema.get("description", ""):
        return "a date and the time on the shop's clock"
    for named, words in _NAMED:
        if set(get_args(named)[1:]) <= set(marks):
            return words
    long = schema.get("maxLength")
    return f"text of up to {long} characters" if long and kind == "string" else _PLAIN[kind]


def _quantity(quantity: Quantity) -> str:
    names = [quantity.dimension, *(quantity.others if isinstance(quantity, OneOf) else ())]
    what = " or ".join(_with_article(name, quantity.reference) for name in names)
    unit = "" if DIMENSIONS[quantity.dimension].si == "" else " with its unit"
    forms = [_FORMS[form] for form in quantity.forms]
    written = f"{', '.join(forms[:-1])} or {forms[-1]}" if len(forms) > 1 else forms[0]
    signed = DIMENSIONS[quantity.dimension].signed or quantity.forms == ("spread",)
    sign = "" if signed else _SIGNS[quantity.sign]
    return f"{what}{unit}: {written}{', ' + sign if sign else ''}"


def _with_article(name: str, reference: str) -> str:
    if name == "pressure" and reference == "difference":
        return "a pressure difference"
    if name == "fraction":
        return "a share"
    words = f"{reference} {name}" if name == "pressure" and reference else name
    return f"{'an' if words[0] in 'aeio' else 'a'} {words}"


def _marks(info: FieldInfo) -> Iterator[Any]:
    """What the annotation of a field is marked with, its innermost type's first."""
    yield from _inside(info.annotation)
    yield from info.metadata


def _inside(annotation: Any) -> Iterator[Any]:
    arguments = get_args(annotation)
    if get_origin(annotation) is Annotated:
        yield from _inside(arguments[0])
        yield from arguments[1:]
        return
    values = arguments[1:] if get_origin(annotation) is dict else arguments
    for one in values:
        yield from _inside(one)


def usual_example(schema: Schema) -> str:
    """An example that the schema itself knows."""
    for one in (schema, *schema.get("anyOf", ()), schema.get("items", {}),
                schema.get("additionalProperties", {})):  # fmt: skip
        if not isinstance(one, Mapping):
            continue
        known = one.get("examples") or one.get("enum") or [one.get("const", one.get("minimum", ""))]
        if known[0] not in ("", None):
            return str(known[0])
    return ""
