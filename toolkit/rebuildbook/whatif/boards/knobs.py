"""Knobs on the fields of the sheets: their slider in the shop's unit, their text as written."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

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
    help: str = "",  # noqa: A002  (the knob's own word)
) -> Knob:
    """A knob for a quantity: ``amount`` as the sheets have it, a slider over ``ends`` (SI).

    It counts in the shop's unit, or in ``unit`` where a scale is marked in it. The ends are
    rounded outwards, and moved so far that they hold the amount.
    """
    low, high = ends
    if amount is not None:
        low, high = min(low, amount.low), max(high, amount.high)
    middle = amount.nominal if amount is not None else (low + high) / 2.0
    unit = unit or shop_unit(dimension, case.shop.units, middle)
    return Knob(
        name,
        label,
        setting,
        amount.text.strip() if amount is not None else "",
        outwards(to_unit(low, unit), math.floor),
        outwards(to_unit(high, unit), math.ceil),
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
    return float(f"{way(value / step + slack) * step:.6g}")
