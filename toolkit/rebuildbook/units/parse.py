"""Read quantities as a shop writes them, and ask where a spelling could mean two things."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from rebuildbook.units.grammar import Reference, UnitProblem, canonical_unit, fits, read_unit
from rebuildbook.units.registry import registry
from rebuildbook.units.show import from_unit, plain, to_unit, with_unit
from rebuildbook.units.table import DIMENSIONS, factor, pint_expression

Form = Literal["single", "tolerance", "range", "spread"]


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity as written: SI bounds, the unit it was written in, and its form.

    ``low``, ``nominal`` and ``high`` are SI floats; for a single value they are equal, for a
    range the nominal is the middle, for a spread ("± 2 thou") the nominal is zero.
    """

    low: float
    nominal: float
    high: float
    unit: str
    dimension: str
    form: Form = "single"
    reference: Reference = ""
    text: str = ""

    @property
    def canonical(self) -> str:
        """Echo the quantity in its canonical spelling.

        >>> parse_amount("21 to 24 Nm", "torque").canonical
        '21 to 24 N·m'
        >>> parse_amount("1 1/2 in ± 2 thou", "length").canonical
        '1.5 in ± 0.002 in'
        """
        write = self._write
        if self.form == "single":
            text = write(self.nominal)
        elif self.form == "range":
            text = with_unit(f"{self._bare(self.low)} to {self._bare(self.high)}", self.unit)
        else:
            up = self._step(self.high - self.nominal)
            down = self._step(self.nominal - self.low)
            spread = f"± {up}" if up == down else f"+{up} / −{down}"
            text = spread if self.form == "spread" else f"{write(self.nominal)} {spread}"
        words = {"": "", "gauge": " (gauge)", "absolute": " (absolute)", "difference": ""}
        return text + words[self.reference]

    def to(self, unit: str) -> float:
        """Give the nominal value in ``unit``."""
        return to_unit(self.nominal, unit)

    def _bare(self, si: float) -> str:
        return plain(to_unit(si, self.unit))

    def _write(self, si: float) -> str:
        return with_unit(self._bare(si), self.unit)

    def _step(self, si: float) -> str:
        return with_unit(plain(si / factor(self.unit)[0]), self.unit)


_NUMBER = (
    r"[+\-]?(?:\d+[ \-]\d+/\d+|\d+/\d+|\d{1,3}(?: \d{3})+(?:\.\d+)?(?!\d)"
    r"|\d+\.?\d*(?:[eE][+\-]?\d+)?|\.\d+)"
)
_ONE = re.compile(rf"^\s*({_NUMBER})\s*(.*?)\s*$")
_VULGAR = str.maketrans({
    "½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
    "\u00a0": " ", "\u202f": " ", "\u2009": " ", "−": "-", "–": " to ", "—": " to ", "⋅": "·",
    "∙": "·", "•": "·", "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "⁄": "/", "º": "°",
})  # fmt: skip


def parse_amount(text: str, dimension: str, *, allow: tuple[Form, ...] = ()) -> Amount:
    """Read ``text`` as a quantity of ``dimension`` (a name in ``DIMENSIONS``).

    ``allow`` limits the forms taken (empty: any). Raises UnitProblem with a message that says
    what was given and what is allowed.

    >>> parse_amount("18 ft-lb", "torque").canonical
    '18 ft·lbf'
    >>> parse_amount("90 psig", "pressure").canonical
    '90 psi (gauge)'
    >>> parse_amount("21", "torque")
    Traceback (most recent call last):
    ...
    rebuildbook.units.grammar.UnitProblem: '21' has no unit; write a torque with its unit, ...
    """
    kind = DIMENSIONS[dimension]
    cleaned = _clean(text)
    if not cleaned:
        raise UnitProblem(f"nothing was given; write a {dimension} such as {kind.example}")
    form, first, second, third = _shape(cleaned)
    if allow and form not in allow:
        raise UnitProblem(f"{text!r} is a {_WORDS[form]}; wanted {_forms(allow)}")
    amount = _READERS[form](first, second, third, dimension, text)
    if not amount.low <= amount.nominal <= amount.high:
        raise UnitProblem(f"{text!r} runs backwards: the first value is the larger one")
    return amount


def parse_quantity(text: str) -> Any:
    """Read a single quantity whose dimension is not known beforehand; gives a pint quantity.

    >>> parse_quantity("18 ft*lbf").to("N*m").magnitude
    24.40472306...
    >>> parse_quantity("5 lb")
    Traceback (most recent call last):
    ...
    rebuildbook.units.grammar.UnitProblem: 'lb' could be ... write lbf for force or lbm for mass
    """
    value, unit_text = _number_and_unit(_clean(text), text)
    if not unit_text:
        return registry.Quantity(value, "dimensionless")
    unit, _ = read_unit(unit_text, None, text)
    return registry.Quantity(value, registry.Unit(pint_expression(unit)))


def parse_unit(text: str, dimension: str) -> tuple[str, Reference]:
    """Read the name of a unit of ``dimension``, such as "ft-lb": canonical unit and reference.

    >>> parse_unit("lb-ft", "torque"), parse_unit("psig", "pressure")
    (('ft*lbf', ''), ('psi', 'gauge'))
    """
    unit, reference = read_unit(_clean(text), dimension, text)
    if not fits(unit, dimension):
        raise UnitProblem(f"{text!r} is not a unit of {dimension}; wanted {_offered(dimension)}")
    return canonical_unit(unit, dimension), reference


def dimension_of(text: str) -> str:
    """Tell what kind of quantity ``text`` is; a unit that could be two kinds is asked about.

    >>> dimension_of("21 to 24 ft-lb"), dimension_of("6 barg"), dimension_of("20 °C")
    ('torque', 'pressure', 'temperature')
    """
    _, *pieces = _shape(_clean(text))
    units = [_number_and_unit(piece, text)[1] for piece in pieces if piece.strip()]
    named = [unit for unit in units if unit]
    if not named:
        raise UnitProblem(f"{text!r} has no unit")
    unit, _ = read_unit(named[0], None, text)
    for dimension in DIMENSIONS:
        if fits(unit, dimension):
            return dimension
    raise UnitProblem(f"{text!r} is not a quantity that the sheets use")


def _offered(dimension: str) -> str:
    kind = DIMENSIONS[dimension]
    return ", ".join(dict.fromkeys((*kind.metric, *kind.us)))


_WORDS = {
    "single": "single value",
    "tolerance": "value with a tolerance",
    "range": "range",
    "spread": "plus-or-minus spread",
}


def _forms(allow: tuple[Form, ...]) -> str:
    return " or ".join(f"a {_WORDS[form]}" for form in allow)


def _clean(text: str) -> str:
    cleaned = " ".join(text.translate(_VULGAR).split())
    cleaned = cleaned.replace("+/-", "±").replace("+-", "±")
    if re.search(r"\d,\d", cleaned):
        raise UnitProblem(
            f"{text!r} has a comma: a decimal comma or a thousands mark? "
            f"Write a decimal point ({cleaned.replace(',', '.')}) or no mark "
            f"({cleaned.replace(',', '')})"
        )
    if re.match(r"^[±+\-]?\s*\.?(nan|inf|infinity)\b", cleaned, re.IGNORECASE):
        raise UnitProblem(f"{text!r} is not a number")
    return cleaned


def _shape(cleaned: str) -> tuple[Form, str, str, str]:
    if cleaned.startswith("±"):
        return "spread", cleaned[1:], "", ""
    if "±" in cleaned:
        base, _, spread = cleaned.partition("±")
        return "tolerance", base, spread, spread
    lopsided = re.match(r"^(.*\S)\s*\+\s*([^/+]+)/\s*-\s*(.+)$", cleaned)
    if lopsided:
        return "tolerance", lopsided[1], lopsided[3], lopsided[2]
    words = re.match(r"^(.+?)\s+(?:to|\.\.\.?)\s+(.+)$", cleaned)
    if words:
        return "range", words[1], words[2], ""
    dash = re.match(rf"^({_NUMBER})\s?-\s?({_NUMBER}\s*\D.*)$", cleaned)
    if dash and not _ONE.match(cleaned)[2].startswith("/"):  # type: ignore[index]
        whole = re.match(rf"^{_NUMBER}(?!\d)", cleaned)
        if whole is None or whole[0] == dash[1]:
            return "range", dash[1], dash[2], ""
    return "single", cleaned, "", ""


def _read_single(text: str, _b: str, _c: str, dimension: str, given: str) -> Amount:
    si, unit, reference = _value(text, dimension, given)
    return Amount(si, si, si, unit, dimension, "single", reference, given)


def _read_range(text: str, upper: str, _c: str, dimension: str, given: str) -> Amount:
    high, unit, reference = _value(upper, dimension, given)
    _, low_unit = _number_and_unit(text, given)
    low_text = text if low_unit else f"{text} {_number_and_unit(upper, given)[1]}"
    low, _, low_reference = _value(low_text, dimension, given)
    if low_reference != reference:
        raise UnitProblem(f"{given!r} mixes gauge and absolute pressure; use one of them")
    return Amount(low, (low + high) / 2, high, unit, dimension, "range", reference, given)


def _read_tolerance(text: str, minus: str, plus: str, dimension: str, given: str) -> Amount:
    value, base_unit = _number_and_unit(text, given)
    if not base_unit and dimension not in {"fraction", "number"}:
        base_unit = _number_and_unit(plus, given)[1] or _number_and_unit(minus, given)[1]
    si, unit, reference = _value(f"{value!r} {base_unit}", dimension, given)
    down = _step_of(minus, base_unit, si, dimension, given)
    up = _step_of(plus, base_unit, si, dimension, given)
    return Amount(si - down, si, si + up, unit, dimension, "tolerance", reference, given)


def _read_spread(text: str, _b: str, _c: str, dimension: str, given: str) -> Amount:
    value, unit_text = _number_and_unit(text, given)
    unit, reference = _unit_for(unit_text, dimension, given)
    size = abs(value) * factor(unit)[0]
    return Amount(-size, 0.0, size, unit, dimension, "spread", reference, given)


_READERS = {
    "single": _read_single,
    "range": _read_range,
    "tolerance": _read_tolerance,
    "spread": _read_spread,
}


def _step_of(text: str, base_unit: str, base_si: float, dimension: str, given: str) -> float:
    value, unit_text = _number_and_unit(text, given)
    if unit_text == "%" and base_unit != "%":
        return abs(base_si * value / 100.0)
    unit, _ = _unit_for(unit_text or base_unit, dimension, given)
    return abs(value) * factor(unit)[0]


def _value(text: str, dimension: str, given: str) -> tuple[float, str, Reference]:
    value, unit_text = _number_and_unit(text, given)
    unit, reference = _unit_for(unit_text, dimension, given)
    return from_unit(value, unit), unit, reference


def _number_and_unit(text: str, given: str) -> tuple[float, str]:
    match = _ONE.match(text)
    if match is None:
        raise UnitProblem(f"{given!r} does not begin with a number")
    digits, unit_text = match[1], match[2]
    mixed = re.match(r"^([+\-]?)(\d+)[ \-](\d+/\d+)$", digits)
    try:
        if mixed:
            size = float(int(mixed[2]) + Fraction(mixed[3]))
            value = -size if mixed[1] == "-" else size
        elif "/" in digits:
            value = float(Fraction(digits))
        else:
            value = float(digits.replace(" ", ""))
    except ZeroDivisionError:
        raise UnitProblem(f"{given!r} divides by zero") from None
    if abs(value) > 1e30:
        raise UnitProblem(f"{given!r} is too large to be meant")
    return value, unit_text


def _unit_for(unit_text: str, dimension: str, given: str) -> tuple[str, Reference]:
    kind = DIMENSIONS[dimension]
    if not unit_text:
        if kind.si == "":
            return "", ""
        raise UnitProblem(
            f"{given!r} has no unit; write a {dimension} with its unit, as {kind.example}"
        )
    unit, reference = read_unit(unit_text, dimension, given)
    if dimension == "torque" and unit == "J":
        raise UnitProblem(f"{given!r} is an energy; write torque as N*m")
    if not fits(unit, dimension):
        raise UnitProblem(f"{given!r} is not {kind.named}; write one as {kind.example}")
    return canonical_unit(unit, dimension), reference
