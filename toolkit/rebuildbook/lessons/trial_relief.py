"""What to try in lesson 6: air pressure, set pressure and weakest part on one ladder."""

from __future__ import annotations

from rebuildbook.calculators.drive import (
    StrokeAreas,
    double_acting_areas,
    piston_area,
    stall_by_areas,
)
from rebuildbook.calculators.relief import assess_relief
from rebuildbook.calculators.relief_pressures import PressureLimit, ReliefInputs
from rebuildbook.figures.pressure_ladder import Rung, pressure_ladder
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import parse_amount, show

_BORE, _ROD, _AIR_PISTON, _FRICTION = 0.080, 0.030, 0.160, 0.08  # m; the case's pump
_TOLD = ("set-vs-limit", "relieving-vs-limit", "stall-vs-limit")


def ladder(
    air: str = "5 bar",
    set_pressure: str = "25 bar",
    weakest: str = "30 bar",
    working: str = "16 bar",
) -> Drawn:
    """Draw where the case's pump works, stalls, relieves and gives way; texts with their units.

    ``air`` is the pressure at the motor, ``set_pressure`` that of the relief valve, ``weakest``
    what the weakest part stands, ``working`` what the pump delivers at. Raises UnitProblem for a
    text that is no pressure.
    """
    supply, level, limit, works = (
        parse_amount(text, "pressure", allow=("single",)).nominal
        for text in (air, set_pressure, weakest, working)
    )
    drive = StrokeAreas(*[float(piston_area.si(_AIR_PISTON))] * 2)
    fluid = double_acting_areas(_BORE, _ROD)
    most = stall_by_areas(supply, drive, fluid).pressure
    rubbed = stall_by_areas(supply, drive, fluid, _FRICTION).pressure
    found = assess_relief(
        ReliefInputs(
            parts=(PressureLimit("weakest part", limit),), working=works, set_planned=level,
            stall=most, stall_max=most,
        )
    )  # fmt: skip
    at = found.pressures
    rungs = [
        Rung("works at", works, "working"),
        Rung("relief valve, set", level, "set", at.opens_low, at.opens_high),
        Rung("at full relief", at.relieving or level, "relieving"),
        Rung("stalls at, no friction", most, "stall"),
        Rung("weakest part stands", limit, "limit"),
    ]
    told = " ".join(found.comparison(name).words for name in _TOLD)
    words = (
        f"With {show(supply, 'bar', 2)} of air it stalls at {show(rubbed, 'bar')} with 8 % "
        f"friction, and at {show(most, 'bar')} at most. {told}"
    )
    return drawn(pressure_ladder(rungs, "bar"), words)
