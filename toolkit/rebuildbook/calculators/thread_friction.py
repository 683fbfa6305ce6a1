"""Friction of threaded fasteners by finish, lubricant and threadlocker.

Every row of the reference table carries its source: Shigley table 8-15 for typical nut factors,
VDI 2230-1 guide values for coefficients, and where a range is common practice it says so. A range
from a table is wide on purpose; a nut factor measured on the joint itself is always better.
"""

from __future__ import annotations

import difflib
import functools
from dataclasses import dataclass

from rebuildbook.reference import rows


@dataclass(frozen=True, slots=True)
class Friction:
    """Nut factors and coefficients of friction of one condition; all plain numbers."""

    name: str
    nut_factor_low: float
    nut_factor_typical: float
    nut_factor_high: float
    thread_low: float
    thread_high: float
    bearing_low: float
    bearing_high: float
    source: str


@functools.lru_cache(maxsize=512)
def friction(name: str) -> Friction:
    """Give the friction of the condition ``name``, in the table's words or a common other name.

    Raises ValueError naming the nearest conditions.

    >>> friction("zinc plated").nut_factor_typical  # Shigley table 8-15
    0.2
    >>> friction("Oilde")
    Traceback (most recent call last):
    ...
    ValueError: 'Oilde' is no condition of the friction table; the nearest ... oiled...
    """
    wanted = _plain(name)
    for row in rows("friction"):
        if wanted in {_plain(row["name"]), *(_plain(other) for other in row["also"].split("|"))}:
            return Friction(
                row["name"],
                float(row["nut_factor_low"]),
                float(row["nut_factor_typical"]),
                float(row["nut_factor_high"]),
                float(row["thread_friction_low"]),
                float(row["thread_friction_high"]),
                float(row["bearing_friction_low"]),
                float(row["bearing_friction_high"]),
                row["source"],
            )
    known = friction_conditions()
    near = difflib.get_close_matches(wanted, known, 3, 0.4)
    offer = f"the nearest are {'; '.join(near)}" if near else f"it has {'; '.join(known)}"
    raise ValueError(f"{name!r} is no condition of the friction table; {offer}")


def friction_conditions() -> tuple[str, ...]:
    """Name every condition of the friction table.

    >>> friction_conditions()[0]
    'as received'
    """
    return tuple(row["name"] for row in rows("friction"))


def _plain(text: str) -> str:
    return " ".join(text.lower().replace("galvanised", "galvanized").split())
