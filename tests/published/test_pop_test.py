"""Statistics of pops against the printed table of Student's t, and the code's set tolerance."""

import math

import pytest

from rebuildbook.calculators.pop_test import PopTest, pop_statistics

# Student's t, two-sided 95 % and 99 %, as printed in any textbook on statistics
TABLE = {2: (12.706, 63.657), 3: (4.303, 9.925), 4: (3.182, 5.841), 5: (2.776, 4.604)}


@pytest.mark.parametrize("count", TABLE)
def test_intervals_by_the_printed_table(count):
    readings = [10.0e5 + 2e3 * (-1) ** k * k for k in range(count)]
    for confidence, t in zip((0.95, 0.99), TABLE[count], strict=True):
        run = pop_statistics(readings, confidence)
        assert run.mean_half == pytest.approx(t * run.std / math.sqrt(count), rel=2e-4)
        assert run.next_half == pytest.approx(t * run.std * math.sqrt(1 + 1 / count), rel=2e-4)


def test_band_of_the_code():
    """ASME BPVC VIII-1 UG-134: ± 2 psi to 70 psi, ± 3 % above (public accounts)."""
    psi = 6894.757293
    assert PopTest(readings=(1e5,), set_pressure=60 * psi).band == pytest.approx(2 * psi)
    assert PopTest(readings=(1e5,), set_pressure=200 * psi).band == pytest.approx(6 * psi)
