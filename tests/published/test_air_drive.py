"""Air use and stall of driven pumps against published values, each with its source."""

import math

import pytest

from rebuildbook.calculators.air_drive import AirSupply, DrivenPump, free_air_use, stall
from rebuildbook.calculators.air_flow import Nozzle
from rebuildbook.calculators.drive import StrokeAreas, single_acting_displacement
from rebuildbook.calculators.pump_flow import double_acting


def test_air_of_an_ideal_cylinder():
    # Esposito, Fluid Power with Applications, example 13-12 (public textbook companion): 1.75 in
    # by 6 in, 30 cycles/min, 100 psi, 14.7 psia: 1.91 scfm with the air at 80 °F counted at 68 °F
    air = free_air_use(single_acting_displacement("1.75 in", "6 in"), "100 psi", 0.0, "14.7 psi")
    at_68 = 30 * air.to("ft^3").magnitude * (68 + 460) / (80 + 460)
    assert at_68 == pytest.approx(1.91, abs=0.005)


def test_air_requirement_of_the_energy_tools():
    # test values of the MEASUR tools suite of Oak Ridge National Laboratory, single-acting 1.5 in
    # by 6 in at 60 cycles/min, 100 psi, 14.7 psia: 2.871158 ft³/min; worked with π = 3.14
    air = free_air_use(single_acting_displacement("1.5 in", "6 in"), "100 psi", 0.0, "14.7 psi")
    assert 60 * air.to("ft^3").magnitude * 3.14 / math.pi == pytest.approx(2.871158, abs=1e-5)


def test_intensifier_ratio():
    # public fluid power course notes: 2.5 in piston on a 1 in ram, 600 psi give 3750 psi
    inch, psi = 0.0254, 6894.757
    big, small = (math.pi / 4 * (d * inch) ** 2 for d in (2.5, 1.0))
    fluid = double_acting(1.0 * inch, 0.0, 0.1)
    pump = DrivenPump(StrokeAreas(big, big), fluid, 0.1)
    found = stall(pump, AirSupply(600 * psi, Nozzle(1e-4)))
    assert found.pressure / psi == pytest.approx(3750.0)
    assert pump.rod_loads(found.pressure)[1] == pytest.approx(-3750.0 * psi * small)
