"""Propagation of uncertainty against published examples, each with its source."""

import math
import statistics

import pytest

from rebuildbook.calculators.uncertainty import (
    Normal,
    Triangular,
    Uniform,
    preload_by_nut_factor,
    propagate,
    simulate,
    tightening,
)


def total(**inputs):
    return sum(inputs.values())


def four(make):
    return {f"x{place}": make() for place in range(1, 5)}


def rectangle(std):
    return Uniform(-std * math.sqrt(3.0), std * math.sqrt(3.0))


# JCGM 101:2008, 9.2.2, additive model, four normal inputs (from memory): y = 0, u = 2.0,
# 95 % interval [−3.92, 3.92] by either way.
def test_jcgm_101_four_normals():
    inputs = four(lambda: Normal(0.0, 1.0))
    gum, run = propagate(total, inputs), simulate(total, inputs)
    assert (gum.value, gum.std) == pytest.approx((0.0, 2.0), abs=1e-12)
    assert (gum.low, gum.high) == pytest.approx((-3.92, 3.92), abs=5e-3)
    assert run.mean == pytest.approx(0.0, abs=0.01)
    assert run.std == pytest.approx(2.0, abs=0.01)
    assert (run.low, run.high) == pytest.approx((-3.92, 3.92), abs=0.02)


# JCGM 101:2008, 9.2.3, four rectangular inputs of the same width (from memory): u = 2.0, Monte
# Carlo [−3.88, 3.88], and so narrower than the GUM's [−3.92, 3.92].
@pytest.mark.parametrize("interval", ["symmetric", "shortest"])
def test_jcgm_101_four_rectangles(interval):
    inputs = four(lambda: rectangle(1.0))
    run = simulate(total, inputs, interval=interval)
    assert run.std == pytest.approx(2.0, abs=0.01)
    assert run.high - run.low == pytest.approx(2.0 * 3.88, abs=0.03)
    assert propagate(total, inputs).high == pytest.approx(3.92, abs=5e-3)


# JCGM 101:2008, 9.2.4, one rectangle ten times as wide (from memory): u = 10.1, GUM [−19.9, 19.9],
# Monte Carlo [−17.0, 17.0].
def test_jcgm_101_one_wide_rectangle():
    inputs = {**four(lambda: rectangle(1.0)), "x4": rectangle(10.0)}
    gum, run = propagate(total, inputs), simulate(total, inputs)
    assert gum.std == pytest.approx(10.1, abs=0.05)
    assert (gum.low, gum.high) == pytest.approx((-19.9, 19.9), abs=0.05)
    assert (run.low, run.high) == pytest.approx((-17.0, 17.0), abs=0.05)


# Shigley's Mechanical Engineering Design, tables 8-13 and 8-14 (read in a public copy), preload in
# kN of 1/2-20 UNF bolts torqued to 800 lbf·in (90 N·m): twenty dry, ten lubricated.
DRY = (
    23.6, 27.6, 28.0, 29.4, 30.3, 30.7, 32.9, 33.8, 33.8, 33.8, 34.7, 35.6, 35.6, 37.4, 37.8, 37.8,
    39.2, 40.0, 40.5, 42.7,
)  # fmt: skip
LUBRICATED = (30.3, 32.5, 32.5, 32.9, 32.9, 33.8, 34.3, 34.7, 37.4, 40.5)


def test_tables_8_13_and_8_14_are_what_shigley_says_of_them():
    assert statistics.fmean(LUBRICATED) == pytest.approx(34.18, abs=5e-3)
    assert statistics.stdev(LUBRICATED) == pytest.approx(2.88, abs=0.01)
    assert statistics.fmean(DRY) == pytest.approx(34.3, abs=0.05)
    assert statistics.stdev(DRY) == pytest.approx(4.91, abs=0.01)


# Assumed, since the condition of the bolts is not told beyond "lubricated" and "unlubricated":
# nut factor from 0.14 to 0.30, likeliest 0.20 (Shigley, section 8-8, where nothing is known; ends
# by common practice), wrench ± 4 % (ISO 6789).
def test_measured_preloads_lie_in_the_predicted_interval():
    inputs = {**tightening(90.4, 0.04), "nut_factor": Triangular(0.14, 0.20, 0.30)}
    run = simulate(preload_by_nut_factor(0.0127), inputs)
    assert all(run.low <= measured * 1e3 <= run.high for measured in LUBRICATED)
    inside = sum(run.low <= measured * 1e3 <= run.high for measured in DRY)
    assert inside / len(DRY) >= 0.95
    # the interval is not so wide as to say nothing: twice the measured 95 % span at the most
    assert run.high - run.low < 2.0 * 3.92 * 4.91e3


# The nut factors those tests imply, K = T/(F d), scatter by their standard deviation; carried
# through the formula the preload must scatter as it was measured.
@pytest.mark.parametrize("measured", [DRY, LUBRICATED])
def test_the_scatter_of_the_nut_factor_gives_back_that_of_the_preload(measured):
    factors = [90.4 / (force * 1e3 * 0.0127) for force in measured]
    inputs = {
        "torque": 90.4,
        "nut_factor": Normal(statistics.fmean(factors), statistics.stdev(factors)),
    }
    model = preload_by_nut_factor(0.0127)
    assert propagate(model, inputs).std / 1e3 == pytest.approx(statistics.stdev(measured), rel=0.15)
    assert simulate(model, inputs).std / 1e3 == pytest.approx(statistics.stdev(measured), rel=0.25)
