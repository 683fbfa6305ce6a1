"""The flange of lesson 4: eight screws on a fibre ring, and what our model says of it.

The model is elastic; its forces grow with the force aimed at, all in proportion.
"""

from __future__ import annotations

import functools

from rebuildbook.calculators.flange_model import Gasket, RingFlange
from rebuildbook.calculators.interaction import (
    ForcePass,
    History,
    Joint,
    interaction_matrix,
    joint,
    tighten,
)
from rebuildbook.calculators.layout import Layout, circle, cross_order, rotation_order

COUNT = 8
FLANGE = RingFlange(169e9, 22e-3, 0.098, 0.180, gasket_diameter=0.111)  # Pa, m
GASKETS = {  # Pa, m, m
    "fibre": Gasket(500e6, 1.6e-3, 13e-3),
    "soft": Gasket(200e6, 2e-3, 13e-3),
}
SCREW_STIFFNESS = 3e8  # N/m
AIM = 20e3  # N
PASSES = {1: (1.0,), 2: (0.5, 1.0), 3: (0.3, 0.6, 1.0)}


@functools.cache
def layout() -> Layout:
    """Give the eight places of the screws, numbered clockwise."""
    return circle(COUNT, 0.150)


@functools.cache
def order(name: str) -> tuple[int, ...]:
    """Give an order by its name: "cross" or "round"."""
    orders = {"cross": cross_order, "round": rotation_order}
    if name not in orders:
        raise ValueError(f"order {name!r} is not known; write cross or round")
    return orders[name](layout())


@functools.cache
def flange(gasket: str = "fibre") -> Joint:
    """Give the joint on one of the gaskets."""
    if gasket not in GASKETS:
        raise ValueError(f"gasket {gasket!r} is not known; write {' or '.join(GASKETS)}")
    return joint(FLANGE, GASKETS[gasket], layout().positions, SCREW_STIFFNESS)


@functools.cache
def course(name: str, passes: int, rounds: int = 0, gasket: str = "fibre") -> History:
    """Follow the screws through passes in an order, and then through rounds at full force."""
    steps = [ForcePass(order(name), AIM * share) for share in PASSES[passes]]
    steps += [ForcePass(order("round"), AIM)] * rounds
    return tighten(flange(gasket), steps)


@functools.cache
def neighbour_loss(gasket: str = "fibre") -> float:
    """Give what a screw loses for each newton that a neighbour gains, two figures."""
    change = float(interaction_matrix(flange(gasket))[1, 0])
    return round(-change, 2)
