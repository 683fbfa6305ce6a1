"""What to try in lesson 8: readings of the lesson's pump, and what they point to."""

from __future__ import annotations

from rebuildbook.calculators.diagnosis import diagnose
from rebuildbook.figures.diagnosis_bars import diagnosis_bars
from rebuildbook.lessons.reading_a_test import bench
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import parse_amount, show

MOST_NAMED, LEAST = 3, 0.01


def point_to(
    creep_up: str, creep_down: str, packing: str, flow: str = "", pressure_lost: str = ""
) -> Drawn:
    """Draw what the readings point to; each a text with its unit, "" for one not taken.

    ``creep_up`` and ``creep_down`` at stall, as "20 mm/s"; ``packing`` what is caught outside and
    ``flow`` what the pump delivers, as "20 mL/min" and "38 L/min"; ``pressure_lost`` what the shut
    outlet lost with the drive vented, as "0.2 bar". Raises UnitProblem for one that is none, and
    ValueError where no reading is given.
    """
    given = {
        "creep, up-stroke": (creep_up, "speed"),
        "creep, down-stroke": (creep_down, "speed"),
        "weep, rod packing": (packing, "flow"),
        "flow": (flow, "flow"),
        "pressure lost, drive vented after the up-stroke": (pressure_lost, "pressure"),
    }
    readings: dict[str, float | None] = {
        name: parse_amount(text, dimension, allow=("single",)).nominal
        for name, (text, dimension) in given.items()
        if text.strip()
    }
    if not readings:
        raise ValueError("no reading is given; write at least one, as creep_up = '20 mm/s'")
    found = diagnose(bench(), readings)
    first, *others = found.explanations[:MOST_NAMED]
    told = [first, *(one for one in others if one.probability >= LEAST)]
    likely = "; ".join(f"{one.said}, {_share(one.probability)}" for one in told)
    return drawn(diagnosis_bars(found), f"Likeliest: {likely}.")


def _share(probability: float) -> str:
    return "over 99 %" if probability > 0.99 else show(probability, "%", 2)
