"""Individuals control chart against the worked example of its source."""

import pytest

from rebuildbook.calculators.control_chart import individuals

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2: flow rates of ten batches, mean 50.81,
# mean moving range 1.8778, limits 45.8159 and 55.8041 (from memory)
FLOW_RATES = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]


def test_flow_rates():
    chart = individuals(FLOW_RATES)
    assert chart.mean == pytest.approx(50.81)
    assert chart.moving_range == pytest.approx(1.8778, abs=5e-5)
    assert (chart.low, chart.high) == pytest.approx((45.8159, 55.8041), abs=5e-5)
    assert chart.outside == ()
