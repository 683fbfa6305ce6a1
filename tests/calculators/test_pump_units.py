"""Pumps as networks: what they displace, which passages a stroke loads, and what is refused."""

import math

import pytest

from rebuildbook.calculators.drive import (
    StrokeAreas,
    differential_displacement,
    double_acting_areas,
    double_acting_displacement,
    single_acting_displacement,
)
from rebuildbook.calculators.pump_model import duty, loaded
from rebuildbook.calculators.pump_network import Bench
from rebuildbook.calculators.pump_units import (
    differential,
    double_acting,
    double_diaphragm,
    plunger,
    single_acting,
)

AIR = double_acting_areas(0.16, 0.03)
COMMON = {"stroke": 0.12, "rate": 0.7, "supply": 4e5}


def circle(diameter):
    return math.pi / 4 * diameter**2


FOUR = double_acting(double_acting_areas(0.08, 0.03), AIR, **COMMON)
TWO = single_acting(circle(0.06), AIR, **COMMON)
FOOT = differential(circle(0.06), circle(0.04), AIR, **COMMON)
PAIR = double_diaphragm(0.02, **COMMON)
THREE = plunger(circle(0.02), stroke=0.025, rate=9.0, pressure=7e6)


def test_each_kind_displaces_what_its_formula_says():
    assert FOUR.displacement == pytest.approx(double_acting_displacement.si(0.08, 0.03, 0.12))
    assert TWO.displacement == pytest.approx(single_acting_displacement.si(0.06, 0.12))
    assert FOOT.displacement == pytest.approx(differential_displacement.si(0.06, 0.12))
    assert PAIR.displacement == pytest.approx(2 * 0.02 * 0.12)
    assert THREE.displacement == pytest.approx(single_acting_displacement.si(0.02, 0.025, 3))


@pytest.mark.parametrize(
    ("pump", "passage", "strokes"),
    [
        (FOUR, "upper inlet", ["up-stroke"]),  # the upper chamber delivers on the up-stroke
        (FOUR, "lower outlet", ["up-stroke"]),
        (FOUR, "rod packing", ["up-stroke"]),
        (FOUR, "lower inlet", ["down-stroke"]),
        (FOUR, "upper outlet", ["down-stroke"]),
        (FOUR, "piston seal", ["up-stroke", "down-stroke"]),
        (FOUR, "relief valve", ["up-stroke", "down-stroke"]),
        (TWO, "inlet", ["down-stroke"]),
        (TWO, "outlet", ["up-stroke"]),
        (FOOT, "foot check", ["down-stroke"]),
        (FOOT, "piston check", ["up-stroke"]),
        (FOOT, "piston seal", ["up-stroke"]),  # on the down-stroke both faces see the discharge
        (FOOT, "rod packing", ["up-stroke", "down-stroke"]),
        (PAIR, "left inlet", ["left stroke"]),
        (PAIR, "left outlet", ["right stroke"]),
    ],
)
def test_a_passage_is_loaded_on_the_strokes_that_part_pressures_across_it(pump, passage, strokes):
    own = next(one for one in pump.passages if one.name == passage)
    assert [move.name for move in pump.moves if loaded(own, move)] == strokes
    assert duty(pump, own) == len(strokes) / 2


def test_differential_delivers_its_rod_on_the_down_stroke():
    up, down = FOOT.moves
    assert up.pressed_area == pytest.approx(circle(0.06) - circle(0.04))
    assert down.pressed_area == pytest.approx(circle(0.04))


def test_a_relief_that_is_not_there_is_left_out():
    bare = FOUR.without("relief valve")
    assert "relief valve" not in [fault.name for fault in bare.faults]
    assert "relief valve" not in [passage.name for passage in bare.passages]
    with pytest.raises(ValueError, match="no fault 'bearing'"):
        FOUR.without("bearing")


BENCH = Bench(1e6, 1.0, 1e-9, 1e-9)


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: double_acting(StrokeAreas(0.0, 5e-3), AIR, **COMMON), "upper area is 0"),
        (lambda: single_acting(3e-3, AIR, **{**COMMON, "supply": 0.0}), "supply pressure is 0"),
        (lambda: single_acting(3e-3, AIR, **COMMON, friction=0.6), "friction is 0.6"),
        (lambda: single_acting(3e-3, AIR, **COMMON, pressure=1e9), "the drive stalls at"),
        (lambda: single_acting(3e-3, AIR, **COMMON, bench=BENCH), "the bench's rate is 1"),
        (lambda: differential(1e-3, 2e-3, AIR, **COMMON), "rod area of 0.002"),
        (lambda: double_diaphragm(-1.0, **COMMON), "diaphragm area is -1"),
        (lambda: plunger(3e-4, stroke=0.02, rate=9.0, pressure=7e6, plungers=0), "plungers is 0"),
        (lambda: plunger(3e-4, stroke=0.02, rate=9.0, pressure=-1.0), "pressure is -1"),
        (
            lambda: plunger(3e-4, stroke=0.02, rate=9.0, pressure=7e6, rod_ratio=1.0),
            "rod ratio is 1",
        ),
        (
            lambda: plunger(3e-4, stroke=0.02, rate=1.0, pressure=7e6, bench=BENCH),
            "the bench's pressure",
        ),
        (lambda: Bench(1e6, 1.0, 0.0, 1e-9), "line compliance is 0"),
    ],
)
def test_what_no_pump_can_have_is_refused(make, message):
    with pytest.raises(ValueError, match=message):
        make()


def test_parts_may_bear_other_names_but_no_two_the_same():
    pump = single_acting(5e-3, StrokeAreas(0.02, 0.02), stroke=0.1, rate=1.0, supply=4e5)
    named = pump.renamed({"inlet": "foot check", "piston cup": "leather"})
    names = [one.name for one in named.passages]
    assert names == ["foot check", "outlet", "leather", "relief valve"]
    assert named.faults[named.fault("leather")].low == pump.faults[pump.fault("piston cup")].low
    with pytest.raises(ValueError, match="two parts of the pump would be called 'outlet'"):
        pump.renamed({"inlet": "outlet"})
