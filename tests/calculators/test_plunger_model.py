"""Plungers through a turn: losses against quadrature, balances, and what equal faults do."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.plunger_model import plunger_flow, standing, swing
from rebuildbook.calculators.pump_model import state
from rebuildbook.calculators.pump_units import plunger


def pump(plungers=3, rod_ratio=0.0):
    return plunger(
        2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=plungers, rod_ratio=rod_ratio
    )


def with_faults(unit, **shares):
    severities = np.zeros(len(unit.faults))
    for name, share in shares.items():
        severities[unit.fault(name.replace("_", " "))] = share
    return state(unit, severities)


@given(st.floats(0.03, 0.25), st.sampled_from(["inlet 1", "outlet 2", "packing 3"]))
def test_flow_lost_is_what_the_leak_takes_but_no_more_than_the_plunger_gives(share, name):
    """Quadrature of min(plunger speed, leak) over the half turn in which the passage is loaded."""
    unit = pump()
    flow = float(plunger_flow(with_faults(unit, **{name: share})))
    own = unit.reference_flow / 3
    leak = share * unit.reference_flow / 0.5  # loaded for half the turn
    edge = math.asin(min(leak / (math.pi * own), 1.0))
    lost = quad(
        lambda a: min(math.pi * own * math.sin(a), leak), 0, math.pi, points=[edge, math.pi - edge]
    )
    assert 0.95 * unit.reference_flow - flow == pytest.approx(lost[0] / (2 * math.pi), rel=2e-3)


def test_a_small_leak_loses_its_share():
    unit = pump()
    flow = float(plunger_flow(with_faults(unit, inlet_1=1e-4)))
    assert 0.95 * unit.reference_flow - flow == pytest.approx(1e-4 * unit.reference_flow, rel=0.01)


def test_relief_leak_takes_flow_and_leaves_no_swing():
    now = with_faults(pump(), relief_valve=0.1)
    assert float(plunger_flow(now)) == pytest.approx(0.85 * pump().reference_flow)
    assert abs(complex(swing(now))) < 1.0  # Pa of 7 MPa


@pytest.mark.parametrize("plungers", [2, 3, 5])
@pytest.mark.parametrize("rod_ratio", [0.0, 0.25])
def test_equal_plungers_do_not_swing_once_a_turn(plungers, rod_ratio):
    unit = pump(plungers, rod_ratio)
    faults = {f"inlet_{i + 1}": 0.05 for i in range(plungers)}
    assert abs(complex(swing(with_faults(unit)))) < 1e-6 * 7e6
    assert abs(complex(swing(with_faults(unit, **faults)))) < 1e-6 * 7e6


def test_small_leak_swings_as_the_half_wave_it_takes():
    """First harmonic of a loss x over half a turn: 2x/π; pressure goes with twice the flow."""
    share = 2e-4
    size = abs(complex(swing(with_faults(pump(), inlet_1=share))))
    taken = 2 * share  # of the mean flow, over half the turn
    assert size == pytest.approx(2 * 7e6 * taken * 2 / math.pi / 0.95, rel=0.01)


@pytest.mark.parametrize(
    ("name", "behind"), [("inlet 2", 120), ("inlet 3", 240), ("outlet 1", 180)]
)
def test_the_swing_tells_the_chamber_by_its_angle(name, behind):
    reference = complex(swing(with_faults(pump(), inlet_1=0.1)))
    other = complex(swing(with_faults(pump(), **{name: 0.1})))
    turned = math.degrees(-np.angle(other / reference)) % 360
    assert turned == pytest.approx(behind, abs=0.1)


def test_packing_and_inlet_of_one_plunger_swing_alike():
    one = complex(swing(with_faults(pump(), inlet_1=0.1)))
    assert complex(swing(with_faults(pump(), packing_1=0.1))) == pytest.approx(one)


def test_chambers_standing_at_pressure_when_a_plunger_ends_its_delivery():
    assert standing(pump(1), 1) == {"plunger 1"}
    assert standing(pump(2), 1) == {"plunger 1"}
    assert standing(pump(3), 1) == {"plunger 1", "plunger 2"}  # 2 is a third of a turn behind
