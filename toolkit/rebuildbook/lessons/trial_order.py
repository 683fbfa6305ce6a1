"""What to try in lesson 4: the same flange in two orders, with passes and rounds to choose."""

from __future__ import annotations

from rebuildbook.calculators.interaction import History
from rebuildbook.figures.interaction import preload_history
from rebuildbook.lessons.flange_case import GASKETS, PASSES, course
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import show, to_unit

_NAMES = {"cross": "crossing", "round": "going round"}
MOST_ROUNDS = 6


def both_orders(passes: int = 3, rounds: int = 0, gasket: str = "fibre") -> Drawn:
    """Draw what the eight screws hold, step by step, crossing and going round.

    ``passes`` are 1, 2 or 3, ``rounds`` at full force follow them, 0 to 6; ``gasket`` is "fibre"
    or "soft". Raises ValueError for others.
    """
    if passes not in PASSES:
        raise ValueError(f"passes = {passes!r}; write {', '.join(str(one) for one in PASSES)}")
    if rounds not in range(MOST_ROUNDS + 1):
        raise ValueError(f"rounds = {rounds!r}; write a whole number from 0 to {MOST_ROUNDS}")
    if gasket not in GASKETS:
        raise ValueError(f"gasket = {gasket!r}; write {' or '.join(GASKETS)}")
    found = {told: course(name, int(passes), int(rounds), gasket) for name, told in _NAMES.items()}
    words = "; ".join(f"{name}: {_told(history)}" for name, history in found.items())
    return drawn(preload_history(found, "kN"), f"{words[0].upper()}{words[1:]}.")


def _told(history: History) -> str:
    low, high = (to_unit(float(one), "kN") for one in (history.final.min(), history.final.max()))
    tips = show(history.skew, "mm", 2)
    return (
        f"the screws end between {low:.1f} and {high:.1f} kN, and on the way one side of the "
        f"flange is up to {tips} lower than the other"
    )
