"""Knobs that several boards have, and sliders with ends nearer to each other."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rebuildbook.sheets import Case
from rebuildbook.units import Amount, to_unit
from rebuildbook.whatif.boards.knobs import quantity
from rebuildbook.whatif.question import Knob


def fine(knob: Knob, amount: Amount | None, ends: tuple[float, float]) -> Knob:
    """Keep the ends of a slider where they are, SI: rounding would carry them too far.

    They are moved so far that they hold the ``amount``.
    """
    low, high = ends
    if amount is not None:
        low, high = min(low, amount.low), max(high, amount.high)
    low, high = (float(f"{to_unit(end, knob.unit):.6g}") for end in (low, high))
    return replace(knob, low=low, high=high)


def fluid_knobs(case: Case) -> Iterator[Knob]:
    """How thick the fluid is: its viscosity, or the curve that goes before it."""
    fluid = case.job.fluid
    curve = fluid.rheology
    if curve is None:
        thick = fluid.viscosity
        yield quantity(
            case, "viscosity", "Viscosity of the fluid", "fluid.viscosity", thick,
            (0.2 * thick.nominal, 5.0 * thick.nominal), "viscosity",
        )  # fmt: skip
        return
    at, words = "fluid.rheology", "Of the flow curve τ = τy + K γ̇ⁿ, which goes before a viscosity"
    yield quantity(
        case, "consistency", "Consistency K of the fluid", f"{at}.consistency", curve.consistency,
        (0.2 * curve.consistency.nominal, 3.0 * curve.consistency.nominal), "number", help=words,
    )  # fmt: skip
    yield quantity(
        case, "exponent", "Exponent n of the fluid", f"{at}.exponent", curve.exponent,
        (0.3, 1.0), "number", help=words,
    )  # fmt: skip
