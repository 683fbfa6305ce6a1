import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.extrusion import (
    allowed_clearance,
    allowed_clearance_backed,
    bore_growth,
    bore_growth_thin,
    check_gap,
    rod_contraction,
)

STEEL = 206e9
pressures = st.floats(0.0, 400e5)
hardnesses = st.floats(70.0, 90.0)


@given(pressures, pressures, hardnesses)
def test_more_pressure_allows_less(one: float, other: float, hardness: float) -> None:
    low, high = sorted((one, other))
    assert allowed_clearance.si(low, hardness) >= allowed_clearance.si(high, hardness)
    assert allowed_clearance_backed.si(low) >= allowed_clearance_backed.si(high)


@given(pressures, hardnesses, hardnesses)
def test_harder_rubber_bridges_more(pressure: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert allowed_clearance.si(pressure, low) <= allowed_clearance.si(pressure, high) * (1 + 1e-12)


def test_beyond_the_charts_nothing_is_allowed() -> None:
    assert allowed_clearance.si(220e5, 90.0) == 0.0
    assert allowed_clearance_backed.si(410e5) == 0.0


def test_arrays_pass() -> None:
    found = allowed_clearance.si(np.array([10e5, 100e5, 300e5]), 80.0)
    assert found.shape == (3,)
    assert (np.diff(found) < 0.0).all()


@pytest.mark.parametrize("hardness", [60.0, 95.0])
def test_hardness_off_the_chart_is_refused(hardness: float) -> None:
    with pytest.raises(ValueError, match="70 to 90"):
        allowed_clearance.si(50e5, hardness)


def _lame(inner: float, outer: float, pressure: float, poisson: float, closed: bool) -> float:
    """Growth of the bore from the two constants of Lamé, solved as a linear system."""
    rows = [[1.0, -1.0 / inner**2], [1.0, -1.0 / outer**2]]  # σr = A − B/r²
    a, b = np.linalg.solve(rows, [-pressure, 0.0])
    radial, hoop = a - b / inner**2, a + b / inner**2
    axial = a if closed else 0.0
    return 2.0 * inner * (hoop - poisson * (radial + axial)) / STEEL


@given(st.floats(0.01, 0.2), st.floats(1.02, 4.0), st.floats(1e5, 700e5), st.booleans())
def test_bore_growth_is_lames(bore: float, ratio: float, pressure: float, closed: bool) -> None:
    found = bore_growth.si(bore, ratio * bore, pressure, STEEL, 0.29, closed)
    wanted = _lame(bore / 2, ratio * bore / 2, pressure, 0.29, closed)
    assert found == pytest.approx(wanted, rel=1e-6)


def test_a_thin_tube_meets_the_thick_one() -> None:
    thick = bore_growth.si(0.1, 0.1 + 2 * 0.5e-3, 20e5, STEEL, 0.0)
    assert bore_growth_thin.si(0.1, 0.5e-3, 20e5, STEEL) == pytest.approx(thick, rel=1e-4)


def test_rod_under_pressure_all_round_strains_by_hand() -> None:
    """Free ends: ε = (σ − νσ)/E = 200 bar · 0.71/206 GPa = 68.9 microstrain."""
    assert rod_contraction.si(0.06, 200e5, STEEL) == pytest.approx(0.06 * 68.93e-6, rel=1e-3)


@pytest.mark.parametrize(
    "call",
    [
        lambda: bore_growth.si(0.06, 0.06, 1e5, STEEL),
        lambda: bore_growth.si(0.06, 0.08, -1e5, STEEL),
        lambda: bore_growth_thin.si(0.06, 0.01, 1e5, STEEL),
        lambda: check_gap(-1e-4, 1e5, 70),
        lambda: check_gap(1e-4, 1e5, 50),
    ],
)
def test_what_cannot_be_is_refused(call) -> None:
    with pytest.raises(ValueError, match=r"must|no wall|thick"):
        call()


def test_growth_of_the_gap_counts() -> None:
    bare = check_gap(0.14e-3, 100e5, 70)
    grown = check_gap(0.14e-3, 100e5, 70, growth=0.06e-3)
    assert (bare.verdict, grown.verdict) == ("holds", "back-up ring")
    assert grown.working == pytest.approx(0.20e-3)


def test_a_back_up_ring_fitted_holds_what_the_bare_ring_does_not() -> None:
    assert check_gap(0.2e-3, 120e5, 70, backed=True).verdict == "holds"
    assert check_gap(0.5e-3, 120e5, 70, backed=True).verdict == "too wide"
    assert check_gap(0.01e-3, 450e5, 90).verdict == "too wide"


def test_silicone_bridges_half() -> None:
    plain, silicone = check_gap(0.1e-3, 30e5, 70), check_gap(0.1e-3, 30e5, 70, family="VMQ")
    assert silicone.allowed == pytest.approx(plain.allowed / 2.0)
    assert len(silicone.sources) > len(plain.sources)


@given(pressures, hardnesses)
def test_a_back_up_ring_never_does_harm(pressure: float, hardness: float) -> None:
    found = check_gap(0.1e-3, pressure, hardness)
    assert found.allowed_backed >= found.allowed


def test_the_text_gives_both_sizes() -> None:
    text = check_gap(0.2e-3, 70e5, 70).text
    assert "0.200 mm" in text
    assert "70.0 bar" in text
