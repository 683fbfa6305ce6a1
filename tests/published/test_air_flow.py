"""Air through openings against published values, each with its source."""

import math

import pytest

from rebuildbook.calculators.air_flow import nozzle_flow


def test_choked_mass_flow_constant():
    # White, Fluid Mechanics, compressible flow: m = 0.6847 p0 A*/√(R T0) for k = 1.4; from memory
    found = nozzle_flow.si(1e-4, 7e5, 1e5, 300.0)
    assert found == pytest.approx(0.6847 * 7e5 * 1e-4 / math.sqrt(287.05 * 300.0), rel=2e-4)


# White, isentropic flow table, k = 1.4, from memory: Mach 0.5 and 0.8
@pytest.mark.parametrize(("pressure_ratio", "area_ratio"), [(0.8430, 1.3398), (0.6560, 1.0382)])
def test_subsonic_flow_against_the_isentropic_table(pressure_ratio, area_ratio):
    choked = nozzle_flow.si(1e-4, 5e5, 0.0)
    assert choked / nozzle_flow.si(1e-4, 5e5, pressure_ratio * 5e5) == pytest.approx(
        area_ratio, abs=2e-4
    )
