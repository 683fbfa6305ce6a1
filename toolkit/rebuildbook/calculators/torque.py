"""Torque at the wrench and at the fastener, and torques whose unit was mixed up.

Sources: [1] Moments about the fastener and about the wrench square: statics, no source needed.
[2] Shigley's Mechanical Engineering Design, section 8-8, T = K·F·d. [3] The span of a plausible
torque is engineering judgement of this project from common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.preload import torque_from_nut_factor
from rebuildbook.calculators.thread_strength import StrengthClass, proof_load
from rebuildbook.calculators.threads import Thread
from rebuildbook.units import quantities, shown_unit, to_unit

TORQUE_UNITS = ("N*m", "ft*lbf", "in*lbf", "kgf*m", "ozf*in")
INCHES_IN_A_FOOT = 12.0
LEAST_NUT_FACTOR, MOST_NUT_FACTOR = 0.12, 0.30  # [3] well greased to dry and rough
LEAST_LOAD, MOST_LOAD = 0.15, 1.00  # [3] share of the proof load: a soft gasket to the limit
READING_SLACK = 0.03  # [3] how far past the window's edge a swapped reading may fall


def in_all_units(torque: float) -> dict[str, float]:
    """Give a torque in N·m in every wrench unit.

    >>> {unit: round(value, 3) for unit, value in in_all_units(24.0).items()}
    {'N*m': 24.0, 'ft*lbf': 17.701, 'in*lbf': 212.418, 'kgf*m': 2.447, 'ozf*in': 3398.686}
    """
    return {unit: to_unit(torque, unit) for unit in TORQUE_UNITS}


def torque_window_in(low: float, high: float, unit: str) -> tuple[float, float]:
    """Give a torque window, N·m, in a wrench unit; ValueError for a unit no wrench is marked in.

    >>> low, high = torque_window_in(21.0, 24.0, "ft*lbf")
    >>> round(low, 2), round(high, 2)
    (15.49, 17.7)
    """
    if unit not in TORQUE_UNITS:
        raise ValueError(f"{unit!r} is no wrench unit; write one of {', '.join(TORQUE_UNITS)}")
    check_window(low, high)
    return to_unit(low, unit), to_unit(high, unit)


def check_window(low: float, high: float) -> None:
    """Refuse a torque window that is not one: 0 < low ≤ high, N·m."""
    if not 0.0 < low <= high < math.inf:
        raise ValueError(
            f"a torque window of {low:g} to {high:g} N·m is none; both ends must be positive and "
            "the first no larger than the second"
        )


def _adapter_ratio(lever: Any, offset: Any, angle: Any) -> Any:
    """Give torque at the fastener over torque at the square, (L + E cos θ)/L."""
    if not np.all(np.asarray(lever) > 0.0):
        raise ValueError(f"lever = {lever} m; the grip must be a positive distance from the square")
    if not np.all(np.asarray(offset) >= 0.0):
        raise ValueError(f"offset = {offset} m; an adapter's length is zero or more, θ turns it")
    ratio = 1.0 + offset / lever * np.cos(angle)
    if not np.all(ratio > 0.0):
        raise ValueError(
            f"an adapter of {offset} m folded back by {np.degrees(angle)}° on a lever of {lever} m "
            "puts the fastener at or behind the grip; it would turn backwards or not at all"
        )
    return ratio


@quantities("N*m", torque="N*m", lever="m", offset="m", angle="rad")
def adapter_setting(torque: Any, lever: Any, offset: Any, angle: Any = 0.0) -> Any:
    """Give the value to set for ``torque`` at the fastener, S = T·L/(L + E cos θ) [1].

    ``lever`` L: middle of the hand grip to the drive square. ``offset`` E: drive square to the
    fastener's centre. ``angle`` θ: of the adapter to the wrench's axis, 0 straight out, 90° square
    (the setting stays), past 90° folded back. The pull is square to the wrench and at the middle
    of the grip. Raises ValueError for a lever not positive or L + E cos θ ≤ 0.

    >>> float(adapter_setting("100 N*m", "400 mm", "100 mm", "0 deg").magnitude)  # 100·400/500
    80.0
    """
    return torque / _adapter_ratio(lever, offset, angle)


@quantities("N*m", setting="N*m", lever="m", offset="m", angle="rad")
def torque_at_fastener(setting: Any, lever: Any, offset: Any, angle: Any = 0.0) -> Any:
    """Give the torque at the fastener for a setting, T = S·(L + E cos θ)/L [1].

    The inverse of ``adapter_setting``; parameters and errors as there.

    >>> float(torque_at_fastener("80 N*m", "400 mm", "100 mm", "0 deg").magnitude)
    100.0
    """
    return setting * _adapter_ratio(lever, offset, angle)


def plausible_torque(thread: Thread, strength: StrengthClass) -> tuple[float, float]:
    """Give the span in which a torque for this fastener can make sense, N·m (low, high).

    T = K·F·d with K from 0.12 to 0.30 and F from 15 % to 100 % of the proof load. The span is
    engineering judgement of this project from common practice, no source: it is there to catch a
    torque in the wrong unit, not to prove one right.

    >>> from rebuildbook.calculators.thread_strength import strength_class
    >>> from rebuildbook.calculators.threads import parse_thread
    >>> screw = parse_thread("M10")
    >>> low, high = plausible_torque(screw, strength_class("8.8", screw))
    >>> round(low, 1), round(high, 1)
    (6.1, 100.9)
    """
    load = proof_load(thread, strength)
    low = torque_from_nut_factor.si(LEAST_LOAD * load, LEAST_NUT_FACTOR, thread.major)
    high = torque_from_nut_factor.si(MOST_LOAD * load, MOST_NUT_FACTOR, thread.major)
    return float(low), float(high)


@dataclass(frozen=True, slots=True)
class MixUp:
    """A torque that looks as if its unit were wrong.

    ``verdict`` is "swap" (``written`` in place of ``meant``, canonical units) or "implausible"
    (no swap explains it; no units). ``factor`` turns the torque as written into the one meant;
    ``low`` and ``high`` are the torque so corrected, N·m, or as written where implausible.
    """

    verdict: Literal["swap", "implausible"]
    written: str
    meant: str
    factor: float
    low: float
    high: float

    @property
    def text(self) -> str:
        """Say it in a sentence's worth of words."""
        if self.verdict == "implausible":
            return "outside what this fastener can be meant to have; no mix-up of units explains it"
        return f"likely {shown_unit(self.meant)} written as {shown_unit(self.written)}"


def suspect_mix_up(
    torque_low: float, torque_high: float, plausible_low: float, plausible_high: float
) -> MixUp | None:
    """Judge a torque window by what is plausible for the fastener; all in N·m.

    Nothing when the window's middle is plausible. Otherwise a swap of inch-pounds and foot-pounds
    when a twelfth or twelve times the middle is plausible, else "implausible".

    >>> found = suspect_mix_up(24.4 * 12, 27.1 * 12, 6.1, 100.9)  # 18 to 20, all in ft·lbf
    >>> found.text, round(found.low, 1)
    ('likely in·lbf written as ft·lbf', 24.4)
    """
    check_window(torque_low, torque_high)
    check_window(plausible_low, plausible_high)
    middle = (torque_low + torque_high) / 2
    if plausible_low <= middle <= plausible_high:
        return None
    too_high = middle > plausible_high
    factor = 1.0 / INCHES_IN_A_FOOT if too_high else INCHES_IN_A_FOOT
    if not plausible_low <= middle * factor <= plausible_high:
        return MixUp("implausible", "", "", 1.0, torque_low, torque_high)
    written, meant = ("ft*lbf", "in*lbf") if too_high else ("in*lbf", "ft*lbf")
    return MixUp("swap", written, meant, factor, torque_low * factor, torque_high * factor)


_READING_SWAPS = (("in*lbf", "ft*lbf"), ("N*m", "ft*lbf"), ("N*m", "kgf*m"))


def reading_mix_up(
    reading: float, window_low: float, window_high: float, written: str = ""
) -> MixUp | None:
    """Find the unit swap that would bring a recorded reading into its window; N·m.

    Nothing when the reading is inside, or when no swap explains it. Considered, both ways: inch-
    and foot-pounds (12), N·m and ft·lbf (1.356), kgf·m and N·m (9.807). ``written``, where the
    record names the unit, leaves out swaps from other units. The swap that comes nearest the
    middle is given; 3 % past the window's edge is still taken for a swap.

    >>> reading_mix_up(18.0, 23.0, 26.0).text  # 18 on a ft·lbf scale, put down as N·m
    'likely ft·lbf written as N·m'
    """
    check_window(window_low, window_high)
    if not 0.0 < reading < math.inf:
        raise ValueError(f"a torque reading of {reading:g} N·m is none; it must be positive")
    if window_low <= reading <= window_high:
        return None
    middle = (window_low + window_high) / 2
    found: list[tuple[float, MixUp]] = []
    for one, other in _READING_SWAPS:
        for was, meant in ((one, other), (other, one)):
            factor = to_unit(1.0, was) / to_unit(1.0, meant)
            meant_torque = reading * factor
            fits = window_low * (1 - READING_SLACK) <= meant_torque
            fits = fits and meant_torque <= window_high * (1 + READING_SLACK)
            if fits and written in {"", was}:
                swap = MixUp("swap", was, meant, factor, meant_torque, meant_torque)
                found.append((abs(math.log(meant_torque / middle)), swap))
    return min(found, key=lambda pair: pair[0])[1] if found else None
