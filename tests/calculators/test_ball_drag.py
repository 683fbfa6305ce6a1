import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.ball_check import submerged_weight
from rebuildbook.calculators.ball_drag import (
    CREEPING,
    drag_coefficient,
    drag_force,
    sphere_drag,
    terminal_velocity,
)
from rebuildbook.calculators.flow_curve import Bingham, HerschelBulkley, Newtonian, PowerLaw

BALL, MASS = 0.025, 0.0655


def test_creeping_drag_is_stokes_and_joins_without_a_step():
    assert sphere_drag(1e-7) == pytest.approx(24e7, rel=1e-6)
    assert sphere_drag(CREEPING * (1 - 1e-12)) == pytest.approx(sphere_drag(CREEPING), rel=1e-10)
    force = drag_force(BALL, 1000.0, Newtonian(500.0), 1e-3)
    assert force == pytest.approx(3 * math.pi * 500.0 * BALL * 1e-3, rel=1e-4)


def test_a_ball_in_thick_oil_sinks_by_stokes_law():
    weight = submerged_weight.si(MASS, BALL, 900.0)
    wanted = weight / (3 * math.pi * 300.0 * BALL)
    assert terminal_velocity(BALL, MASS, 900.0, Newtonian(300.0)) == pytest.approx(wanted, rel=1e-3)


FLUIDS = st.one_of(
    st.builds(Newtonian, st.floats(1e-3, 100.0)),
    st.builds(PowerLaw, st.floats(1e-2, 20.0), st.floats(0.3, 1.2)),
    st.builds(HerschelBulkley, st.floats(0.0, 3.0), st.floats(1e-2, 20.0), st.floats(0.3, 1.0)),
)


@given(fluid=FLUIDS)
def test_at_terminal_velocity_the_drag_is_the_weight(fluid):
    speed = terminal_velocity(BALL, MASS, 1200.0, fluid)
    weight = float(submerged_weight.si(MASS, BALL, 1200.0))
    assert drag_force(BALL, 1200.0, fluid, speed) == pytest.approx(weight, rel=1e-8)


@given(fluid=FLUIDS, more=st.floats(1.01, 3.0))
def test_a_heavier_ball_sinks_faster(fluid, more):
    slow = terminal_velocity(BALL, MASS, 1200.0, fluid)
    assert terminal_velocity(BALL, more * MASS, 1200.0, fluid) > slow


def test_a_yield_stress_holds_a_ball_at_its_limit():
    weight = float(submerged_weight.si(MASS, BALL, 1200.0))
    holds = weight / (3 * math.pi * BALL**2)
    assert terminal_velocity(BALL, MASS, 1200.0, Bingham(1.001 * holds, 100.0)) == 0.0
    assert 0.0 < terminal_velocity(BALL, MASS, 1200.0, Bingham(0.99 * holds, 100.0)) < 1e-3


def test_a_ball_that_floats_and_numbers_out_of_range_are_refused():
    with pytest.raises(ValueError, match="floats"):
        terminal_velocity(BALL, 0.005, 1700.0, Newtonian(0.1))
    with pytest.raises(ValueError, match="ends at"):
        drag_coefficient(np.array([1.0, 2e6]))
    with pytest.raises(ValueError, match="above zero"):
        drag_coefficient(0.0)
