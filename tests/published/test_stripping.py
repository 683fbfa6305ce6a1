"""Thread stripping against published values, each with its source."""

import math

import pytest

from rebuildbook.calculators.stripping import (
    ThreadPair,
    basic_pair,
    engagement_to_break_fastener,
    external_factor,
    external_shear_area,
    handbook_engagement,
    internal_factor,
    internal_shear_area,
    stripping,
    widening_factor,
)

INCH = 0.0254

# ASME B1.1, 1/2-13 UNC-2A in 2B (limits from memory): external least major 0.4876 and pitch
# diameter 0.4435, internal greatest minor 0.434 and pitch diameter 0.4565 in.
HALF_INCH = ThreadPair(
    pitch=INCH / 13,
    major=0.4876 * INCH,
    pitch_diameter=0.4435 * INCH,
    internal_minor=0.434 * INCH,
    internal_pitch_diameter=0.4565 * INCH,
)


# FED-STD-H28/2, shear area of 1/2-13 UNC-2A an inch of engagement: 0.779 in² external and
# 1.12 in² internal (from memory).
def test_fed_std_h28_shear_areas():
    external = external_shear_area.si(
        INCH,
        pitch=HALF_INCH.pitch,
        internal_minor=HALF_INCH.internal_minor,
        pitch_diameter=HALF_INCH.pitch_diameter,
    )
    internal = internal_shear_area.si(
        INCH,
        pitch=HALF_INCH.pitch,
        major=HALF_INCH.major,
        internal_pitch_diameter=HALF_INCH.internal_pitch_diameter,
    )
    assert external / INCH**2 == pytest.approx(0.779, abs=5e-4)
    assert internal / INCH**2 == pytest.approx(1.12, abs=5e-3)


# Machinery's Handbook, length of engagement (formulas 1 and 3, and J, read in public copies),
# worked with the handbook's own arrangement in inches.
@pytest.mark.parametrize("weaker", [1.0, 0.5, 0.25])
def test_machinerys_handbook_length_of_engagement(weaker):
    n, area = 13.0, 0.1419
    kn, es, ds, en = 0.434, 0.4435, 0.4876, 0.4565
    length = 2.0 * area / (math.pi * n * kn * (1.0 / (2.0 * n) + 0.57735 * (es - kn)))
    shear_external = math.pi * n * length * kn * (1.0 / (2.0 * n) + 0.57735 * (es - kn))
    shear_internal = math.pi * n * length * ds * (1.0 / (2.0 * n) + 0.57735 * (ds - en))
    j = shear_external / (shear_internal * weaker)
    expected = length * max(j, 1.0)
    found = handbook_engagement(
        HALF_INCH,
        stress_area=area * INCH**2,
        fastener_tensile=120.0,
        internal_tensile=weaker * 120.0,
    )
    assert found / INCH == pytest.approx(expected, rel=1e-5)


# Alexander's model (ISO/TR 16224, from memory): a nut of s/D = 1.5 widens to 0.84, from 1.9 on it
# does not; the two bending factors meet at 0.897 where the threads are equally strong; at a
# strength ratio of 2.2 the external thread has gained to 1.19.
def test_alexander_factors():
    assert widening_factor.si(1.5, 1.0) == pytest.approx(0.84, abs=1e-9)
    assert widening_factor.si(1.9, 1.0) == pytest.approx(1.0, abs=1e-9)
    assert external_factor(1.0 + 1e-9) == pytest.approx(0.897, abs=1e-3)
    assert internal_factor(1.0 - 1e-9) == pytest.approx(0.897, abs=1e-3)
    assert external_factor(2.2) == pytest.approx(1.19, abs=5e-3)


# ISO 898-2 (from memory): a nut M10 of class 8, style 1, must hold 50.5 kN (870 MPa on the stress
# area), and was dimensioned by this model to do so with little to spare. ISO 965 limits of 6g and
# 6H, least height 8.04 mm less the chamfers' 0.8 P, 16 mm across flats, 200 HV or 640 MPa, on the
# hardened mandrel of the test (45 HRC, 1500 MPa); all from memory.
def test_nut_of_class_8_holds_its_proof_load():
    limits = ThreadPair(0.0015, 9.732e-3, 8.862e-3, 8.676e-3, 9.206e-3)
    nut = stripping(
        limits,
        8.04e-3 - 0.8 * 1.5e-3,
        stress_area=58.0e-6,
        fastener_tensile=1500e6,
        internal_shear=0.6 * 640e6,
        width=0.016,
    )
    assert nut.first == "internal thread"
    assert 50.5e3 <= nut.internal_strips <= 1.15 * 50.5e3


# Trade rule: 1 d of engagement in steel and cast iron, 1.5 d to 2 d in aluminium, more in plastic
# (common practice, no source). Screws of class 8.8, tapped parts of usual strength.
@pytest.mark.parametrize(
    ("shear", "least", "most"),
    [
        (0.65 * 500e6, 0.5, 1.0),
        (1.10 * 250e6, 0.5, 1.1),
        (0.52 * 200e6, 1.3, 2.0),
        (25e6, 4.0, 9.0),
    ],
)
def test_engagement_in_soft_housings(shear, least, most):
    depth = engagement_to_break_fastener(
        basic_pair(0.010, 0.0015),
        stress_area=58.0e-6,
        fastener_tensile=800e6,
        internal_shear=shear,
    )
    assert least < depth / 0.010 < most
