"""O-rings against published values; each check names its source."""

import pytest

from rebuildbook.calculators.o_ring import assess_o_ring
from rebuildbook.calculators.o_ring_gland import FaceGland, RadialGland, measured_thinning
from rebuildbook.calculators.o_ring_load import (
    line_load,
    peak_contact_pressure,
    rubber_modulus,
)
from rebuildbook.calculators.o_ring_sizes import INCH, ORing, limits, o_ring, plus_minus

# SAE AS568, sizes in inches as listed in public tables, read; those marked m from memory
SIZES = {
    "004": (0.070, 0.070),
    "010": (0.239, 0.070),
    "012": (0.364, 0.070),
    "016": (0.614, 0.070),
    "024": (1.114, 0.070),
    "050": (5.239, 0.070),
    "102": (0.049, 0.103),
    "110": (0.362, 0.103),
    "120": (0.987, 0.103),
    "178": (9.737, 0.103),
    "201": (0.171, 0.139),
    "210": (0.734, 0.139),
    "214": (0.984, 0.139),
    "222": (1.484, 0.139),
    "240": (3.734, 0.139),
    "284": (17.955, 0.139),
    "309": (0.412, 0.210),
    "325": (1.475, 0.210),
    "349": (4.475, 0.210),  # m
    "395": (25.940, 0.210),
    "425": (4.475, 0.275),
    "450": (10.475, 0.275),  # m
    "475": (25.940, 0.275),
}

# the same in mm, as given in another public list, read
MILLIMETRES = {
    "010": (6.07, 1.78), "112": (12.37, 2.62), "115": (17.12, 2.62), "214": (24.99, 3.53),
    "217": (29.74, 3.53), "225": (47.22, 3.53), "230": (63.09, 3.53), "325": (37.47, 5.33),
}  # fmt: skip


@pytest.mark.parametrize("dash", SIZES)
def test_as568_sizes(dash: str) -> None:
    ring = o_ring(f"AS568-{dash}")
    assert (ring.inside.nominal / INCH, ring.section.nominal / INCH) == pytest.approx(SIZES[dash])


@pytest.mark.parametrize("dash", MILLIMETRES)
def test_as568_sizes_in_millimetres(dash: str) -> None:
    ring = o_ring(dash)
    inside, section = MILLIMETRES[dash]
    assert ring.inside.nominal * 1e3 == pytest.approx(inside, abs=0.0051)
    assert ring.section.nominal * 1e3 == pytest.approx(section, abs=0.0051)


def test_as568_214_tolerances() -> None:
    """A public size list gives 0.984 ± 0.010 by 0.139 ± 0.004 in, read."""
    ring = o_ring("AS568-214")
    assert ring.inside.half == pytest.approx(0.010 * INCH)
    assert ring.section.half == pytest.approx(0.004 * INCH)


# section and its tolerance; depth low, high; squeeze low, high in thousandths; in percent:
# public table of gland dimensions for AS568 sections, read
RADIAL = [
    (70, 3, 50, 55, 12, 23, 18, 32),
    (103, 3, 80, 86, 14, 26, 14, 25),
    (139, 4, 110, 116, 19, 33, 14, 23),
    (210, 5, 170, 176, 29, 45, 14, 21),
    (275, 6, 225, 235, 34, 56, 13, 20),
]
FACE = [
    (70, 3, 49, 54, 13, 24, 19, 33),
    (103, 3, 75, 81, 19, 31, 19, 29),
    (139, 4, 100, 108, 27, 43, 20, 30),
    (210, 5, 155, 165, 40, 60, 20, 28),
    (275, 6, 205, 215, 54, 76, 20, 27),
]
RECIPROCATING = [
    (70, 3, 55, 57, 10, 18, 15, 25),
    (103, 3, 87, 90, 10, 19, 10, 18),
    (139, 4, 119, 123, 12, 24, 9, 17),
    (210, 5, 183, 188, 17, 32, 8.5, 15),
    (275, 6, 234, 240, 29, 47, 10.5, 17),
]
THOU = INCH / 1000.0


def _ring(section: float, half: float) -> ORing:
    return ORing(plus_minus(30e-3), plus_minus(section * THOU, half * THOU))


def _as_printed(found, low, high, share_low, share_high) -> None:
    assert found.squeeze.low / THOU == pytest.approx(low, abs=0.01)
    assert found.squeeze.high / THOU == pytest.approx(high, abs=0.01)
    assert found.squeeze_share.low * 100 == pytest.approx(share_low, abs=0.75)
    assert found.squeeze_share.high * 100 == pytest.approx(share_high, abs=0.75)
    assert not [remark for remark in found.remarks if remark.quantity == "squeeze"]


@pytest.mark.parametrize("row", FACE, ids=lambda row: row[0])
def test_squeeze_of_face_glands(row) -> None:
    section, half, shallow, deep, *wanted = row
    wall = 30e-3 + 2.2 * section * THOU  # clear of the ring, so that nothing thickens it
    gland = FaceGland(
        limits(shallow * THOU, deep * THOU), plus_minus(1.4 * section * THOU), plus_minus(wall)
    )
    _as_printed(assess_o_ring(_ring(section, half), gland), *wanted)


@pytest.mark.parametrize(
    ("row", "moves"),
    [(row, False) for row in RADIAL] + [(row, True) for row in RECIPROCATING],
    ids=lambda given: str(given[0]) if isinstance(given, tuple) else str(given),
)
def test_squeeze_of_radial_glands(row, moves) -> None:
    section, half, shallow, deep, *wanted = row
    bore = limits(30e-3 + 2 * shallow * THOU, 30e-3 + 2 * deep * THOU)
    width = plus_minus(1.4 * section * THOU)
    gland = RadialGland("male", plus_minus(30e-3), bore, width, reciprocating=moves)
    _as_printed(assess_o_ring(_ring(section, half), gland), *wanted)


def test_static_face_gland_of_0101_to_0107() -> None:
    """Depth 0.101 to 0.107 in for a 0.139 in section squeezes by some 20 to 30 %, from memory."""
    gland = FaceGland(
        limits(0.101 * INCH, 0.107 * INCH), limits(0.177 * INCH, 0.187 * INCH), plus_minus(32.1e-3)
    )
    found = assess_o_ring(o_ring("AS568-214"), gland)
    assert found.squeeze_share.low >= 0.20
    assert found.squeeze_share.high <= 0.305
    assert 0.60 < found.fill.nominal < 0.85


def test_thinning_by_stretch() -> None:
    """ISO 3601-2 and the handbooks' curve: 5 % stretch takes some 3.4 % of the section, memory."""
    assert measured_thinning.si(0.05) == pytest.approx(0.034, abs=5e-4)


def test_contact_pressure_of_a_70_shore_ring() -> None:
    """A public note on extrusion: 70 Shore A at 13 % squeeze presses with 1.0 to 1.5 MPa, read."""
    assert 1.0e6 < peak_contact_pressure.si(0.13, rubber_modulus.si(70.0)) < 1.5e6


def test_modulus_by_hardness() -> None:
    """Gent (1958), as tabulated in handbooks: 50 Shore A 2.5, 60 3.6, 70 5.5 MPa, from memory."""
    for hardness, wanted in ((50, 2.5e6), (60, 3.6e6), (70, 5.5e6)):
        assert rubber_modulus.si(hardness) == pytest.approx(wanted, rel=0.03)


def test_load_on_a_seventy_shore_ring() -> None:
    """Handbook chart: 0.139 in, 70 Shore A, 20 % squeeze takes 5 to 25 lbf/in, from memory."""
    load = line_load("0.139 in", 0.20, rubber_modulus(70)).to("lbf/in").magnitude
    assert 5.0 < load < 25.0
