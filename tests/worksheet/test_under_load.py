"""Joints under load against hand sums: stiffness, losses, opening, fatigue."""

import math
from pathlib import Path

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import plan_joints
from rebuildbook.worksheet.under_load import UnderLoad
from rebuildbook.worksheet.worked import work_out

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
PRESSURE = 28e5


def loaded(joint: str, *settings: str, card: str = "TW-2601", pressure: float = PRESSURE):
    context = Context(load_case(JOBS / f"{card}.yaml", list(settings)))
    plan = next(plan for plan in plan_joints(context) if plan.name == joint)
    done = work_out(context, plan, pressure)
    return plan, done.clamp, done.load


def test_a_fastener_threaded_all_the_way_is_one_rod():
    plan, _, load = loaded("fluid-cover")
    # washer 2 mm, cover 22 mm, half of M10 into the housing, gasket 1/16 in
    grip = 0.002 + 0.022 + 0.005 + 0.0254 / 16
    assert load.stiffness.grip == pytest.approx(grip)
    assert load.stiffness.fastener == pytest.approx(206e9 * plan.thread.stress_area / grip)


def test_a_plain_shank_makes_the_fastener_stiffer():
    _, _, threaded = loaded("tie-rods")
    _, _, plain = loaded("tie-rods", "joints.tie-rods.shank_length=250 mm")
    assert plain.stiffness.fastener > threaded.stiffness.fastener
    assert plain.stiffness.members == threaded.stiffness.members


def test_a_tube_that_all_fasteners_clamp_is_shared_by_them():
    thin, thick = (
        loaded("tie-rods", f"joints.tie-rods.layers.2.shared_area={area} mm^2")[2].stiffness
        for area in (800, 1600)
    )
    # the tube alone: 1/k = N l/(E A); halving the wall adds this much compliance
    added = 4 * 0.212 / 193e9 * (1 / 800e-6 - 1 / 1600e-6)
    assert 1 / thin.members - 1 / thick.members == pytest.approx(added)


def test_a_gasket_is_a_spring_in_series_with_the_parts():
    soft, hard = (
        loaded("fluid-cover", f"joints.fluid-cover.gasket.modulus={modulus} MPa")[2].stiffness
        for modulus in (250, 500)
    )
    area = math.pi / 4 * (0.124**2 - 0.098**2) / 8
    added = 0.0254 / 16 / area * (1 / 250e6 - 1 / 500e6)
    assert 1 / soft.members - 1 / hard.members == pytest.approx(added)
    assert soft.constant > hard.constant
    # it gives back less than it took: for staying shut the joint counts as if it had none
    assert soft.shut_constant == hard.shut_constant < hard.constant


def test_settling_costs_less_on_a_long_fastener():
    _, _, short = loaded("suction-elbow")
    _, _, long = loaded("tie-rods")
    assert long.loss.settling < short.loss.settling / 3


def test_steel_in_aluminium_gains_when_warm_and_loses_when_cold():
    _, _, load = loaded("motor-flange", "temperature_range=-10 to 60 °C")
    cold, hot = load.loss.thermal
    assert cold < 0 < hot
    springs = 1 / load.stiffness.fastener + 1 / load.stiffness.members
    assert hot / (60 - 19) == pytest.approx(cold / (-10 - 19))
    own, parts = load.loss.growths[1]
    assert hot == pytest.approx((parts - own) / springs)
    # washer 2.5 mm of 12.3, iron 20 mm of 11.5, aluminium 6 mm of 21.5 µm/(m K); steel 11.7
    wanted = (0.0025 * 12.3 + 0.020 * 11.5 + 0.006 * 21.5) * 41e-6
    assert parts == pytest.approx(wanted)
    assert own == pytest.approx(0.0285 * 11.7e-6 * 41)


def test_the_joint_opens_where_its_margin_is_one():
    _, _, load = loaded("suction-elbow")
    limit = load.pressed.margin * PRESSURE
    *_, at = loaded("suction-elbow", pressure=limit)
    assert at.pressed.margin == pytest.approx(1.0)
    assert at.pressed.clamp == pytest.approx(0.0, abs=1e-6)
    share = load.stiffness.constant
    assert load.pressed.clamp == pytest.approx(load.least - (1 - share) * load.pressed.pull)
    # the preload below which it opens, set by torque, opens just there
    assert load.loss.least(load.opens_below()) == pytest.approx((1 - share) * load.pressed.pull)


def test_pull_is_pressure_on_the_sealed_area_shared_by_the_fasteners():
    plan, _, load = loaded("fluid-cover")
    diameter = plan.joint.sealed_diameter.nominal
    assert load.pressed.pull == pytest.approx(PRESSURE * math.pi / 4 * diameter**2 / 8)


def test_amplitude_goes_from_the_inlet_pressure_to_the_duty():
    def amplitude(*settings: str) -> float:
        return loaded("fluid-cover", *settings)[2].cycle.amplitude

    plan, _, load = loaded("fluid-cover")
    swing = 16e5 * math.pi / 4 * 0.098**2 / 8
    by_hand = load.stiffness.constant * swing / (2 * plan.thread.stress_area)
    assert amplitude() == pytest.approx(by_hand)
    assert amplitude("duty.inlet_pressure=-0.5 bar") == pytest.approx(by_hand * 16.5 / 16)
    assert loaded("fluid-cover", "joints.fluid-cover.pulsating=no")[2].cycle is None


def test_gasket_stress_is_clamp_over_its_ring():
    _, clamp, load = loaded("fluid-cover")
    ring = math.pi / 4 * (0.124**2 - 0.098**2)
    assert load.face.of_gasket
    assert load.face.assembled == pytest.approx(8 * clamp.least / ring)
    assert load.face.in_service == pytest.approx(8 * load.pressed.clamp / ring)


def test_metal_faces_of_an_o_ring_joint_have_their_stress_where_the_sheet_gives_the_area():
    assert loaded("suction-elbow")[2].face is None
    *_, load = loaded("suction-elbow", "joints.suction-elbow.face_area=2400 mm^2")
    assert not load.face.of_gasket
    assert load.face.in_service == pytest.approx(4 * load.pressed.clamp / 2400e-6)


def test_without_layers_there_is_no_stiffness():
    found: UnderLoad | None = loaded("suction-elbow", "joints.suction-elbow.layers=[]")[2]
    assert found is None
