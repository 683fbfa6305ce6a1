"""Field types of the sheets: quantities with their dimension, names, text."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    GetCoreSchemaHandler,
    StringConstraints,
    WithJsonSchema,
)
from pydantic_core import PydanticCustomError, core_schema

from rebuildbook.calculators.threads import parse_thread
from rebuildbook.units import DIMENSIONS, Amount, UnitProblem, parse_amount
from rebuildbook.units.grammar import Reference
from rebuildbook.units.parse import Form

Sign = Literal["positive", "not negative", "any"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """Marks a field as a quantity of one dimension; pydantic reads it through ``parse_amount``."""

    dimension: str
    forms: tuple[Form, ...] = ("single", "tolerance", "range")
    sign: Sign = "positive"
    reference: Reference = ""

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> Any:
        return core_schema.no_info_plain_validator_function(
            self.read, serialization=core_schema.plain_serializer_function_ser_schema(str_of)
        )

    def __get_pydantic_json_schema__(self, _schema: Any, _handler: Any) -> dict[str, Any]:
        kind = DIMENSIONS[self.dimension]
        about = f"A {self.reference + ' ' if self.reference else ''}{self.dimension} with its unit"
        if kind.si == "":
            return {
                "type": ["string", "number"],
                "description": f"A {self.dimension}",
                "examples": kind.example.split(", "),
            }
        return {"type": "string", "description": about, "examples": kind.example.split(", ")}

    def read(self, value: Any) -> Amount:
        """Read one written value; raises pydantic's error with our words."""
        kind = DIMENSIONS[self.dimension]
        if isinstance(value, Amount):
            return value
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            what = {dict: "a mapping", list: "a list", bool: "yes/no", type(None): "nothing"}
            shape = what.get(type(value), "something else")
            raise _refuse(f"wanted one {self.dimension} such as {kind.example}; got {shape}")
        try:
            amount = parse_amount(str(value), self.dimension, allow=self.forms)
        except UnitProblem as problem:
            raise _refuse(str(problem)) from None
        return self._with_reference(self._checked_sign(amount))

    def _checked_sign(self, amount: Amount) -> Amount:
        if amount.form == "spread" or DIMENSIONS[self.dimension].signed:
            return amount
        if amount.low < 0 and self.sign != "any":
            raise _refuse(f"{amount.text!r} is negative; wanted a {self.dimension} above zero")
        if amount.low == 0 and self.sign == "positive":
            raise _refuse(f"{amount.text!r} is zero; wanted a {self.dimension} above zero")
        return amount

    def _with_reference(self, amount: Amount) -> Amount:
        if amount.reference == self.reference or self.dimension != "pressure":
            return amount
        if self.reference == "absolute":
            raise _refuse(
                f"{amount.text!r} does not say that it is absolute; this field takes an absolute "
                "pressure, as 14.7 psia or 1.013 bara"
            )
        if amount.reference != "":
            raise _refuse(
                f"{amount.text!r} is {_STATED[amount.reference]}; this field takes "
                f"{_STATED[self.reference]}, and the two are not mixed: convert it first"
            )
        return Amount(
            amount.low, amount.nominal, amount.high, amount.unit, amount.dimension, amount.form,
            self.reference, amount.text,
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class OneOf(Quantity):
    """A quantity whose unit says which of several dimensions it has."""

    others: tuple[str, ...] = ()

    def __get_pydantic_json_schema__(self, _schema: Any, _handler: Any) -> dict[str, Any]:
        return {
            "type": "string",
            "description": f"A {' or '.join(self._names)} with its unit",
            "examples": [DIMENSIONS[name].example.split(", ")[0] for name in self._names],
        }

    @property
    def _names(self) -> tuple[str, ...]:
        return self.dimension, *self.others

    def read(self, value: Any) -> Amount:
        """Read one written value in the first of the dimensions that its unit fits."""
        if isinstance(value, Amount):
            return value
        for name in self._names:
            try:
                amount = parse_amount(str(value), name, allow=self.forms)
            except UnitProblem:
                continue
            return self._checked_sign(amount)
        examples = " or ".join(DIMENSIONS[name].example.split(", ")[0] for name in self._names)
        raise _refuse(f"wanted one {' or '.join(self._names)} with its unit, as {examples}")


_STATED = {
    "gauge": "a gauge pressure",
    "absolute": "an absolute pressure",
    "difference": "a pressure difference",
}


def str_of(amount: Amount) -> str:
    """Write an amount back in its canonical spelling."""
    return amount.canonical


def _refuse(message: str) -> PydanticCustomError:
    # braces would be read as a format template
    return PydanticCustomError("quantity", "{message}", {"message": message})


def plain_text(text: str) -> str:
    """Refuse control characters and what no font has; line ends and tabs are fine."""
    for char in text:
        if unicodedata.category(char) in {"Cc", "Cs", "Co", "Cn"} and char not in "\n\t":
            raise _refuse(f"holds a control character (U+{ord(char):04X}); write plain text")
    return text


def _as_text(value: Any) -> Any:
    """Take a number where text is wanted: serial 0042 must stay 0042, so only integers pass."""
    return str(value) if isinstance(value, int) and not isinstance(value, bool) else value


SLUG = r"^[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?"


def _thread(text: str) -> str:
    if re.fullmatch(SLUG, text):
        return text  # perhaps the name of a special thread, which only the whole sheet can tell
    try:
        parse_thread(text)
    except ValueError as problem:
        raise _refuse(str(problem)) from None
    return text


_SINGLE: tuple[Form, ...] = ("single",)
_TOLERANCED: tuple[Form, ...] = ("single", "tolerance", "range")

Length = Annotated[Amount, Quantity("length", _TOLERANCED)]
LengthOrZero = Annotated[Amount, Quantity("length", _TOLERANCED, sign="not negative")]
Head = Annotated[Amount, Quantity("head", _SINGLE)]
HeadOrLift = Annotated[Amount, Quantity("head", _SINGLE, sign="any")]
Area = Annotated[Amount, Quantity("area", _TOLERANCED)]
Volume = Annotated[Amount, Quantity("volume", _TOLERANCED)]
Torque = Annotated[Amount, Quantity("torque", _SINGLE)]
TorqueWindow = Annotated[Amount, Quantity("torque", ("range", "tolerance"))]
TorqueOrRange = Annotated[Amount, Quantity("torque", ("single", "tolerance", "range"))]
Force = Annotated[Amount, Quantity("force", _TOLERANCED, sign="not negative")]
SpringRate = Annotated[Amount, Quantity("spring rate", _TOLERANCED)]
Mass = Annotated[Amount, Quantity("mass", _TOLERANCED)]
Density = Annotated[Amount, Quantity("density", _TOLERANCED)]
Viscosity = Annotated[Amount, Quantity("viscosity", _TOLERANCED)]
Temperature = Annotated[Amount, Quantity("temperature", _TOLERANCED, sign="any")]
Gauge = Annotated[Amount, Quantity("pressure", _SINGLE, reference="gauge")]
GaugeOrZero = Annotated[
    Amount, Quantity("pressure", _SINGLE, sign="not negative", reference="gauge")
]
GaugeRange = Annotated[
    Amount, Quantity("pressure", ("range",), sign="not negative", reference="gauge")
]
GaugeOrVacuum = Annotated[Amount, Quantity("pressure", _SINGLE, sign="any", reference="gauge")]
Difference = Annotated[Amount, Quantity("pressure", _SINGLE, reference="difference")]
Absolute = Annotated[Amount, Quantity("pressure", _SINGLE, reference="absolute")]
Stress = Annotated[Amount, Quantity("stress", _SINGLE)]
Flow = Annotated[Amount, Quantity("flow", _SINGLE)]
Rate = Annotated[Amount, Quantity("rate", _SINGLE)]
Creep = Annotated[Amount, Quantity("speed", _SINGLE, sign="not negative")]
Duration = Annotated[Amount, Quantity("time", _SINGLE)]
DurationOrRange = Annotated[Amount, Quantity("time", _TOLERANCED)]
Power = Annotated[Amount, Quantity("power", _SINGLE)]
Angle = Annotated[Amount, Quantity("angle", _SINGLE, sign="any")]
Fraction = Annotated[Amount, Quantity("fraction", _SINGLE)]
FractionOrZero = Annotated[Amount, Quantity("fraction", _SINGLE, sign="not negative")]
Accuracy = Annotated[Amount, Quantity("fraction", ("spread",))]
Number = Annotated[Amount, Quantity("number", _TOLERANCED)]
Expansion = Annotated[Amount, Quantity("expansion", _TOLERANCED, sign="any")]
SpecificHeat = Annotated[Amount, Quantity("specific heat", _TOLERANCED)]
Compliance = Annotated[Amount, Quantity("compliance", _TOLERANCED, sign="not negative")]
BenchReading = Annotated[Amount, OneOf("pressure", _SINGLE, sign="any", others=("flow", "speed"))]
NumberOrZero = Annotated[Amount, Quantity("number", _SINGLE, sign="not negative")]
TorqueRange = Annotated[Amount, Quantity("torque", ("range",))]
TemperatureRange = Annotated[Amount, Quantity("temperature", ("range",), sign="any")]


def _yes_no(value: Any) -> Any:
    return {"yes": True, "no": False}.get(value, value) if isinstance(value, str) else value


YesNo = Annotated[
    bool, BeforeValidator(_yes_no), WithJsonSchema({"enum": ["yes", "no", True, False]})
]


def _moment(value: Any) -> datetime:
    if isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d[ T]\d\d:\d\d", value.strip()):
        try:
            return datetime.fromisoformat(value.strip())
        except ValueError:
            pass  # a month 13, an hour 25
    raise _refuse("wanted a date and the time on the shop's clock, as 2026-03-31 14:30")


Moment = Annotated[
    datetime,
    BeforeValidator(_moment),
    WithJsonSchema(
        {
            "type": "string",
            "pattern": r"^\d{4}-\d\d-\d\d[ T]\d\d:\d\d$",
            "description": "A date and the time on the shop's clock",
            "examples": ["2026-03-31 14:30"],
        }
    ),
]
Text = Annotated[
    str,
    BeforeValidator(_as_text),
    StringConstraints(strip_whitespace=True, min_length=1, max_length=200),
    AfterValidator(plain_text),
]
Remark = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=4000),
    AfterValidator(plain_text),
]
Slug = Annotated[
    str,
    BeforeValidator(_as_text),
    StringConstraints(pattern=f"{SLUG}$"),
]
ReadingName = Annotated[
    str,
    BeforeValidator(_as_text),
    StringConstraints(pattern=r"^[a-z0-9](?:[a-z0-9-]{0,158}[a-z0-9])?$"),
]
Label = Annotated[
    str,
    BeforeValidator(_as_text),
    StringConstraints(pattern=r"^[\p{L}\p{N}](?:[\p{L}\p{N} _-]{0,46}[\p{L}\p{N}])?$"),
]
JobNumber = Annotated[
    str,
    BeforeValidator(_as_text),
    StringConstraints(pattern=r"^[\p{L}\p{N}](?:[\p{L}\p{N}._-]{0,46}[\p{L}\p{N}])?$"),
]
ThreadText = Annotated[Text, AfterValidator(_thread)]
