"""A reciprocating pump as a small network: chambers, the passages between them, and what can fail.

A passage joins two places. A check lets liquid through from ``start`` to ``end`` and leaks the
other way; a seal leaks from the higher pressure to the lower. Places are the chambers by name and
four fixed ones: the suction, the discharge (all that stands behind the outlet checks), the return
of the relief valve and the outside. Everything the readings of `bench_card` follow from is in this
network: no list says which fault shows in which reading.

`pump_units` makes the networks of the usual kinds of pump. Signs and strokes are those of `drive`:
the up-stroke draws the rod into the drive.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

from rebuildbook.calculators.bounds import positive

Architecture = Literal[
    "double-acting-piston",
    "single-acting-piston",
    "differential-piston",
    "plunger",
    "double-diaphragm",
]
FaultKind = Literal["leak", "friction", "air", "diaphragm"]

SUCTION, DISCHARGE, RETURN, OUTSIDE = "suction", "discharge", "relief return", "outside"
FIXED = (SUCTION, DISCHARGE, RETURN, OUTSIDE)

VACUUM = 70e3  # Pa below atmosphere; deeper, the liquid's own vapour and gas blur the gauge


@dataclass(frozen=True, slots=True)
class Passage:
    """One way for liquid from ``start`` to ``end``; a check is free that way and leaks back."""

    name: str
    kind: Literal["check", "seal"]
    start: str
    end: str


@dataclass(frozen=True, slots=True)
class Move:
    """One stroke: what each place gives up (+) or takes in (−), m², and the drive's area, m²."""

    name: str
    areas: tuple[tuple[str, float], ...]
    drive_area: float

    @property
    def pressed(self) -> frozenset[str]:
        """Places at the discharge pressure during this stroke; all others are at suction's."""
        return frozenset({DISCHARGE, *(place for place, area in self.areas if area > 0.0)})

    @property
    def pressed_area(self) -> float:
        """Net area that the pressed places give up (m²); zero where the stroke only fills."""
        return sum(area for place, area in self.areas if place in self.pressed)

    @property
    def filling(self) -> dict[str, float]:
        """Areas of the chambers that fill, m², above zero."""
        return {place: -area for place, area in self.areas if place not in self.pressed}


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that can be wrong and the range of severity that matters.

    ``low`` and ``high`` are shares: of the pump's displacement lost at the test pressure (leak,
    diaphragm), of the drive's force (friction), of the drive's air (air).
    """

    name: str
    kind: FaultKind
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Bench:
    """What the pump is tested with; SI, pressures gauge.

    ``line_compliance`` (m³/Pa) is what the shut discharge line gives for each pascal,
    ``suction_compliance`` (m³/Pa) the same of the blanked suction, ``hold`` and ``vacuum_hold``
    the times pressure and vacuum are watched (s), ``vacuum`` the vacuum drawn first (Pa below
    atmosphere).
    """

    pressure: float
    rate: float
    line_compliance: float
    suction_compliance: float
    hold: float = 10.0
    vacuum: float = VACUUM
    vacuum_hold: float = 5.0

    def __post_init__(self) -> None:
        for name in self.__slots__:
            positive(name.replace("_", " "), getattr(self, name))


@dataclass(frozen=True, slots=True)
class Pump:
    """One unit on the bench: its network, its faults, its drive and the test it is given.

    ``displacement`` m³ a cycle or turn, ``supply`` Pa of air, ``friction`` share of the drive's
    force, ``efficiency`` healthy volumetric efficiency, ``free_speed`` m/s of the drive without
    load, ``air_rate`` m³/s of free air at the bench's rate. A plunger pump has ``plungers`` and
    ``rod_ratio`` in place of moves, supply and air.
    """

    architecture: Architecture
    passages: tuple[Passage, ...]
    moves: tuple[Move, ...]
    faults: tuple[Fault, ...]
    displacement: float
    bench: Bench
    efficiency: float = 0.95
    supply: float = 0.0
    friction: float = 0.0
    free_speed: float = 0.0
    air_rate: float = 0.0
    plungers: int = 0
    rod_ratio: float = 0.0

    @property
    def reference_flow(self) -> float:
        """Displacement times the bench's rate (m³/s), what severities are shares of."""
        return self.displacement * self.bench.rate

    def fault(self, name: str) -> int:
        """Give the place of a fault by its name."""
        names = [fault.name for fault in self.faults]
        if name not in names:
            raise ValueError(f"no fault {name!r} in a {self.architecture}; it has {names}")
        return names.index(name)

    def without(self, *names: str) -> Pump:
        """Leave out faults that this unit cannot have, such as a relief valve it does not carry."""
        for name in names:
            self.fault(name)
        return replace(
            self,
            faults=tuple(fault for fault in self.faults if fault.name not in names),
            passages=tuple(one for one in self.passages if one.name not in names),
        )

    def renamed(self, names: Mapping[str, str]) -> Pump:
        """Call checks, seals and their faults by other names; raises ValueError for a double one.

        ``names`` is new names by old ones; those left out stay.
        """
        passages = tuple(replace(one, name=names.get(one.name, one.name)) for one in self.passages)
        faults = tuple(replace(one, name=names.get(one.name, one.name)) for one in self.faults)
        for kind in (passages, faults):
            found = [one.name for one in kind]
            double = next((name for name in found if found.count(name) > 1), None)
            if double is not None:
                raise ValueError(f"two parts of the pump would be called {double!r}")
        return replace(self, passages=passages, faults=faults)
