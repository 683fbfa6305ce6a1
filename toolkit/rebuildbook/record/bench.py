"""What the bench was to do, as far as a reading is held against it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rebuildbook.calculators.torque import torque_at_fastener
from rebuildbook.calculators.wrench import LEAST_FRACTION, Adapter, Wrench
from rebuildbook.sheets import Case


@dataclass(frozen=True, slots=True)
class JointBench:
    """One joint at the bench; torques in N·m at the fastener.

    ``order`` are the fastener numbers in the order of the last pass, empty where none is planned.
    ``tool`` is the label of the wrench in hand, empty where the shop has none to judge; ``named``
    says that the job card names it.
    """

    name: str
    what: str
    count: int
    low: float
    high: float
    unit: str
    window: str
    order: tuple[int, ...] = ()
    tool: str = ""
    named: bool = False
    adapter: Adapter | None = None

    def ratio(self, wrench: Wrench) -> float | None:
        """Torque at the fastener over torque on the scale; None where the lever is not known."""
        if self.adapter is None:
            return 1.0
        if wrench.lever is None:
            return None
        lever, offset, angle = wrench.lever, self.adapter.offset, self.adapter.angle
        return float(torque_at_fastener.si(1.0, lever, offset, angle))


@dataclass(frozen=True, slots=True)
class Bench:
    """A case with its joints as planned and the shop's torque tools, by label."""

    case: Case
    joints: Mapping[str, JointBench]
    wrenches: Mapping[str, Wrench]
    least_fraction: float = LEAST_FRACTION
