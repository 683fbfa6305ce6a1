"""What to try in lessons 2 and 3: one torque on threads of several conditions."""

from __future__ import annotations

from collections.abc import Sequence

from rebuildbook.calculators.preload import preload_from_nut_factor
from rebuildbook.calculators.thread_friction import friction
from rebuildbook.calculators.thread_strength import strength_class
from rebuildbook.calculators.threads import parse_thread
from rebuildbook.calculators.uncertainty import (
    Triangular,
    preload_by_nut_factor,
    simulate,
    tightening,
)
from rebuildbook.figures.preload_rows import PreloadRow, preload_rows
from rebuildbook.lessons.fastener_card import CONDITIONS
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import parse_amount, show

MOST_ROWS = 8
_ACCURACY = 0.04  # of a click wrench


def one_torque(
    torque: str,
    screw: str,
    strength: str,
    threads: Sequence[str] = ("dry", "oiled", "greased", "moly paste"),
) -> Drawn:
    """Draw what ``torque`` does to a screw whose threads are in each of some conditions.

    ``torque`` is a text with its unit, as "34 N*m"; ``screw`` a thread, as "M10" or "3/8-16 UNC";
    ``strength`` its class, as "8.8"; ``threads`` are conditions in the lesson's words or those of
    the friction table. Raises ValueError for one that is none, and UnitProblem for no torque.
    """
    if not 1 <= len(threads) <= MOST_ROWS:
        raise ValueError(f"{len(threads)} conditions are given; give 1 to {MOST_ROWS}")
    turned = parse_amount(torque, "torque", allow=("single",)).nominal
    thread = parse_thread(screw)
    yields = thread.stress_area * strength_class(strength, thread).yield_strength
    model = preload_by_nut_factor(thread.major)
    rows, told = [], []
    for name in threads:
        found = friction(CONDITIONS.get(name, name))
        typical = found.nut_factor_typical
        factor = Triangular(found.nut_factor_low, typical, found.nut_factor_high)
        run = simulate(model, {**tightening(turned, _ACCURACY), "nut_factor": factor})
        words = f"{show(run.low, 'kN', 2).split()[0]} to {show(run.high, 'kN', 2)}"
        rows.append(
            PreloadRow(
                name, run.draws / yields, (run.low / yields, run.high / yields), None, None, words
            )
        )
        share = float(preload_from_nut_factor.si(turned, typical, thread.major)) / yields
        told.append(f"{name} about {show(share, '%', 2)}")
    words = (
        f"{show(turned, 'N*m')} on {screw}, class {strength}, as a share of the pull at which the "
        f"screw yields: {'; '.join(told)}. Twist makes it yield a little earlier."
    )
    return drawn(preload_rows(rows), words)
