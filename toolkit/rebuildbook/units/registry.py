"""The one pint registry, and the boundary between quantities and bare SI numbers."""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable
from typing import Any, Generic, ParamSpec

import pint

registry: pint.UnitRegistry[float] = pint.UnitRegistry()
registry.formatter.default_format = "~P"
Quantity = registry.Quantity

P = ParamSpec("P")


class Formula(Generic[P]):
    """A formula with a unit-checked front door and a bare SI kernel behind it.

    Call it with pint quantities or with text ("18 ft*lbf"): it gives a quantity back.
    Call ``.si`` with floats or numpy arrays in the declared units: it gives bare numbers back.
    """

    def __init__(self, kernel: Callable[P, Any], units: dict[str, str], returns: str) -> None:
        self.si: Callable[P, Any] = kernel
        self.units = units
        self.returns = returns
        self.__name__: str = getattr(kernel, "__name__", "formula")
        functools.update_wrapper(self, kernel)

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        """Check the units of every argument, compute, and give the result its unit."""
        bound = inspect.signature(self.si).bind(*args, **kwargs)
        for name, value in bound.arguments.items():
            unit = self.units.get(name)
            if unit is not None:
                bound.arguments[name] = _bare(self.__name__, name, value, unit)
        result = self.si(*bound.args, **bound.kwargs)
        return registry.Quantity(result, self.returns) if self.returns else result


def _bare(formula: str, name: str, value: Any, unit: str) -> Any:
    """Give ``value`` as a bare number in ``unit``; refuse what carries no unit."""
    if isinstance(value, str):
        from rebuildbook.units.parse import parse_quantity  # noqa: PLC0415  (parse needs registry)

        value = parse_quantity(value)
    if not isinstance(value, pint.Quantity):
        if unit == "":
            return value
        raise TypeError(f"{formula}: {name} = {value!r} has no unit; wanted something in {unit}")
    try:
        return value.to(unit or "dimensionless").magnitude
    except pint.DimensionalityError:
        raise ValueError(
            f"{formula}: {name} = {value:~P} is not a quantity in {unit or 'plain numbers'}"
        ) from None


def quantities(returns: str, **units: str) -> Callable[[Callable[P, Any]], Formula[P]]:
    """Declare the units of a formula's parameters and of its result.

    ``returns`` and every keyword are unit expressions; "" stands for a plain number.

    >>> @quantities("N*m", force="N", lever="m")
    ... def torque(force, lever):
    ...     return force * lever
    >>> round(torque("100 lbf", "1 ft").to("ft*lbf").magnitude, 9)
    100.0
    >>> torque.si(2.0, 3.0)
    6.0
    >>> torque("100 lbf", 1.0)
    Traceback (most recent call last):
    ...
    TypeError: torque: lever = 1.0 has no unit; wanted something in m
    """

    def wrap(kernel: Callable[P, Any]) -> Formula[P]:
        return Formula(kernel, units, returns)

    return wrap
