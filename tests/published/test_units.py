"""Unit factors against NIST Special Publication 811, Appendix B (2008)."""

import pytest

from rebuildbook.units import parse_amount, to_unit

NIST_SP_811 = [
    ("1 lbf*ft", "torque", 1.355_818),
    ("1 lbf*in", "torque", 0.112_984_8),
    ("1 kgf*m", "torque", 9.806_65),
    ("1 ozf*in", "torque", 7.061_552e-3),
    ("1 psi", "pressure", 6_894.757),
    ("1 bar", "pressure", 100_000.0),
    ("1 lbf", "force", 4.448_222),
    ("1 kip", "force", 4_448.222),
    ("1 in", "length", 0.0254),
    ("1 thou", "length", 2.54e-5),
    ("1 lb", "mass", 0.453_592_37),
    ("1 lb/ft^3", "density", 16.018_46),
    ("1 lbf/in", "spring rate", 175.1268),
    ("1 cP", "viscosity", 0.001),
    ("1 gal/min", "flow", 6.309_020e-5),
    ("1 hp", "power", 745.6999),
]


@pytest.mark.parametrize(("text", "dimension", "si"), NIST_SP_811)
def test_factor_of_nist_sp_811_appendix_b(text, dimension, si):
    assert parse_amount(text, dimension).nominal == pytest.approx(si, rel=1e-6)


def test_twelve_inch_pounds_are_one_foot_pound_exactly():
    # definition of the foot, NIST SP 811 App. B
    assert to_unit(parse_amount("1 ft*lbf", "torque").nominal, "in*lbf") == pytest.approx(
        12.0, rel=1e-14
    )


def test_fahrenheit_of_nist_sp_811_appendix_b():
    assert parse_amount("212 °F", "temperature").nominal == pytest.approx(373.15)
