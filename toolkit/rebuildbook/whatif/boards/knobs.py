"""Knobs on the fields of the sheets: their slider in the shop's unit, their text as written."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator

from rebuildbook.sheets import Case
from rebuildbook.units import DIMENSIONS, Amount, shop_unit, to_unit
from rebuildbook.whatif.question import Knob


def quantity(
    case: Case,
    name: str,
    label: str,
    setting: str,
    amount: Amount | None,
    ends: tuple[float, float],
    dimension: str,
    *,
    unit: str = "",
    exact: bool = False,
    help: str = "",  # noqa: A002  (the knob's own word)
) -> Knob:
    """A knob for a quantity: ``amount`` as the sheets have it, a slider over ``ends`` (SI).

    It counts in the shop's unit, or in ``unit`` where a scale is marked in it. The ends are
    moved so far that they hold the amount, and rounded outwards; ``exact`` leaves them where
    they are, for sizes that lie so near to each other that rounding would carry them too far.
    """
    low, high = ends
    if amount is not None:
        low, high = min(low, amount.low), max(high, amount.high)
    middle = amount.nominal if amount is not None else (low + high) / 2.0
    unit = unit or shop_unit(dimension, case.shop.units, middle)
    start, end = _exactly(to_unit(low, unit)), _exactly(to_unit(high, unit))
    if not exact:
        start, end = (
            outwards(to_unit(low, unit), math.floor),
            outwards(to_unit(high, unit), math.ceil),
        )
    return Knob(
        name,
        label,
        setting,
        amount.text.strip() if amount is not None else "",
        start,
        end,
        unit,
        other_unit(dimension, unit, middle),
        help=help,
    )


def choice(
    name: str,
    label: str,
    setting: str,
    text: str,
    choices: Iterable[str],
    *,
    help: str = "",  # noqa: A002  (the knob's own word)
) -> Knob:
    """A knob that takes one of several words."""
    return Knob(name, label, setting, text, 0.0, 0.0, "", choices=tuple(choices), help=help)


def fluid_knobs(case: Case) -> Iterator[Knob]:
    """How thick the fluid is: its viscosity, or the curve that goes before it."""
    fluid = case.job.fluid
    curve = fluid.rheology
    if curve is None:
        thick = fluid.viscosity
        yield quantity(
            case, "viscosity", "Viscosity of the fluid", "fluid.viscosity", thick,
            (0.2 * thick.nominal, 5.0 * thick.nominal), "viscosity",
        )  # fmt: skip
        return
    at, words = "fluid.rheology", "Of the flow curve τ = τy + K γ̇ⁿ, which goes before a viscosity"
    yield quantity(
        case, "consistency", "Consistency K of the fluid", f"{at}.consistency", curve.consistency,
        (0.2 * curve.consistency.nominal, 3.0 * curve.consistency.nominal), "number", help=words,
    )  # fmt: skip
    yield quantity(
        case, "exponent", "Exponent n of the fluid", f"{at}.exponent", curve.exponent,
        (0.3, 1.0), "number", help=words,
    )  # fmt: skip


def other_unit(dimension: str, unit: str, si: float) -> str:
    """The unit of the other system; empty where both systems share it."""
    kind = DIMENSIONS[dimension]
    if unit in kind.us and unit in kind.metric:
        return ""
    other = shop_unit(dimension, "us" if unit in kind.metric else "metric", si)
    return "" if other == unit else other


def outwards(value: float, way: Callable[[float], int]) -> float:
    """Round to two figures by ``way``, math.floor or math.ceil.

    >>> outwards(6.13, math.floor), outwards(100.9, math.ceil), outwards(0.2, math.ceil)
    (6.1, 110.0, 0.2)
    """
    if value == 0.0:
        return 0.0
    step = 10.0 ** (math.floor(math.log10(abs(value))) - 1)
    slack = -1e-9 if way is math.ceil else 1e-9  # what is round already stays
    return _exactly(way(value / step + slack) * step)


def _exactly(value: float) -> float:
    """A number without the noise of its conversion."""
    return float(f"{value:.6g}")
