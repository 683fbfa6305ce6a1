import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from rebuildbook.calculators.o_ring_load import (
    closing_force,
    contact_width,
    line_load,
    peak_contact_pressure,
    rubber_modulus,
)

squeezes = st.floats(0.01, 0.4)


@given(squeezes)
def test_width_and_peak_are_those_of_hertz_for_the_line_load(squeeze: float) -> None:
    """Cylinder on a rigid flat: a² = 4 f R/(π E*), E* = E/(1 − ν²), ν = 1/2."""
    section, modulus = 3.53e-3, 5.5e6
    load = line_load.si(section, squeeze, modulus)
    half = math.sqrt(4.0 * load * section / 2.0 / (math.pi * modulus / 0.75))
    assert contact_width.si(section, squeeze) == pytest.approx(2.0 * half)
    assert peak_contact_pressure.si(squeeze, modulus) == pytest.approx(
        2.0 * load / (math.pi * half)
    )


def test_the_pressure_over_the_width_carries_the_load() -> None:
    half = contact_width.si(3.53e-3, 0.2) / 2.0
    peak = peak_contact_pressure.si(0.2, 5.5e6)
    load, _ = quad(lambda x: peak * math.sqrt(1.0 - (x / half) ** 2), -half, half)
    assert load == pytest.approx(line_load.si(3.53e-3, 0.2, 5.5e6), rel=1e-6)


@given(squeezes, squeezes)
def test_more_squeeze_presses_harder(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert line_load.si(3e-3, low, 5e6) <= line_load.si(3e-3, high, 5e6)
    assert peak_contact_pressure.si(low, 5e6) <= peak_contact_pressure.si(high, 5e6)


@given(st.floats(20.0, 90.0), st.floats(20.0, 90.0))
def test_harder_rubber_is_stiffer(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert rubber_modulus.si(low) <= rubber_modulus.si(high)


def test_no_squeeze_no_load_and_arrays_pass() -> None:
    assert line_load.si(3e-3, 0.0, 5e6) == 0.0
    assert line_load.si(3e-3, np.array([0.0, 0.1]), 5e6).shape == (2,)


def test_closing_force_goes_once_round() -> None:
    assert closing_force.si(1000.0, 1.0 / math.pi) == pytest.approx(1000.0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: line_load.si(3e-3, 0.5, 5e6),
        lambda: line_load.si(3e-3, -0.1, 5e6),
        lambda: line_load.si(0.0, 0.1, 5e6),
        lambda: rubber_modulus.si(95.0),
        lambda: closing_force.si(1000.0, 0.0),
    ],
)
def test_what_the_form_does_not_hold_for_is_refused(call) -> None:
    with pytest.raises(ValueError, match="must"):
        call()
