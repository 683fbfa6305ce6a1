"""A reading that makes sense only in another unit than the one written beside it.

Torques have their own test in ``torque.reading_mix_up``. Factors are of the units' definitions.
"""

from __future__ import annotations

import math

from rebuildbook.calculators.torque import MixUp
from rebuildbook.units import to_unit

SWAPS = {
    "length": (("mm", "in"), ("mm", "m"), ("in", "thou"), ("mm", "µm")),
    "pressure": (("bar", "psi"), ("bar", "kPa"), ("bar", "MPa"), ("kPa", "psi"), ("MPa", "psi")),
    "time": (("s", "min"), ("min", "h")),
    "speed": (("mm/min", "in/min"), ("mm/min", "mm/s"), ("in/min", "in/s")),
}


def unit_swap(
    reading: float, low: float, high: float, written: str, dimension: str
) -> MixUp | None:
    """Find the swap of units that brings ``reading`` between ``low`` and ``high``, all in SI.

    ``low`` to ``high`` is what can be meant, above zero; ``written`` is the canonical unit that
    stands with the reading. Nothing where the reading can be meant as it is, and nothing where no
    swap explains it. Of several the one that comes nearest the (geometric) middle is given. A
    dimension without usual swaps has none. Raises ValueError for a span that is none.

    >>> found = unit_swap(1.75e-3, 0.044, 0.045, "mm", "length")  # a 1.75 in ball put down in mm
    >>> found.text, round(found.low * 1e3, 2)
    ('likely in written as mm', 44.45)
    >>> unit_swap(1000e5, 60e5, 80e5, "bar", "pressure").text  # 1000 psi put down as bar
    'likely psi written as bar'
    """
    if not 0.0 < low <= high < math.inf:
        raise ValueError(f"a span of {low:g} to {high:g} is none; it runs upwards from above zero")
    if low <= reading <= high or reading <= 0.0:
        return None
    middle = math.sqrt(low * high)
    found: list[tuple[float, MixUp]] = []
    for one, other in SWAPS.get(dimension, ()):
        for was, meant in ((one, other), (other, one)):
            factor = to_unit(1.0, was) / to_unit(1.0, meant)
            corrected = reading * factor
            if was == written and low <= corrected <= high:
                swap = MixUp("swap", was, meant, factor, corrected, corrected)
                found.append((abs(math.log(corrected / middle)), swap))
    return min(found, key=lambda pair: pair[0])[1] if found else None
