"""``rebuildbook convert``: one quantity in another unit, read the way the sheets read it."""

from __future__ import annotations

from rebuildbook.commands import Refused
from rebuildbook.units import DIMENSIONS, Amount, UnitProblem, parse_amount, to_unit, with_unit
from rebuildbook.units.parse import dimension_of, parse_unit
from rebuildbook.units.show import number

DIGITS = 6


def converted(quantity: str, unit: str | None) -> str:
    """Give the answer as text; raises Refused with the one message to show."""
    try:
        dimension = dimension_of(quantity)
        amount = parse_amount(quantity, dimension)
        if unit is not None:
            return f"{amount.canonical} = {_in(amount, _wanted(unit, amount))}"
    except UnitProblem as problem:
        raise Refused(str(problem)) from None
    kind = DIMENSIONS[dimension]
    units = dict.fromkeys((*kind.metric, *kind.us))
    rows = [f"{amount.canonical} ="]
    rows += [f"  {_in(amount, other)}" for other in units if other != amount.unit]
    return "\n".join(rows)


def _wanted(text: str, amount: Amount) -> str:
    unit, reference = parse_unit(text, amount.dimension)
    if reference and not amount.reference:
        raise UnitProblem(
            f"{amount.text!r} does not say whether it is gauge or absolute, and {text!r} does"
        )
    if reference and reference != amount.reference:
        raise UnitProblem(
            f"{amount.text!r} is a pressure in {amount.reference} terms and {text!r} is "
            f"{reference}; allow for the atmospheric pressure of the place first"
        )
    return unit


def _in(amount: Amount, unit: str) -> str:
    words = {"": "", "difference": ""}.get(amount.reference, f" ({amount.reference})")
    if amount.form == "single":
        return written(amount.nominal, unit) + words
    if amount.form == "spread":
        raise UnitProblem(f"{amount.text!r} is a spread; give it with the value it belongs to")
    return with_unit(f"{_figures(amount.low, unit)} to {_figures(amount.high, unit)}", unit) + words


def written(si: float, unit: str, digits: int = DIGITS) -> str:
    """Write an SI number in ``unit`` without the zeros that say nothing.

    >>> written(22.5, "N*m", 4), written(7.0, "N*m", 4)
    ('22.5 N·m', '7 N·m')
    """
    return with_unit(_figures(si, unit, digits), unit)


def _figures(si: float, unit: str, digits: int = DIGITS) -> str:
    figures = number(to_unit(si, unit), digits)
    return figures.rstrip("0").rstrip(".") if "." in figures and "e" not in figures else figures
