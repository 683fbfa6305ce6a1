"""Readings that make sense only in another unit; factors from the definitions of the units."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.reading_swap import unit_swap

INCH, PSI = 0.0254, 4.4482216152605 / 0.0254**2


@given(st.floats(0.05, 10.0))
def test_inches_put_down_as_millimetres_are_found_both_ways(size):
    meant = size * INCH
    found = unit_swap(size * 1e-3, 0.9 * meant, 1.1 * meant, "mm", "length")
    assert found is not None and (found.meant, found.written) == ("in", "mm")
    assert found.low == pytest.approx(meant)
    millimetres = size * 25.4 * INCH
    back = unit_swap(millimetres, 0.9 * meant, 1.1 * meant, "in", "length")
    assert back is not None and (back.meant, back.written) == ("mm", "in")


@given(st.floats(1.0, 1e3))
def test_psi_put_down_as_bar_is_found(pressure):
    meant = pressure * PSI
    found = unit_swap(pressure * 1e5, 0.7 * meant, 1.5 * meant, "bar", "pressure")
    assert found is not None and found.text == "likely psi written as bar"
    assert found.factor == pytest.approx(1 / 14.5037738, rel=1e-8)


@given(st.floats(0.1, 10.0))
def test_a_reading_that_can_be_meant_is_left(size):
    assert unit_swap(size, 0.1, 10.0, "m", "length") is None


def test_a_swap_from_a_unit_that_was_not_written_is_none():
    assert unit_swap(1.75e-3, 0.044, 0.045, "in", "length") is None
    assert unit_swap(3.0, 10.0, 20.0, "K", "temperature") is None


def test_a_span_that_is_none_is_refused():
    with pytest.raises(ValueError, match="runs upwards"):
        unit_swap(1.0, 2.0, 1.0, "mm", "length")
