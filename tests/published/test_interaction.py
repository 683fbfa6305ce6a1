"""Elastic interaction against textbook solutions and published trends."""

import math

import numpy as np
import pytest

from rebuildbook.calculators.flange_elements import bed
from rebuildbook.calculators.flange_model import Bar, Cover, Gasket, Outline, RingFlange
from rebuildbook.calculators.interaction import (
    ForcePass,
    interaction_matrix,
    joint,
    tighten,
    tighten_until_even,
)
from rebuildbook.calculators.layout import circle, cross_order, rotation_order

INCH = 0.0254
STEEL = 207e9


def test_a_long_bar_sinks_as_the_infinite_beam_on_springs() -> None:
    """Hetényi, Beams on Elastic Foundation, infinite beam under a point load (from memory).

    y = P λ/(2 k) e^(−λx) (cos λx + sin λx), λ = (k/(4 EI))^¼, k per length.
    """
    bar = Bar(200e9, 0.02, 2.4, 0.03)
    gasket = Gasket(60e6, 3e-3, 0.03)
    per_length = gasket.stiffness * gasket.width
    decay = (per_length / (4.0 * 200e9 * 0.03 * 0.02**3 / 12.0)) ** 0.25
    assert decay * bar.length > 6 * math.pi  # long enough
    x = np.array([0.0, 0.05, 0.1, 0.15, 0.25])
    found = bed(bar, gasket, [(place, 0.0) for place in x]).bolts[0]
    bent = np.exp(-decay * x) * (np.cos(decay * x) + np.sin(decay * x))
    assert found == pytest.approx(decay / (2.0 * per_length) * bent, abs=2e-3 * found[0])


@pytest.mark.parametrize("length", [0.1, 0.25, 0.5])
def test_a_short_bar_sinks_as_the_free_ended_beam_on_springs(length: float) -> None:
    """Hetényi, free-ended beam of length l with a point load P at its middle (from memory).

    Middle y = P λ/(2 k) (cosh λl + cos λl + 2)/(sinh λl + sin λl),
    ends y = 2 P λ/k cosh(λl/2) cos(λl/2)/(sinh λl + sin λl).
    """
    gasket = Gasket(60e6, 3e-3, 0.03)
    per_length = gasket.stiffness * gasket.width
    decay = (per_length / (4.0 * 200e9 * 0.03 * 0.02**3 / 12.0)) ** 0.25
    turn = decay * length
    below = math.sinh(turn) + math.sin(turn)
    middle = decay / (2 * per_length) * (math.cosh(turn) + math.cos(turn) + 2) / below
    end = 2 * decay / per_length * math.cosh(turn / 2) * math.cos(turn / 2) / below
    points = [(0.0, 0.0), (length / 2, 0.0)]
    found = bed(Bar(200e9, 0.02, length, 0.03), gasket, points).bolts[0]
    assert found == pytest.approx([middle, end], abs=2e-3 * middle)


def test_a_wide_cover_sinks_as_the_infinite_plate_on_springs() -> None:
    """Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells (from memory).

    Under a point load on an infinite plate w = P/(8 √(k D)).
    """
    thickness, stiffness = 0.01, 2e9
    rigidity = 200e9 * thickness**3 / (12.0 * (1.0 - 0.3**2))
    side = 14.0 * (rigidity / stiffness) ** 0.25
    cover = Cover(200e9, thickness, Outline("rectangle", side, side))
    found = bed(cover, Gasket(stiffness, 1.0, side), [(0.0, 0.0)]).bolts[0, 0]
    assert found == pytest.approx(1.0 / (8.0 * math.sqrt(stiffness * rigidity)), rel=6e-3)


def test_a_ring_twists_as_the_ring_under_an_even_couple() -> None:
    """Timoshenko, Strength of Materials Part II, ring under a uniform couple m: φ = m R²/(EI).

    From memory. Bolts pulling evenly outside a narrow gasket under the middle of the ring.
    """
    ring = RingFlange(200e9, 0.02, 0.18, 0.22, gasket_diameter=0.2)
    gasket = Gasket(100e6, 2e-3, 1e-4)
    count, arm = 96, 0.008
    found = bed(ring, gasket, circle(count, 0.2 + 2 * arm).positions).bolts
    sunk = found.sum(axis=1)  # each bolt pulls 1 N
    along = 2 * math.pi * ring.radius
    couple = count * arm / along
    bending = 200e9 * 0.02 * 0.02**3 / 12
    straight = count / (gasket.stiffness * gasket.width * along)
    assert sunk - straight == pytest.approx(
        np.full(count, arm * couple * ring.radius**2 / bending), rel=1e-3
    )


# The joint of an ASME PVP 2005 study of elastic interaction in gasketed joints (abstract): steel
# flanges, 1/2-13 bolts, three, five or seven on one circle, styrene-butadiene rubber 1/16, 1/8,
# 3/16 and 1/4 in thick. Its circle, flange and rubber are not in the abstract: ours. The trends
# are those of Bickford, Introduction to the Design and Behavior of Bolted Joints (from memory).
THICKNESSES = (1 / 16, 1 / 8, 3 / 16, 1 / 4)


def study(count: int, thickness: float):
    ring = RingFlange(STEEL, 0.75 * INCH, 3 * INCH, 8 * INCH, 5.5 * INCH)
    rubber = Gasket(60e6, thickness * INCH, 2.5 * INCH)
    grip = (1.5 + thickness) * INCH
    return joint(ring, rubber, circle(count, 6 * INCH).positions, 0.1419 * INCH**2 * STEEL / grip)


@pytest.mark.parametrize("count", [5, 7])
@pytest.mark.parametrize("order", [rotation_order, cross_order])
def test_a_thicker_softer_gasket_loses_more(count: int, order) -> None:
    made = [
        tighten(study(count, thickness), [ForcePass(order(circle(count, 1.0)), 30e3)])
        for thickness in THICKNESSES
    ]
    lowest = [history.residual.min() for history in made]
    means = [history.residual.mean() for history in made]
    assert lowest == sorted(lowest, reverse=True)
    assert means == sorted(means, reverse=True)
    assert lowest[0] - lowest[-1] > 0.1


def test_closer_bolts_lose_more() -> None:
    lowest = [
        tighten(study(count, 1 / 8), [ForcePass(tuple(range(1, count + 1)), 30e3)]).residual.min()
        for count in (3, 5, 7)
    ]
    assert lowest == sorted(lowest, reverse=True)


@pytest.mark.parametrize("thickness", THICKNESSES)
def test_all_at_once_loses_nothing_and_passes_approach_it(thickness: float) -> None:
    made = study(7, thickness)
    order = cross_order(circle(7, 1.0))
    parts = [[30e3], [10e3, 20e3, 30e3, 30e3], [10e3, 20e3, *[30e3] * 4]]
    spreads = [tighten(made, [ForcePass(order, f) for f in forces]).spread for forces in parts]
    assert spreads == sorted(spreads, reverse=True)
    assert tighten_until_even(made, [ForcePass(order, 30e3)], share=0.01, most=60).even
    # simultaneously, equal advance of all nuts on an even ring gives equal force
    all_of_it = made.bed.bolts + np.diag(1.0 / made.bolt_stiffness)
    together = np.linalg.solve(all_of_it, np.ones(7))
    assert together == pytest.approx(np.full(7, together.mean()), rel=1e-6)


@pytest.mark.parametrize("count", [8, 12])
def test_a_later_bolt_unloads_its_neighbours_and_adds_to_bolts_opposite(count: int) -> None:
    """Bickford (from memory): the neighbours lose most, bolts across the joint may gain."""
    ring = RingFlange(STEEL, 0.045, 0.14, 0.26, 0.2)
    change = interaction_matrix(
        joint(ring, Gasket(60e6, 3e-3, 0.06), circle(count, 0.22).positions, 2e8)
    )[:, 0]
    assert change[0] == 1.0
    assert change[1] == pytest.approx(min(change))
    assert -1.0 < change[1] < -0.1
    assert change[-1] == pytest.approx(change[1])
    assert change[count // 2] > 0.0
