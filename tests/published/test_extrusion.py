"""Extrusion gaps and cylinder growth against published values; each check names its source."""

import pytest

from rebuildbook.calculators.extrusion import (
    allowed_clearance,
    allowed_clearance_backed,
    bore_growth,
)

# public table of diametral clearance, in, against pressure, psi, at 70 and 90 Shore A, read
CHART = [
    (500, 0.016, 0.028),
    (1000, 0.010, 0.024),
    (1500, 0.006, 0.020),
    (2000, 0.004, 0.016),
    (3000, 0.002, 0.010),
]


@pytest.mark.parametrize(("pressure", "soft", "hard"), CHART)
def test_clearance_chart(pressure: float, soft: float, hard: float) -> None:
    at = f"{pressure} psi"
    assert allowed_clearance(at, 70).to("inch").magnitude == pytest.approx(soft)
    assert allowed_clearance(at, 90).to("inch").magnitude == pytest.approx(hard)


def test_another_chart_at_1000_psi_and_0016_in() -> None:
    """A public design guide: 0.016 in at 1000 psi is too much for 70 and acceptable for 80, read.

    The mean of the logarithms between 70 and 90 falls short of it by a thousandth, the safe side.
    """
    soft, middle = (
        allowed_clearance("1000 psi", hardness).to("inch").magnitude for hardness in (70, 80)
    )
    assert soft < 0.016
    assert middle == pytest.approx(0.016, abs=0.001)


def test_backed_clearance_at_400_bar() -> None:
    """A public note: 0.08 mm at most from 400 bar on, with two back-up rings, read."""
    assert allowed_clearance_backed("400 bar").to("mm").magnitude == pytest.approx(0.08)


def test_growth_of_a_closed_thick_cylinder() -> None:
    """Roark's Formulas for Stress and Strain, thick vessels, internal pressure and end load.

    Δb = (q b/E) [a²(1 + ν) + b²(1 − 2ν)]/(a² − b²), from memory: b 30, a 50 mm, 300 bar, steel.
    """
    b, a, q, modulus, nu = 0.030, 0.050, 300e5, 206e9, 0.3
    wanted = q * b / modulus * (a**2 * (1 + nu) + b**2 * (1 - 2 * nu)) / (a**2 - b**2)
    found = bore_growth.si(2 * b, 2 * a, q, modulus, nu, True)
    assert found == pytest.approx(2 * wanted)
