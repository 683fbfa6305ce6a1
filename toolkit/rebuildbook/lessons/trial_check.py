"""What to try in lesson 5: the case's ball with other springs, lifts, balls, rates and liquids."""

from __future__ import annotations

from dataclasses import replace

from rebuildbook.calculators.ball_motion import BallMotion
from rebuildbook.calculators.ball_seat import seat_contact
from rebuildbook.calculators.materials import material
from rebuildbook.figures.check_change import Shown, check_change
from rebuildbook.lessons.check_case import CHECK, motion
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import parse_amount, show


def ball_comes_home(
    turns: str = "80 1/min",
    viscosity: str = "150 mPa*s",
    lift: str = "6 mm",
    spring: str = "0 N",
    ball: str = "440C",
) -> Drawn:
    """Draw how the ball lifts and comes home; dashed, as it was in the case.

    All are texts with their units, ``ball`` a material of the table, as "silicon nitride". Raises
    UnitProblem for a text that is none, LookupError for a material that is not in the table, and
    ValueError for what cannot be built.
    """
    rate, thick, height, force = (
        parse_amount(text, dimension, allow=("single",)).nominal
        for text, dimension in (
            (turns, "rate"), (viscosity, "viscosity"), (lift, "length"), (spring, "force"),
        )
    )  # fmt: skip
    check = replace(CHECK, ball_material=material(ball), lift=height, spring_force=force)
    contact = seat_contact(check.ball, check.seat)
    now, before = motion(check, rate, thick), motion()
    picture = check_change(Shown(check, contact, now), Shown(CHECK, contact, before))
    cracks = show(check.cracking_pressure, "mbar", 2)
    words = f"It opens at {cracks}. Now {_told(now)}. As it was in the case {_told(before)}."
    return drawn(picture, words)


def _told(found: BallMotion) -> str:
    if not found.closes:
        return "the ball is not home before the next stroke begins"
    return (
        f"the ball is home {show(found.closing_lag, 'ms', 2)} after the piston has turned, "
        f"{show(found.back_flow_share, '%', 2)} of the stroke flow back, and it lands with "
        f"{show(found.impact_speed, 'm/s', 2)}"
    )
