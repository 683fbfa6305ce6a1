import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.calculators.spring import active_coils, spring_force, spring_rate


@given(st.floats(1e-4, 1e-2), st.floats(4.0, 15.0), st.floats(1.0, 30.0))
def test_rate_follows_its_powers(wire, index, coils):
    rate = spring_rate.si(81e9, wire, index * wire, coils)
    assert spring_rate.si(81e9, 2 * wire, index * wire, coils) == pytest.approx(16 * rate)
    assert spring_rate.si(81e9, wire, 2 * index * wire, coils) == pytest.approx(rate / 8)
    assert spring_rate.si(81e9, wire, index * wire, 2 * coils) == pytest.approx(rate / 2)


def test_force_by_length_and_none_where_the_spring_is_loose():
    lengths = np.array([0.014, 0.020, 0.022])
    assert spring_force.si(500.0, 0.020, lengths) == pytest.approx([3.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("ends", "left"),
    [("plain", 8), ("plain and ground", 7), ("squared", 6), ("squared and ground", 6)],
)
def test_dead_coils_by_the_ends(ends, left):
    """Shigley table 10-1, from memory."""
    assert active_coils(8, ends) == left


def test_a_spring_of_end_coils_only_is_refused():
    with pytest.raises(ValueError, match="no coil that works"):
        active_coils(2, "squared")
    with pytest.raises(ValueError, match="wanted plain"):
        active_coils(8, "pigtail")
