"""How long a threadlocker or sealant may be worked, is left alone, and cures, by the temperature.

A data sheet gives these times at one temperature, commonly 22 to 25 °C (common practice, no
source). Setting is a reaction, and a reaction that takes about 50 kJ/mol goes twice as slow 10 K
colder [1]; primers, metals and gaps change that, so the sheet may give its own factor.

Each time is taken to its safe side: the time left to work is no longer in the cold, and shorter in
the warm; the times to wait are longer in the cold, and no shorter in the warm.

References
----------
1. P. W. Atkins, Physical Chemistry, the chapter on the rates of reactions: Arrhenius' equation
   (from memory). Twice as slow for each 10 K: common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from rebuildbook.units import quantities

TIMES_AT = 296.15  # K: 23 °C, where a data sheet does not say (common practice, no source)
SLOWER = 2.0  # times for each 10 K (common practice, no source)
STEP = 10.0  # K


@quantities("", temperature="K", times_at="K", slower="")
def setting_slower(temperature: Any, times_at: Any, slower: Any) -> Any:
    """How many times slower something sets than its sheet says, s = q^((T_r − T)/10 K) [1].

    ``temperature`` T of the parts and ``times_at`` T_r of the data sheet in K; ``slower`` q is how
    many times slower it sets when it is 10 K colder. Below 1 it sets faster. Raises ValueError
    for a q below 1 and for a temperature that is not above zero.

    >>> setting_slower("13 °C", "23 °C", 2)
    2.0
    """
    if not slower >= 1.0:
        raise ValueError(f"{slower} times slower in the cold given; it is no less than 1")
    if not (temperature > 0.0 and times_at > 0.0):
        raise ValueError(f"temperatures {temperature} and {times_at} K; both are above zero")
    return slower ** ((times_at - temperature) / STEP)


@dataclass(frozen=True, slots=True)
class SettingTimes:
    """The times of one threadlocker or sealant (s), each None where nobody gives it.

    ``working`` is the shortest that it may be worked, ``fixture`` and ``cure`` the longest that it
    may take until it can be handled and until it holds.
    """

    working: float | None = None
    fixture: float | None = None
    cure: float | None = None


def at_temperature(
    given: SettingTimes, temperature: float, times_at: float = TIMES_AT, slower: float = SLOWER
) -> SettingTimes:
    """Take times of the data sheet to the temperature of the bench, each to its safe side.

    ``temperature`` and ``times_at`` in K, ``slower`` as in `setting_slower`. Raises ValueError as
    that does, and for a time that is not above zero.

    >>> at_temperature(SettingTimes(300.0, 1200.0, 86400.0), 286.15)
    SettingTimes(working=300.0, fixture=2400.0, cure=172800.0)
    >>> at_temperature(SettingTimes(300.0, 1200.0, 86400.0), 306.15)
    SettingTimes(working=150.0, fixture=1200.0, cure=86400.0)
    """
    factor = float(setting_slower.si(temperature, times_at, slower))
    for time in (given.working, given.fixture, given.cure):
        if time is not None and not 0.0 < time < math.inf:
            raise ValueError(f"a time of {time} s is given; it must be above zero")
    return SettingTimes(
        None if given.working is None else given.working * min(1.0, factor),
        None if given.fixture is None else given.fixture * max(1.0, factor),
        None if given.cure is None else given.cure * max(1.0, factor),
    )
