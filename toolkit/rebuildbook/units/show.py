"""Numbers as a shop reads them: three significant figures, wrench units, both systems."""

from __future__ import annotations

import math

from rebuildbook.units.table import DIMENSIONS, factor, shown_unit

GROUP = "\u202f"  # narrow no-break space between thousands


def to_unit(si: float, unit: str) -> float:
    """Convert an SI number into ``unit``.

    >>> round(to_unit(1.3558179483314003, "in*lbf"), 9)
    12.0
    """
    scale, offset = factor(unit)
    return (si - offset) / scale


def from_unit(value: float, unit: str) -> float:
    """Convert a number in ``unit`` into SI."""
    scale, offset = factor(unit)
    return value * scale + offset


def number(value: float, digits: int = 3) -> str:
    """Write a number with ``digits`` significant figures, no exponent in the usual range.

    >>> number(0.0508), number(21.46), number(33712.0) == "33" + GROUP + "700", number(0)
    ('0.0508', '21.5', True, '0')
    >>> number(8.0), number(1.0, 4)
    ('8.00', '1.000')
    """
    if not math.isfinite(value):
        return "∞" if value > 0 else "−∞" if value < 0 else "not a number"
    if value == 0:
        return "0"
    sign = "−" if value < 0 else ""
    value = abs(value)
    exponent = math.floor(math.log10(value))
    if round(value, digits - 1 - exponent) >= 10 ** (exponent + 1):
        exponent += 1
    if exponent >= 9 or exponent < -5:
        mantissa = value / 10.0**exponent
        return f"{sign}{mantissa:.{digits - 1}f}e{exponent}"
    decimals = max(digits - 1 - exponent, 0)
    rounded = round(value, digits - 1 - exponent)
    return sign + grouped(f"{rounded:.{decimals}f}")


def grouped(plain: str) -> str:
    """Group the thousands of a plain decimal number of five digits or more."""
    whole, dot, rest = plain.partition(".")
    if len(whole) >= 5:
        head = len(whole) % 3
        parts = ([whole[:head]] if head else []) + [
            whole[i : i + 3] for i in range(head, len(whole), 3)
        ]
        whole = GROUP.join(parts)
    return whole + dot + rest


def plain(value: float) -> str:
    """Write a given number back without rounding noise: 0.1 + 0.2 as 0.3.

    >>> plain(63.5), plain(0.1 + 0.2), plain(24.0)
    ('63.5', '0.3', '24')
    """
    text = f"{value:.10g}"
    if "e" in text:
        return text
    return text.replace("-", "−")


def show(si: float, unit: str, digits: int = 3) -> str:
    """Write an SI number in ``unit`` with its unit.

    >>> show(24.0, "N*m"), show(24.0, "ft*lbf"), show(0.6, "%"), show(293.15, "degC")
    ('24.0 N·m', '17.7 ft·lbf', '60.0 %', '20.0 °C')
    """
    return with_unit(number(to_unit(si, unit), digits), unit)


def with_unit(text: str, unit: str) -> str:
    """Put a unit behind a written number; a bare number stays bare, degrees close up."""
    if unit == "":
        return text
    return text + "°" if unit == "deg" else f"{text} {shown_unit(unit)}"


# below this SI size the trade takes the smaller unit
_SMALL = {
    ("torque", "us"): (15 * 1.3558, "in*lbf"),
    ("volume", "metric"): (1e-3, "mL"),
    ("volume", "us"): (1e-3, "in^3"),
    ("mass", "metric"): (0.5, "g"),
    ("mass", "us"): (0.5, "oz"),
    ("power", "metric"): (500.0, "W"),
    ("speed", "metric"): (0.01, "mm/min"),
    ("speed", "us"): (0.01, "in/min"),
    ("stiffness", "us"): (1.75e6, "lbf/in"),
}


def shop_unit(dimension: str, system: str, si: float = math.nan) -> str:
    """Choose the unit a shop reads this dimension in; ``system`` is "metric" or "us".

    Size matters where the trade changes unit with it: torque below 15 ft·lbf is in in·lbf,
    force above 10 kN in kN, volume below 1 L in mL, stiffness below 10 kip/in in lbf/in.

    >>> shop_unit("torque", "us", 30.0), shop_unit("torque", "us", 5.0)
    ('ft*lbf', 'in*lbf')
    """
    size = abs(si)
    small, unit = _SMALL.get((dimension, system), (0.0, ""))
    if size < small:
        return unit
    if dimension == "force" and system == "metric" and size >= 10_000:
        return "kN"
    kind = DIMENSIONS[dimension]
    return (kind.metric if system == "metric" else kind.us)[0]
