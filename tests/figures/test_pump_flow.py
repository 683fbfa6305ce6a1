"""The flow of a cycle drawn: true to its numbers, and small."""

import pytest

from rebuildbook.calculators.pump_flow import (
    differential,
    double_acting,
    double_diaphragm,
    flow_over_cycle,
    plungers,
    single_acting,
)
from rebuildbook.calculators.stroke_motion import AirMotion, CrankMotion
from rebuildbook.figures import style
from rebuildbook.figures.pump_flow import delivery, overlap

CRANK, AIR = CrankMotion(0.2), AirMotion(0.15, 0.45)
CASES = {
    "simplex": (plungers(0.03, 0.04), CRANK, 3.0),
    "triplex": (plungers(0.03, 0.04, 3), CRANK, 6.0),
    "nonuplex": (plungers(0.03, 0.04, 9), CRANK, 3.0),
    "duplex double-acting": (double_acting(0.06, 0.02, 0.1, count=2), CRANK, 1.0),
    "double-acting": (double_acting(0.06, 0.02, 0.1), AIR, 0.7),
    "two-ball": (differential(0.06, 0.035, 0.1), AIR, 0.7),
    "single-acting": (single_acting(0.06, 0.1), AIR, 0.7),
    "diaphragm": (double_diaphragm(1e-3), AirMotion(), 1.0),
}
each = pytest.mark.parametrize("name", CASES)


def _line(figure, gid):
    (line,) = [line for line in figure.axes[0].lines if line.get_gid() == gid]
    return line


@each
def test_the_figure_has_the_flow_and_its_mean_and_stays_small(name):
    pump, motion, rate = CASES[name]
    cycle = flow_over_cycle(pump, motion, rate, steps=180)
    figure = delivery(cycle)
    assert _line(figure, "total").get_ydata() == pytest.approx(cycle.total * 60_000.0)
    assert _line(figure, "mean").get_ydata() == pytest.approx([cycle.mean * 60_000.0] * 2)
    assert len(style.svg(figure)) < 12_000


@each
def test_the_figure_draws_chambers_only_where_they_overlap(name):
    pump, motion, rate = CASES[name]
    cycle = flow_over_cycle(pump, motion, rate, steps=180)
    parts = [line for line in delivery(cycle).axes[0].lines if line.get_gid() == "part"]
    assert len(parts) == (len(pump.chambers) if overlap(cycle) else 0)
    assert overlap(cycle) == (name in {"triplex", "nonuplex", "duplex double-acting"})


def test_the_figure_refuses_a_pump_at_rest():
    pump, motion, _ = CASES["triplex"]
    with pytest.raises(ValueError, match="at rest"):
        delivery(flow_over_cycle(pump, motion, 0.0, steps=180))
