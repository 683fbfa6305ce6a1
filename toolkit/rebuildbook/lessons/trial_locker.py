"""What to try in lesson 3: the passes over a flange against the times on a locker's label."""

from __future__ import annotations

from rebuildbook.calculators.cure import SettingTimes, at_temperature
from rebuildbook.calculators.layout import circle, cross_order, rotation_order
from rebuildbook.calculators.schedule import longest_open
from rebuildbook.lessons.show import Shown
from rebuildbook.units import from_unit, parse_amount, show

_BENCHES = (3.0, 13.0, 23.0, 33.0)  # °C


def against_the_clock(
    screws: int = 8,
    passes: int = 3,
    each: str = "8 s",
    working: str = "5 min",
    fixture: str = "20 min",
    cure: str = "24 h",
    times_at: str = "23 degC",
) -> Shown:
    """Tell on benches of several temperatures whether the passes end in the working time.

    ``screws`` on a circle are brought up in so many crossing ``passes`` and one round, ``each``
    screw taking that long in every one; ``working``, ``fixture`` and ``cure`` stand on the label
    for ``times_at``. Raises UnitProblem for a text that is no time or temperature, and ValueError
    for fewer than two screws or no pass.
    """
    if not 1 <= passes <= 10:
        raise ValueError(f"passes = {passes!r}; write a whole number from 1 to 10")
    given = SettingTimes(*(_time(text) for text in (working, fixture, cure)))
    label = parse_amount(times_at, "temperature", allow=("single",)).nominal
    layout = circle(int(screws), 0.2)
    orders = [cross_order(layout)] * int(passes) + [rotation_order(layout)]
    longest = longest_open(orders, _time(each))
    rows = [("Bench", "May be worked", "Handled after", "Holds after", "The passes")]
    for bench in _BENCHES:
        at = at_temperature(given, from_unit(bench, "degC"), label)
        in_time = longest.span < (at.working or 0.0)
        rows.append((
            f"{bench:g} °C", show(at.working or 0.0, "min", 2), show(at.fixture or 0.0, "min", 2),
            show(at.cure or 0.0, "h", 2), "end in time" if in_time else "take too long",
        ))  # fmt: skip
    told = (
        f"Screw {longest.position} is longest at work: {show(longest.span, 'min', 2)} from the "
        "start of its first turn, when its thread is wetted, to the end of its last."
    )
    return Shown("The passes against the label", [told], rows=rows)


def _time(text: str) -> float:
    return parse_amount(text, "time", allow=("single",)).nominal
