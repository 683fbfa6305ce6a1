"""Pressing liquid into a closed section against published figures."""

import pytest

from rebuildbook.calculators.drive import stall_by_ratio
from rebuildbook.calculators.relief_stuck import ClosedSection, rise_per_stroke

PSI, CUBIC_INCH = 6894.757293, 16.387064e-6


def test_oil_pressed_into_a_closed_body():
    """Published engineering data for hydraulic oil: 2.3 in³ into 100 in³ at 3.0e5 psi: 6900 psi."""
    section = ClosedSection(100 * CUBIC_INCH, 3.0e5 * PSI)
    assert section.pressure_after(2.3 * CUBIC_INCH) == pytest.approx(6900 * PSI, rel=1e-6)
    rise = rise_per_stroke("2.3 in^3", "100 in^3", "300000 psi")
    assert rise.to("psi").magnitude == pytest.approx(6900, rel=1e-6)


def test_one_percent_takes_a_hundredth_of_the_bulk_modulus():
    """The same data: 3000 psi takes 1.0 % off the volume."""
    section = ClosedSection(1.0, 3.0e5 * PSI)
    assert float(section.volume_to(3000 * PSI)) == pytest.approx(0.010)


def test_stall_of_an_intensifier():
    """Esposito, Fluid Power with Applications: 600 psi on 2.5 in against 1 in gives 3750 psi."""
    assert stall_by_ratio(600 * PSI, 2.5**2).pressure == pytest.approx(3750 * PSI)
