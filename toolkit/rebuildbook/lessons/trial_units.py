"""What to try in lesson 1: one number on the wrench, in the unit meant and in three others."""

from __future__ import annotations

from rebuildbook.calculators.preload import preload_from_nut_factor
from rebuildbook.calculators.thread_strength import strength_class
from rebuildbook.calculators.threads import parse_thread
from rebuildbook.calculators.uncertainty import (
    Simulation,
    Triangular,
    preload_by_nut_factor,
    simulate,
    tightening,
)
from rebuildbook.figures.preload_rows import PreloadRow, preload_rows
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import from_unit, show, shown_unit

_UNITS = ("in*lbf", "N*m", "ft*lbf", "kgf*m")
_OILED = Triangular(0.14, 0.18, 0.24)  # nut factor; common practice, no source
_ACCURACY = 0.04


def one_number(number: float, screw: str, strength: str) -> Drawn:
    """Draw what ``number`` does to an oiled screw in each unit of torque.

    ``screw`` is a thread, as "M8" or "3/8-16 UNC", ``strength`` its class, as "8.8". Raises
    ValueError for a number that is no torque, and for a thread or class the tables do not have.
    """
    if not 0.0 < number < 1e4:
        raise ValueError(f"number = {number:g}; a torque is positive, and under 10 000 here")
    thread = parse_thread(screw)
    grade = strength_class(strength, thread)
    yields = thread.stress_area * grade.yield_strength
    model = preload_by_nut_factor(thread.major)
    rows, told = [], []
    for unit in _UNITS:
        torque = from_unit(number, unit)
        run = simulate(model, {**tightening(torque, _ACCURACY), "nut_factor": _OILED})
        rows.append(_row(f"{number:g} {shown_unit(unit)}", run, yields))
        typical = float(preload_from_nut_factor.si(torque, _OILED.mode, thread.major))
        share = show(typical / yields, "%", 2)
        told.append(f"{number:g} {shown_unit(unit)} gives about {share} of what makes it yield")
    words = f"{screw}, class {strength}, oiled: {'; '.join(told)}."
    return drawn(preload_rows(rows), words)


def _row(name: str, run: Simulation, yields: float) -> PreloadRow:
    words = f"{show(run.low, 'kN', 2).split()[0]} to {show(run.high, 'kN', 2)}"
    words += ", gives way" if run.low > yields else ""  # it lies beyond the picture's edge
    return PreloadRow(
        name, run.draws / yields, (run.low / yields, run.high / yields), None, None, words
    )
