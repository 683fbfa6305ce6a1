"""What a pump comes to if its relief valve sticks shut against a closed outlet.

Every stroke presses its volume into the closed section. Liquid, hoses, shell and trapped gas give
way; the pressure rises until the drive stalls or a part does. This says what a stuck valve would
mean, so that it is checked and mended; no pump is run that way to try it.

All pressures are gauge. Slip, and the liquid pressed together in the pump chamber itself, are left
out: both slow the rise, so strokes and time are the fewest there can be.

Sources: [1] Bulk modulus, Δp = K ΔV/V, as in published engineering data for hydraulic oil (read).
[2] Trapped gas by the law of Boyle and Mariotte or with a polytropic exponent, any textbook on
thermodynamics. Stall pressures come from ``drive``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from rebuildbook.calculators.bounds import not_negative, positive
from rebuildbook.calculators.drive import ATMOSPHERE, Stall
from rebuildbook.calculators.relief_pressures import SLACK, PressureLimit
from rebuildbook.units import quantities

Kind = Literal["limit", "test", "burst"]
End = Literal["the drive stalls", "a part gives way", "not known"]


@quantities(
    "Pa", displaced="m^3", trapped_volume="m^3", bulk_modulus="Pa", hose_compliance="m^3/Pa",
    shell_compliance="1/Pa",
)  # fmt: skip
def rise_per_stroke(
    displaced: Any,
    trapped_volume: Any,
    bulk_modulus: Any,
    hose_compliance: Any = 0.0,
    shell_compliance: Any = 0.0,
) -> Any:
    """Pressure rise of a stroke or turn into a closed section without gas (Pa) [1].

    Δp = V/(V₀ (1/K + C) + H). ``displaced`` V (m³ a stroke or turn), ``trapped_volume`` V₀ (m³),
    ``bulk_modulus`` K (Pa), ``hose_compliance`` H (m³/Pa) is length times volume growth per length
    and pressure, ``shell_compliance`` C (1/Pa) of pipe and body.

    >>> rise = rise_per_stroke("2.3 in^3", "100 in^3", "300000 psi")  # [1]: 6900 psi
    >>> round(rise.to("psi").magnitude)
    6900
    """
    give = 1.0 / positive("bulk modulus", bulk_modulus)
    give = give + not_negative("shell compliance", shell_compliance)
    volume = positive("trapped volume", trapped_volume)
    pressed = positive("displaced volume", displaced)
    return pressed / (volume * give + not_negative("hose compliance", hose_compliance))


@dataclass(frozen=True, slots=True)
class ClosedSection:
    """What lies between the outlet checks and the closed outlet.

    ``volume`` of liquid m³, ``bulk_modulus`` Pa, ``hose_compliance`` m³/Pa, ``shell_compliance``
    1/Pa. ``gas`` (m³) is what a damper or trapped air holds at ``gas_pressure`` (Pa gauge, the
    charge of a damper, 0 for air), ``gas_exponent`` 1 for slow pressing and 1.4 for fast.
    """

    volume: float
    bulk_modulus: float
    hose_compliance: float = 0.0
    shell_compliance: float = 0.0
    gas: float = 0.0
    gas_pressure: float = 0.0
    gas_exponent: float = 1.0

    def __post_init__(self) -> None:
        positive("trapped volume", self.volume)
        positive("bulk modulus", self.bulk_modulus)
        not_negative("hose compliance", self.hose_compliance)
        not_negative("shell compliance", self.shell_compliance)
        not_negative("gas volume", self.gas)
        not_negative("gas pressure", self.gas_pressure)
        if not 1.0 <= self.gas_exponent <= 1.7:
            raise ValueError(f"gas exponent is {self.gas_exponent:g}; it lies from 1 to 1.7")

    @property
    def compliance(self) -> float:
        """Volume per pressure without the gas, m³/Pa."""
        return self.volume * (1.0 / self.bulk_modulus + self.shell_compliance) + (
            self.hose_compliance
        )

    def volume_to(self, pressure: Any, start: float = 0.0) -> Any:
        """Volume (m³) to press in to go from ``start`` to ``pressure`` (Pa, float or array) [1, 2].

        >>> half = ClosedSection(1e-3, 2e9, gas=1e-4).volume_to(ATMOSPHERE)  # gas of 100 mL halved
        >>> f"{half * 1e6:.2f}"
        '50.05'
        """
        return self.compliance * (np.asarray(pressure) - start) + (
            self._gas_at(start) - self._gas_at(pressure)
        )

    def pressure_after(self, pressed: float, start: float = 0.0) -> float:
        """Pressure (Pa) after ``pressed`` (m³) has been forced in from ``start`` (Pa) on.

        >>> round(ClosedSection(1e-3, 2e9).pressure_after(1e-6) / 1e5, 6)  # 1 mL into 1 L
        20.0
        """
        stiff = start + float(not_negative("volume pressed in", pressed)) / self.compliance
        if float(self.volume_to(stiff, start)) <= pressed:  # no gas, or none that gives yet
            return stiff
        return float(
            brentq(  # type: ignore[no-untyped-call]
                lambda p: self.volume_to(p, start) - pressed, start, stiff, xtol=1e-3
            )
        )

    def _gas_at(self, pressure: Any) -> Any:
        """Volume of the gas; a damper below its charge pressure is full and gives nothing."""
        charged = self.gas_pressure + ATMOSPHERE
        share = charged / np.maximum(np.asarray(pressure) + ATMOSPHERE, charged)
        return self.gas * share ** (1.0 / self.gas_exponent)


@dataclass(frozen=True, slots=True)
class PartStrength(PressureLimit):
    """A pressure limit with the burst pressure of the part where the maker gives one; Pa."""

    burst_pressure: float | None = None

    def __post_init__(self) -> None:
        known = [self.max_working_pressure, self.test_pressure, self.burst_pressure]
        rising = [pressure for pressure in known if pressure is not None]
        if not rising[0] > 0.0 or rising != sorted(rising):
            raise ValueError(f"{self.name}: working, test and burst pressure {rising} do not rise")


@dataclass(frozen=True, slots=True)
class PartMargin:
    """One part against the pressure reached: ``margin`` (Pa) below zero where it is passed.

    ``share`` is the pressure reached over the limit; ``worst`` the gravest mark that is passed,
    None where the part stays within its limit.
    """

    part: PartStrength
    margin: float
    share: float
    worst: Kind | None


@dataclass(frozen=True, slots=True)
class Milestone:
    """A pressure of a part (Pa) and how soon it comes; infinite where the drive stalls before it.

    ``strokes`` is a part of a stroke where one stroke is more than enough; ``seconds`` s.
    """

    name: str
    kind: Kind
    pressure: float
    strokes: float
    seconds: float

    @property
    def reached(self) -> bool:
        """Whether the drive gets there."""
        return math.isfinite(self.strokes)


@dataclass(frozen=True, slots=True)
class StuckRise:
    """What the pump comes to with its relief valve stuck shut; SI, gauge.

    ``stall`` is where the drive stalls (infinite if it does not), ``reached`` the pressure it ends
    at: the stall, or the pressure at which a part gives way before it. ``ranking`` has the weakest
    part first, ``milestones`` the lowest pressure first.
    """

    section: ClosedSection
    displaced: float
    rate: float
    start: float
    stall: float
    reached: float
    ends_by: End
    ranking: tuple[PartMargin, ...]
    milestones: tuple[Milestone, ...]

    @property
    def weakest(self) -> PartMargin | None:
        """The part with the lowest limit."""
        return self.ranking[0] if self.ranking else None

    def first(self, kind: Kind) -> Milestone | None:
        """The first limit, test or burst pressure on the way up, None where none is known."""
        return next((m for m in self.milestones if m.kind == kind), None)

    def pressures(self, strokes: Sequence[float] | NDArray[np.float64]) -> NDArray[np.float64]:
        """Pressure (Pa) after each count of strokes, parts of a stroke too; never above stall."""
        after = [
            self.section.pressure_after(count * self.displaced, self.start) for count in strokes
        ]
        risen: NDArray[np.float64] = np.minimum(after, max(self.stall, self.start))
        return risen


def rank_parts(parts: Sequence[PartStrength], reached: float) -> tuple[PartMargin, ...]:
    """Sort the parts by limit, weakest first, each with its margin at ``reached`` (Pa).

    An infinite ``reached`` is a drive that nothing stops. A pressure just at a mark counts as
    within it, but at a burst pressure the part is taken as burst.

    >>> ranked = rank_parts([PartStrength("hose", 25e5, 50e5, 100e5), PartStrength("body", 16e5)],
    ...                     30e5)
    >>> [(r.part.name, r.margin / 1e5, r.worst) for r in ranked]
    [('body', -14.0, 'limit'), ('hose', -5.0, 'limit')]
    """
    if math.isnan(reached) or reached < 0.0:
        raise ValueError(f"pressure reached is {reached}; it must be zero or above")
    ranked = [
        PartMargin(
            part,
            part.max_working_pressure - reached,
            reached / part.max_working_pressure,
            _worst(part, reached),
        )
        for part in parts
    ]
    return tuple(sorted(ranked, key=lambda r: (r.part.max_working_pressure, r.part.name)))


def stuck_rise(
    stall: Stall,
    section: ClosedSection,
    displaced: float,
    rate: float,
    parts: Sequence[PartStrength],
    start: float = 0.0,
) -> StuckRise:
    """Follow the pressure up with the outlet closed and the relief valve stuck shut.

    ``stall`` from ``drive`` (``NOT_LIMITED`` for a drive that does not stall), ``displaced`` (m³)
    a stroke or turn, ``rate`` strokes or turns a second, ``start`` (Pa) the pressure when the
    outlet closes. ``ends_by`` says what ends the rise: the drive stalls below every burst
    pressure, a part gives way at its burst pressure, or neither is known.

    >>> from rebuildbook.calculators.drive import stall_by_ratio
    >>> parts = [PartStrength("body", 16e5, 24e5, 64e5), PartStrength("hose", 25e5, 50e5, 100e5)]
    >>> line = ClosedSection(2e-3, 2e9, hose_compliance=4e-12)
    >>> rise = stuck_rise(stall_by_ratio(6e5, 5.0), line, 1e-6, 1.0, parts)
    >>> rise.ends_by, rise.reached / 1e5, rise.weakest.part.name, rise.weakest.worst
    ('the drive stalls', 30.0, 'body', 'test')
    >>> round(rise.first("limit").strokes, 2)  # 5 mL per MPa: 1.6 MPa takes 8 mL
    8.0
    """
    positive("displaced volume", displaced)
    positive("rate", rate)
    not_negative("start pressure", start)
    bursts = [part.burst_pressure for part in parts if part.burst_pressure is not None]
    gives = min(bursts, default=math.inf)
    reached = max(min(stall.pressure, gives), start)
    ends: End = "the drive stalls" if stall.pressure < gives else "a part gives way"
    if math.isinf(reached):
        ends = "not known"
    marks = [mark for part in parts for mark in _marks(part)]

    def milestone(name: str, kind: Kind, pressure: float) -> Milestone:
        if pressure > stall.pressure * (1.0 + SLACK) and pressure > start:
            return Milestone(name, kind, pressure, math.inf, math.inf)
        strokes = max(float(section.volume_to(pressure, start)), 0.0) / displaced
        return Milestone(name, kind, pressure, strokes, strokes / rate)

    found = sorted((milestone(*mark) for mark in marks), key=lambda m: (m.pressure, m.name))
    return StuckRise(
        section, displaced, rate, start, stall.pressure, reached, ends,
        rank_parts(parts, reached), tuple(found),
    )  # fmt: skip


def _marks(part: PartStrength) -> Iterator[tuple[str, Kind, float]]:
    yield part.name, "limit", part.max_working_pressure
    if part.test_pressure is not None:
        yield part.name, "test", part.test_pressure
    if part.burst_pressure is not None:
        yield part.name, "burst", part.burst_pressure


def _worst(part: PartStrength, reached: float) -> Kind | None:
    worst: Kind | None = None
    for _, kind, pressure in _marks(part):
        if reached > pressure * (1.0 + SLACK) or (kind == "burst" and reached >= pressure):
            worst = kind
    return worst
