"""Fluids against worked problems of textbooks and the potteries' own rules."""

import math

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from rebuildbook.calculators.flow_curve import Bingham, Newtonian
from rebuildbook.calculators.rheology import (
    metzner_reed_reynolds,
    pipe_loss,
    power_law_pipe_loss,
    slip_density,
    slip_solids_share,
    yield_pipe_flow,
)


def test_coulson_and_richardson_problem_3_40():
    """Chemical Engineering volume 1, problem 3.40, read in a public copy of its solutions.

    Doubling a laminar flow raises the loss by 1.5: n = 0.585. In the bore of 70 mm the speeds are
    0.80, 0.77, 0.62 and 0.27 m/s at 0, 10, 20 and 30 mm from the axis.
    """

    def ratio(index):
        loss = [power_law_pipe_loss.si(1.0, index, flow, 0.07, 2.0) for flow in (1e-3, 2e-3)]
        return loss[1] / loss[0] - 1.5

    index = brentq(ratio, 0.1, 1.5)
    assert index == pytest.approx(0.585, abs=5e-4)

    # the closed form's consistency for 40 kPa over 2 m gives the speeds read across the bore
    def speed(radius, consistency):
        def slope(r):
            return (4e4 * r / (2 * 2.0) / consistency) ** (1 / index)

        return quad(slope, radius, 0.035)[0]

    consistency = brentq(lambda k: speed(0.0, k) - 0.8, 1.0, 1e4)
    read = {0.010: 0.77, 0.020: 0.62, 0.030: 0.27}
    for radius, value in read.items():
        assert speed(radius, consistency) == pytest.approx(value, abs=0.015)
    flow = quad(lambda r: 2 * math.pi * r * speed(r, consistency), 0.0, 0.035)[0]
    loss = power_law_pipe_loss.si(consistency, index, flow, 0.07, 2.0)
    assert loss == pytest.approx(4e4, rel=1e-6)


def test_dry_content_by_brongniarts_formula():
    """Forming Techniques for the Self-Reliant Potter (GTZ 1991), dry content of a liquid.

    A litre of slip weighs 1.7 kg, its clay has a density of 2.5: 1166 g are dry.
    """
    share = slip_solids_share("1700 kg/m^3", "2500 kg/m^3", "1000 kg/m^3")
    assert 1700.0 * share == pytest.approx(1166.0, abs=1.0)
    assert slip_density(share, "2500 kg/m^3", "1000 kg/m^3").magnitude == pytest.approx(1700.0)


@pytest.mark.parametrize("stress", [11.0, 15.0, 40.0, 400.0])
def test_bingham_flow_by_buckingham_and_reiner(stress):
    """The Buckingham-Reiner equation as printed in textbooks of rheology (from memory)."""
    fluid, radius = Bingham(10.0, 0.05), 0.01
    ratio = 10.0 / stress
    wanted = math.pi * radius**3 * stress / (4 * 0.05) * (1 - 4 / 3 * ratio + ratio**4 / 3)
    assert yield_pipe_flow(fluid, stress, 2 * radius) == pytest.approx(wanted, rel=1e-9)


def test_newtonian_pipe_by_hagen_and_poiseuille():
    """Hagen-Poiseuille, any textbook of fluid mechanics; Re is ρ V D/μ."""
    wanted = 128 * 0.2 * 3.0 * 1e-4 / (math.pi * 0.02**4)
    assert pipe_loss(Newtonian(0.2), 1e-4, 0.02, 3.0) == pytest.approx(wanted, rel=1e-12)
    reynolds = metzner_reed_reynolds(Newtonian(0.2), 1100.0, 0.5, 0.02)
    assert reynolds == pytest.approx(1100.0 * 0.5 * 0.02 / 0.2, rel=1e-12)
