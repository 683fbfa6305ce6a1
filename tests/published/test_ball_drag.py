"""Drag and terminal velocity of a ball against the `fluids` library and published curves."""

import fluids.drag
import numpy as np
import pytest

from rebuildbook.calculators.ball_check import ball_mass
from rebuildbook.calculators.ball_drag import drag_coefficient, terminal_velocity
from rebuildbook.calculators.flow_curve import Newtonian

WIDE = np.geomspace(1e-2, 1e6, 161)


def test_drag_over_eight_decades_by_the_choice_of_fluids():
    wanted = [fluids.drag.drag_sphere(reynolds) for reynolds in WIDE]
    assert drag_coefficient(WIDE) == pytest.approx(wanted, rel=0.05)


@pytest.mark.parametrize("curve", ["Clift", "Cheng", "Haider_Levenspiel", "Khan_Richardson"])
def test_drag_by_other_curves_where_all_hold(curve):
    """Four published curves, through `fluids.drag`; they differ by some 5 % among themselves."""
    numbers = np.geomspace(1e-2, 3e4, 60)
    wanted = [getattr(fluids.drag, curve)(reynolds) for reynolds in numbers]
    assert drag_coefficient(numbers) == pytest.approx(wanted, rel=0.08)


def test_drag_of_the_table_of_barati():
    """Value at Re = 200 of the table in [1], quoted in the documentation of `fluids`."""
    assert drag_coefficient(200.0) == pytest.approx(0.7730544082789523, rel=1e-12)


@pytest.mark.parametrize("ball", [0.5e-3, 3e-3, 25e-3])
@pytest.mark.parametrize("viscosity", [5e-4, 1e-3, 0.1, 5.0])
@pytest.mark.parametrize("density", [1400.0, 3900.0, 8000.0, 14900.0])
def test_terminal_velocity_by_fluids(ball, viscosity, density):
    wanted = fluids.drag.v_terminal(ball, density, 1000.0, viscosity)
    mass = float(ball_mass.si(ball, density, 0.0))
    found = terminal_velocity(ball, mass, 1000.0, Newtonian(viscosity))
    assert found == pytest.approx(wanted, rel=0.05)
