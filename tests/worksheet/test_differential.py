"""The dosing pump, a differential piston with two ball checks, against sums by hand."""

import math
from pathlib import Path

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.sheets.bench import part_names
from rebuildbook.worksheet.bench_test import bench_test
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.in_motion import in_motion
from rebuildbook.worksheet.leak_sums import sums_of
from rebuildbook.worksheet.model import Section, Value
from rebuildbook.worksheet.running import running
from rebuildbook.worksheet.unit import unit_of
from rebuildbook.worksheet.valve_cycles import valves_of

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2614.yaml"
ATM = 101325.0

# sizes of the model sheet and of the card, put in by hand
BORE, ROD, AIR = (math.pi / 4.0 * size**2 for size in (0.040, 0.028, 0.063))
RING, STROKE, RATE = BORE - ROD, 0.080, 30.0 / 60.0
SUPPLY, MOST, WORKING = 2.9e5, 3.4e5, 10e5
PUSH = 0.92 * AIR  # area that is left of the motor's after 8 % of friction
FLOW = BORE * STROKE * RATE


def opened(*settings: str):
    context = Context(load_case(CARD, settings))
    unit = unit_of(context)
    return context, unit, in_motion(context, unit)


def si(made: Section) -> dict[str, float]:
    lines = (line for line in made.lines() if isinstance(line.value, Value))
    return {line.id.split(".", 1)[1]: line.value.si for line in lines}


def sound(made: Section, reading: str) -> float:
    """What the card of a sound unit has for a reading, as the test section shows it."""
    line = next(one for one in made.lines() if one.id == f"test.reading.{reading}")
    return line.inputs["x_0"].si


# flow and motion


def test_each_stroke_delivers_its_own_area_and_the_bore_is_drawn_once():
    found = si(running(*opened()))
    assert found["delivered-up"] == pytest.approx(RING * STROKE)
    assert found["delivered-down"] == pytest.approx(ROD * STROKE)
    assert found["drawn-up"] == pytest.approx(BORE * STROKE)
    assert "drawn-down" not in found
    assert found["delivered-up"] + found["delivered-down"] == pytest.approx(found["drawn-up"])
    # near half the bore: both strokes dose alike
    assert found["delivered-up"] == pytest.approx(found["delivered-down"], rel=0.05)
    assert opened()[1].displacement == pytest.approx(BORE * STROKE)


def test_the_rod_is_loaded_by_the_area_that_delivers():
    found = si(running(*opened()))
    assert found["rod-up"] == pytest.approx(WORKING * RING)
    assert found["rod-down"] == pytest.approx(WORKING * ROD)


def test_air_of_a_cycle_fills_the_motor_to_what_each_stroke_asks_for():
    found = si(running(*opened()))
    swept, dead = AIR * STROKE, 0.05

    def filled(pressure: float) -> float:
        return swept * ((pressure + ATM) / ATM + dead * pressure / ATM)

    assert found["supply-cycle"] == pytest.approx(2.0 * filled(SUPPLY))
    asked = filled(WORKING * RING / PUSH) + filled(WORKING * ROD / PUSH)
    # the exhaust holds back a little, so a little more
    assert asked * RATE < found["supply-used"] < 1.01 * asked * RATE


def test_both_checks_pass_the_whole_bore_each_on_its_own_stroke():
    context, _, moving = opened()
    made = {cycle.names[0]: cycle for cycle in valves_of(context, moving, RATE).cycles}
    up = moving.motion.up_share
    for name, share in (("foot-check", up), ("piston-check", 1.0 - up)):
        assert made[name].drive.displacement == pytest.approx(BORE * STROKE)
        assert made[name].drive.forward_share == pytest.approx(share)
    # each has the other for its partner at the end of its chamber
    assert made["foot-check"].late == made["piston-check"].motion.back_flow


# what holds and what leaks


def test_stall_on_both_strokes():
    _, unit, _ = opened()
    for stall, supply in ((unit.stall, SUPPLY), (unit.stall_max, MOST)):
        assert stall.up == pytest.approx(supply * PUSH / RING)
        assert stall.down == pytest.approx(supply * PUSH / ROD)
        assert stall.stroke == "down-stroke"  # the smaller area


def test_a_thicker_rod_brings_the_higher_stall_to_the_up_stroke():
    _, unit, _ = opened("fluid_end.rod=30 mm")
    assert unit.stall.stroke == "up-stroke"
    ring = math.pi / 4.0 * (0.040**2 - 0.030**2)
    assert unit.stall.pressure == pytest.approx(SUPPLY * PUSH / ring)


def test_the_test_card_of_a_sound_unit():
    made = bench_test(*opened())
    assert sound(made, "stall-pressure-up-stroke") == pytest.approx(SUPPLY * PUSH / RING)
    assert sound(made, "stall-pressure-down-stroke") == pytest.approx(SUPPLY * PUSH / ROD)
    assert sound(made, "flow") == pytest.approx(0.94 * FLOW)
    assert sound(made, "supply-that-just-moves-it") == pytest.approx(0.08 * SUPPLY)
    assert sound(made, "weep-rod-packing") == 0.0


def test_parts_bear_the_names_of_the_sheet():
    names = part_names(opened()[0].model)
    assert names["foot check"] == "foot check" and names["piston check"] == "piston check"
    assert names["piston seal"] == "piston cup" and names["rod packing"] == "rod packing"


def test_the_cup_leaks_going_up_and_the_packing_all_the_time():
    sums = sums_of(opened("measured.cylinder-bore=40.14 mm", "measured.piston-rod=27.80 mm")[0])
    ways = {way.name: way for way in sums.ways}
    cup, packing = ways["piston seal"], ways["rod packing"]
    assert (cup.path.stroke, cup.share) == ("up-stroke", 0.5)
    assert (packing.path.stroke, packing.share) == ("both strokes", 1.0)
    give = 1.15 * (0.998 * WORKING / 2.3e9 + 0.002 * (1.0 - ATM / (ATM + WORKING)))
    lost = (0.5 * cup.leak.flow + packing.leak.flow) / FLOW
    assert min(cup.leak.flow, packing.leak.flow) > 0.001 * FLOW
    assert sums.result.efficiency == pytest.approx(1.0 - give - lost, rel=1e-6)


@pytest.mark.parametrize("rod", [28.0, 20.0])
def test_the_rod_joint_carries_the_motor_both_ways(rod):
    """At stall the liquid gives back the motor's push, on the ring up and on the rod down."""
    made = open_worksheet(CARD, [f"fluid_end.rod={rod} mm"]).sections["rod"]
    lines = {line.id: line for line in made.lines()}
    own = math.pi / 4.0 * (rod * 1e-3) ** 2
    for line, area in ((lines["rod.nut-load"], BORE - own), (lines["rod.shoulder-load"], own)):
        assert line.inputs["A"].si == pytest.approx(area)
        assert line.value.si == pytest.approx(MOST * PUSH)


# faults planted in the readings, through the sheet


def planted(up: float, down: float, weep: float, after_up: float, share: float) -> Section:
    """The test section with the readings of a leak; K of each stroke in m³/(s √Pa).

    ``up`` and ``down`` are K as the stalled stroke sees it, ``after_up`` K that drains the shut
    line, ``share`` what running loses of the displacement.
    """
    moving = opened()[2]
    free = 2.0 * STROKE * moving.speed.idle.rate
    readings = {"flow": f"{(0.94 - share) * FLOW * 6e4:.5g} L/min"}
    for stroke, leak, area in (("up-stroke", up, RING), ("down-stroke", down, ROD)):
        full, rate = SUPPLY * PUSH / area, leak / area
        stall = full / (1.0 + rate**2 * full / free**2)
        creep = rate * math.sqrt(stall)
        readings[f"stall-pressure-{stroke}"] = f"{stall / 1e5:.5g} bar"
        readings[f"creep-{stroke}"] = f"{creep * 6e4:.5g} mm/min"
        air = creep * AIR * (SUPPLY + ATM) / ATM
        readings[f"air-at-stall-{stroke}"] = f"{air * 6e4:.5g} L/min"
    readings["air-while-running"] = f"{moving.run.supply_flow * 6e4:.5g} L/min"
    readings["supply-that-just-moves-it"] = f"{0.08 * SUPPLY / 1e5:.5g} bar"
    # the line gives what 4 s of flow fill at the working pressure, and is watched for 10 s
    gives = 4.0 * FLOW / WORKING
    root = max(1.0 - after_up * 10.0 / (2.0 * gives * math.sqrt(WORKING)), 0.0)
    lost = WORKING * (1.0 - root**2) / 1e5
    readings["pressure-lost-drive-vented-after-the-up-stroke"] = f"{lost:.5g} bar"
    readings["weep-rod-packing"] = f"{weep * 6e7:.5g} mL/min"
    settings = [f"test.readings.{name}={value}" for name, value in readings.items()]
    bare = ("test.readings={}", "test.stall={creep_limit: 4 mm/min}")
    return bench_test(*opened(*bare, *settings))


def diagnosis(made: Section):
    return next(one for one in made.findings() if one.id == "test.diagnosis")


def leak_of(share: float, part_of_cycle: float) -> float:
    """K of a leak that running at the working pressure loses ``share`` of the displacement."""
    return share * FLOW / part_of_cycle / math.sqrt(WORKING)


def test_no_leak_points_at_nothing():
    assert diagnosis(planted(0.0, 0.0, 0.0, 0.0, 0.0)).level == "clear"


def test_a_foot_check_that_leaks_creeps_going_down():
    """With the drive vented the line pushes the piston down after what the foot lets by.

    Pressure below is what balances the ring less 8 % of friction; of what goes by the foot the
    line gives the ring's share.
    """
    leak = leak_of(0.08, 0.5)
    below = (WORKING * RING - 0.08 * SUPPLY * AIR) / BORE
    drains = leak * math.sqrt(below / WORKING) * RING / BORE
    made = planted(0.0, leak, 0.0, drains, 0.08)
    found = diagnosis(made)
    assert found.title == "The readings point at foot check" and found.level == "hold"
    stall = next(one for one in made.findings() if one.id == "test.stall")
    assert stall.title == "Creep at stall on the down-stroke only"


def test_a_piston_check_or_cup_creeps_going_up():
    made = planted(leak_of(0.08, 0.5), 0.0, 0.0, 0.0, 0.08)
    assert diagnosis(made).title == "The readings point at piston check or piston cup"
    assert diagnosis(made).level == "hold"


def test_a_packing_creeps_both_ways_and_weeps():
    leak = leak_of(0.05, 1.0)
    made = planted(leak, leak, 0.05 * FLOW, leak, 0.05)
    assert diagnosis(made).title == "The readings point at rod packing"
    assert diagnosis(made).level == "hold"


@pytest.mark.parametrize(
    ("up", "down", "words"),
    [
        (9, 0, "Check in the piston, lets up to the rod side; or at the piston seal."),
        (0, 9, "that stroke: Foot check. "),
        (9, 9, "Points at the rod packing, which is loaded on both strokes."),
    ],
)
def test_creep_alone_points_at_what_holds_on_that_stroke(up, down, words):
    creep = f"{{up_stroke_creep: {up} mm/min, down_stroke_creep: {down} mm/min, "
    made = bench_test(*opened("test.readings={}", f"test.stall={creep}creep_limit: 4 mm/min}}"))
    found = next(one for one in made.findings() if one.id == "test.stall")
    assert found.level == "hold" and words in found.action
