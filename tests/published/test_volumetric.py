"""Volumetric efficiency against published forms and values, each with its source."""

import pytest

from rebuildbook.calculators.drive import delivered_flow, single_acting_displacement
from rebuildbook.calculators.leak_paths import Gap
from rebuildbook.calculators.volumetric import Duty, LeakPath, handbook_efficiency, volumetric


# Karassik et al., Pump Handbook, power pumps: volumetric efficiency at inlet conditions
# VE = (1 − Ptd βt (1 + c/d))/(1 − Ptd βt) − S; from memory. Compared with the pump's own balance.
@pytest.mark.parametrize("pressure", [50e5, 350e5, 1000e5])
@pytest.mark.parametrize("clearance", [0.0, 0.5, 3.0])
def test_handbook_form_with_compressibility_and_clearance(pressure, clearance):
    duty = Duty(1e-4, 5.0, pressure, 1e-3, 998.0, bulk_modulus=2.2e9, clearance_ratio=clearance)
    found = volumetric(duty).inlet_efficiency
    assert found == pytest.approx(handbook_efficiency.si(pressure, 2.2e9, clearance), rel=1e-12)


# The same: water, compressibility 3e-6 per psi, 3 000 psi, clearance as large as the displacement,
# slip 3 %, worked by hand: 0.009, (1 − 0.018)/(1 − 0.009) − 0.03 = 0.960 92
def test_handbook_form_worked_by_hand():
    found = handbook_efficiency("3000 psi", "333333.333 psi", 1.0, 0.03)
    assert found == pytest.approx(0.96092, abs=1e-5)


# Slip as the part of the displacement that is not delivered, S = 1 − Q/(V n): Hydraulic Institute,
# reciprocating pumps (from memory), here with the leak of Fox and McDonald's piston (example 8.1,
# 57.6 mm³/s at 19 MPa; from memory) on the delivery stroke of a pump of 25 mm bore
def test_slip_is_what_the_meter_misses():
    displacement = float(single_acting_displacement.si(0.025, 0.02))
    duty = Duty(displacement, 0.01, 19e6, 0.018, 920.0)
    leaking = LeakPath("piston", Gap(0.025, 5e-6, 0.015), 19e6, "down-stroke")
    found = volumetric(duty, (leaking,))
    meter = displacement * 0.01 - 57.6e-9 / 2.0
    assert found.flow == pytest.approx(meter, rel=1e-3)
    flow = delivered_flow.si(displacement, 0.01, found.efficiency)
    assert flow == pytest.approx(found.flow, rel=1e-12)
