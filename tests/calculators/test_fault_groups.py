"""Groups come out of the readings: the trade's rule, and that more readings only part them."""

import numpy as np
import pytest

from rebuildbook.calculators.bench_card import card
from rebuildbook.calculators.drive import double_acting_areas
from rebuildbook.calculators.fault_grid import build_grid
from rebuildbook.calculators.fault_groups import group_faults
from rebuildbook.calculators.pump_units import (
    differential,
    double_acting,
    double_diaphragm,
    plunger,
    single_acting,
)

AIR = double_acting_areas(0.16, 0.03)
COMMON = {"stroke": 0.12, "rate": 0.7, "supply": 4e5}
PUMPS = [
    double_acting(double_acting_areas(0.08, 0.03), AIR, **COMMON),
    single_acting(2.8e-3, AIR, **COMMON),
    differential(2.8e-3, 1.2e-3, AIR, **COMMON),
    double_diaphragm(0.02, **COMMON),
    plunger(2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=3),
]
GRIDS = {pump.architecture: build_grid(card(pump), pairs=False) for pump in PUMPS}
FOUR = GRIDS["double-acting-piston"]


def grouped(grid, names):
    return group_faults(grid, grid.card.places(names))


def test_creep_alone_parts_the_faults_of_four_balls_as_the_trade_does():
    """One stroke: the checks that hold on it; both: the piston seal (common practice, no source).

    The packing, too, is under pressure on the up-stroke alone, and a relief leaks on both.
    """
    found = grouped(FOUR, ["creep, up-stroke", "creep, down-stroke"])
    assert set(found.groups) == {
        ("upper inlet", "lower outlet", "rod packing"),
        ("upper outlet", "lower inlet"),
        ("piston seal", "relief valve"),
    }
    assert set(found.unseen) == {"air valve", "air piston seal", "friction"}


def test_a_weep_parts_the_packing_and_a_hold_the_relief():
    found = grouped(
        FOUR,
        ["creep, up-stroke", "creep, down-stroke", "weep, rod packing",
         "pressure lost, drive vented after the up-stroke"],
    )  # fmt: skip
    assert ("rod packing",) in found.groups
    assert ("piston seal",) in found.groups
    assert ("relief valve",) in found.groups
    assert ("upper inlet", "lower outlet") in found.groups


@pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS)
def test_every_reading_there_is_leaves_no_group(grid):
    found = group_faults(grid, range(len(grid.card.readings)))
    assert [len(group) for group in found.groups] == [1] * len(grid.card.pump.faults)
    assert found.unseen == ()


@pytest.mark.parametrize("grid", GRIDS.values(), ids=GRIDS)
def test_another_reading_never_makes_faults_more_alike(grid):
    usual = grid.card.places(grid.card.usual)
    before = group_faults(grid, usual[:3]).mixing
    after = group_faults(grid, usual).mixing
    assert (after <= before + 1e-12).all()


def test_mixing_is_mutual_and_a_fault_is_itself():
    mixing = grouped(FOUR, FOUR.card.usual).mixing
    assert (mixing == mixing.T).all()
    assert np.diag(mixing) == pytest.approx(np.full(len(mixing), 0.5))


def test_one_plunger_check_looks_like_another_until_the_swing_is_timed():
    grid = GRIDS["plunger"]
    checks = tuple(f"{kind} {one}" for one in (1, 2, 3) for kind in ("inlet", "outlet"))
    assert checks in grouped(grid, grid.card.usual).groups
    timed = [*grid.card.usual, "swing, in step", "swing, quarter turn"]
    assert all(len(group) == 1 for group in grouped(grid, timed).groups)


def test_two_plungers_keep_one_pair_alike_even_when_timed():
    """The inlet of one leaks in the half turn in which the outlet of the other does."""
    pump = plunger(2.8e-4, stroke=0.025, rate=9.0, pressure=7e6, plungers=2)
    grid = build_grid(card(pump), pairs=False)
    timed = [*grid.card.usual, "swing, in step", "swing, quarter turn"]
    groups = grouped(grid, timed).groups
    assert ("inlet 1", "outlet 2") in groups
    assert ("outlet 1", "inlet 2") in groups


def test_explanation_of_faults_is_the_groups_they_lie_in():
    found = grouped(FOUR, ["creep, up-stroke", "creep, down-stroke"])
    up, down = ("upper inlet", "lower outlet", "rod packing"), ("upper outlet", "lower inlet")
    assert found.explanation(["lower inlet", "upper inlet"]) == (up, down)
    assert found.explanation(["upper inlet", "rod packing"]) == (up,)
    assert found.explanation(["friction"]) == ()
