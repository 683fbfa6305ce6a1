"""Trend of wear against published statistics, each with its source."""

import pytest

from rebuildbook.calculators.wear_life import Measurement, wear_life


def _fitted(ages, wears, **options):
    jobs = [Measurement(t, 1.0 + w) for t, w in zip(ages, wears, strict=True)]
    return wear_life(jobs, 1.0, 100.0, beds_in=True, **options).line


# Anscombe, Graphs in Statistical Analysis (1973), first set: y = 3.00 + 0.500 x, standard error of
# the slope 0.118, residual sum of squares 13.76 on 9 degrees of freedom; from memory
def test_anscombe_first_set():
    x = [10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5]
    y = [8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68]
    order = sorted(range(11), key=lambda place: x[place])
    line = _fitted([x[k] for k in order], [y[k] for k in order])
    assert line.offset == pytest.approx(3.00, abs=0.005)
    assert line.rate == pytest.approx(0.500, abs=5e-4)
    assert line.scatter**2 * 9 == pytest.approx(13.76, abs=0.01)
    # Student's t, two-sided 90 %, 9 degrees of freedom: 1.833, any table
    assert line.quantile == pytest.approx(1.833, abs=5e-4)
    assert (line.rate_high - line.rate) / line.quantile == pytest.approx(0.118, abs=5e-4)


# Tables of Student's t and of the normal distribution, 90 % two-sided: 6.314, 2.920, 2.353, 1.645
@pytest.mark.parametrize(
    ("count", "scatter", "quantile"),
    [(2, None, 6.314), (3, None, 2.920), (4, None, 2.353), (1, 0.01, 1.645)],
)
def test_half_interval_in_scatters(count, scatter, quantile):
    jobs = [Measurement(t, 1.0 + 0.1 * t + 0.001 * (t % 2)) for t in range(1, count + 1)]
    line = wear_life(jobs, 1.0, 9.0, scatter=scatter).line
    assert line.quantile == pytest.approx(quantile, abs=5e-4)
