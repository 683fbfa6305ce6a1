"""Torque units, adapters, tool accuracy and plausible torques against outside figures."""

import math
from datetime import date

import pint
import pytest

from rebuildbook.calculators.thread_strength import strength_class
from rebuildbook.calculators.threads import parse_thread
from rebuildbook.calculators.torque import (
    adapter_setting,
    in_all_units,
    plausible_torque,
    torque_window_in,
)
from rebuildbook.calculators.wrench import Wrench, assess_wrench, permissible_deviation


# NIST SP 811 App. B.8, 1 unit in N·m
@pytest.mark.parametrize(
    ("unit", "newton_metres"),
    [
        ("ft*lbf", 1.355818),
        ("in*lbf", 0.1129848),
        ("kgf*m", 9.80665),
        ("ozf*in", 0.007061552),
        ("N*m", 1.0),
    ],
)
def test_factors_of_nist_sp_811(unit, newton_metres):
    assert in_all_units(newton_metres)[unit] == pytest.approx(1.0, rel=5e-7)


def test_twelve_inch_pounds_are_a_foot_pound():
    values = in_all_units(17.3)
    assert values["in*lbf"] / values["ft*lbf"] == pytest.approx(12.0, rel=1e-12)
    assert values["ozf*in"] / values["in*lbf"] == pytest.approx(16.0, rel=1e-12)


@pytest.mark.parametrize(
    ("unit", "expression"),
    [
        ("ft*lbf", "foot*force_pound"),
        ("kgf*m", "kilogram*g_0*meter"),
        ("in*lbf", "inch*force_pound"),
    ],
)
def test_a_fresh_pint_registry_gives_the_same_window(unit, expression):
    fresh = pint.UnitRegistry()
    low, high = torque_window_in(21.0, 24.0, unit)
    for value, newton_metres in ((low, 21.0), (high, 24.0)):
        assert fresh.Quantity(value, expression).to("newton*meter").magnitude == pytest.approx(
            newton_metres, rel=1e-12
        )


# common training figures, no source: the pull at the grip does not know what is fitted past the
# square, so setting × (L + E cos θ) / L is the torque; each row worked by hand
@pytest.mark.parametrize(
    ("torque", "lever", "offset", "degrees", "setting"),
    [
        (60.0, 0.30, 0.10, 0.0, 45.0),  # 60 · 3/4
        (60.0, 0.30, 0.10, 90.0, 60.0),  # square: unchanged
        (60.0, 0.30, 0.10, 180.0, 90.0),  # folded back: 60 · 3/2
        (70.0, 0.30, 0.10, 60.0, 60.0),  # cos 60° = 1/2: 70 · 6/7
        (50.0, 0.30, 0.10, 120.0, 60.0),  # cos 120° = −1/2: 50 · 6/5
    ],
)
def test_adapter_worked_by_hand(torque, lever, offset, degrees, setting):
    found = adapter_setting.si(torque, lever, offset, math.radians(degrees))
    assert found == pytest.approx(setting, rel=1e-12)


def test_iso_6789_permissible_deviation():
    """ISO 6789: ±6 % for a largest torque up to 10 N·m, ±4 % above; read in a reproduction."""
    assert [permissible_deviation(top) for top in (5.0, 10.0, 10.01, 300.0)] == [
        0.06, 0.06, 0.04, 0.04,
    ]  # fmt: skip


def test_iso_6789_scatter_of_a_hundred():
    """ISO 6789: a tool above 10 N·m set to 100 N·m may give 96 to 104; half a step comes on top."""
    tool = Wrench("T", 40.0, 200.0, "N*m", 1.0, permissible_deviation(200.0))
    found = assess_wrench(90.0, 110.0, tool, on=date(2025, 1, 1))
    assert (found.setting, found.accuracy) == (pytest.approx(100.0), 0.04)
    assert (found.delivered_low, found.delivered_high) == pytest.approx((95.5, 104.5))


@pytest.mark.parametrize(
    ("size", "torque"), [("M8", 24.6), ("M10", 48.0), ("M12", 84.0), ("M16", 206.0)]
)
def test_vdi_2230_torques_are_plausible_and_their_twelvefold_is_not(size, torque):
    """VDI 2230-1, class 8.8, μ = 0.12, 90 % of yield used, N·m; from memory."""
    thread = parse_thread(size)
    low, high = plausible_torque(thread, strength_class("8.8", thread))
    assert low < torque < high
    assert not low < torque / 12 < high
    assert not low < torque * 12 < high
