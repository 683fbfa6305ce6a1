"""What no pump can have is refused with a message that says what was given."""

import numpy as np
import pytest

from rebuildbook.calculators.bounds import not_negative, positive, within


def test_good_values_come_back_as_they_went_in():
    values = np.array([1.0, 2.0])
    assert positive("length", values) is values
    assert not_negative("friction", 0.0) == 0.0
    assert within("share", 1.0, 0.0, 1.0) == 1.0


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf"), np.array([1.0, -2.0])])
def test_positive_refuses(value):
    with pytest.raises(ValueError, match="must be above zero"):
        positive("length", value)


def test_the_message_names_the_worst_of_an_array():
    with pytest.raises(ValueError, match="friction is -3; it must be zero or above"):
        not_negative("friction", np.array([0.1, -3.0, -0.5]))
    with pytest.raises(ValueError, match="friction is nan"):
        not_negative("friction", np.array([-0.1, float("nan")]))


@pytest.mark.parametrize(("value", "shown"), [(1.5, "1.5"), (-0.5, "-0.5"), (float("nan"), "nan")])
def test_within_refuses(value, shown):
    with pytest.raises(ValueError, match=f"share is {shown}; it must lie from 0 to 1"):
        within("share", value, 0.0, 1.0)
