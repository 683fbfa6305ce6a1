"""How one number is set into a field of the sheets: as it is, or as the middle of its window."""

from __future__ import annotations

from collections.abc import Sequence

from rebuildbook.units import Amount, factor, to_unit
from rebuildbook.units.parse import Form


def written(value: float) -> str:
    """Write a number without rounding noise, as a setting takes it.

    >>> written(0.1 + 0.2), written(24.0)
    ('0.3', '24')
    """
    return f"{value:.12g}"


def in_unit(si: float, unit: str) -> float:
    """Give an SI number in the unit it was written in, as it was written."""
    value = to_unit(si, unit)
    if factor(unit)[1]:
        value = round(value, 9)  # near 0 °C or 0 °F the noise of the way through kelvin shows
    return float(written(value))


def half_share(kept: Amount) -> float:
    """Half the width of a window as a share of its middle; 0 of a single value.

    >>> from rebuildbook.units import parse_amount
    >>> half_share(parse_amount("30 to 50 N*m", "torque"))
    0.25
    """
    middle = (kept.low + kept.high) / 2
    return (kept.high - kept.low) / 2 / abs(middle) if middle else 0.0


def ends_about(middle: float, share: float) -> tuple[float, float]:
    """Ends of a window about ``middle`` whose half width is a share of it."""
    half = share * abs(middle)
    return float(written(middle - half)), float(written(middle + half))


def single_text(value: float, unit: str, forms: Sequence[Form], reference: str = "") -> str:
    """Write one number for a field that takes single values, or spreads only."""
    mark = "" if "single" in forms else "± "
    return f"{mark}{written(value)}{ending(unit, reference)}"


def window_text(low: float, high: float, unit: str, reference: str = "") -> str:
    """Write a window.

    >>> window_text(30.0, 37.0, "N*m")
    '30 to 37 N*m'
    """
    return f"{written(low)} to {written(high)}{ending(unit, reference)}"


def ending(unit: str, reference: str) -> str:
    """What stands behind a number: its unit, and that a pressure is absolute."""
    end = f" {unit}" if unit else ""
    return end + (" (absolute)" if reference == "absolute" else "")
