"""The preload section against hand sums."""

import math
from pathlib import Path

import pytest

from rebuildbook.calculators.materials import material
from rebuildbook.sheets import load_case
from rebuildbook.worksheet.clamp import clamp_of, shear_ratio
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.plan import JointPlan, assembly_order, plan_joints

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2601.yaml"


def plan_of(context: Context, name: str) -> JointPlan:
    return next(plan for plan in plan_joints(context) if plan.name == name)


@pytest.fixture(scope="module")
def context() -> Context:
    settings = ["joints.fluid-cover.nut_factor=0.15 to 0.25", "tools.fluid-cover.setting=30 N*m"]
    return Context(load_case(CARD, settings))


def test_preload_bounds_are_torque_over_nut_factor_and_diameter(context):
    plan = plan_of(context, "fluid-cover")
    clamp = clamp_of(context, plan, 20e5)
    # wrench C-60: ±4 %, step 0.5 N·m; M10
    assert clamp.typical == pytest.approx(30 / (0.20 * 0.010))
    assert clamp.least == pytest.approx((30 - 0.04 * 30 - 0.25) / (0.25 * 0.010))
    assert clamp.most == pytest.approx((30 + 0.04 * 30 + 0.25) / (0.15 * 0.010))


def test_the_95_percent_interval_lies_between_the_bounds(context):
    clamp = clamp_of(context, plan_of(context, "fluid-cover"), 20e5)
    assert clamp.least < clamp.draws.low < clamp.typical < clamp.draws.high < clamp.most


def test_the_pull_is_pressure_on_the_sealed_area_shared_by_the_fasteners(context):
    plan = plan_of(context, "fluid-cover")
    clamp = clamp_of(context, plan, 20e5)
    diameter = plan.joint.sealed_diameter.nominal
    assert clamp.pull == pytest.approx(20e5 * math.pi / 4 * diameter**2 / 8)


def test_what_was_used_on_the_thread_goes_before_what_was_planned():
    planned = Context(load_case(CARD))
    dry = Context(load_case(CARD, ["consumables_used.fluid-cover=copper-paste"]))
    before = clamp_of(planned, plan_of(planned, "fluid-cover"), 20e5)
    after = clamp_of(dry, plan_of(dry, "fluid-cover"), 20e5)
    assert after.nut_factor.condition == "anti-seize paste"
    assert after.typical > before.typical


@pytest.mark.parametrize(
    ("name", "ratio"),
    [("A356-T6", 0.52), ("6061", 0.70), ("ductile iron", 0.90), ("acetal", 0.50), ("316", 0.80)],
)
def test_shear_ratio_goes_by_the_family_of_the_housing(name, ratio):
    # guide values of VDI 2230-1 and handbooks, from memory; plastics: common practice, no source
    assert shear_ratio(material(name)) == ratio


def test_joints_come_in_an_order_that_respects_what_must_precede(context):
    order = assembly_order(context.model)
    assert sorted(order) == sorted(context.model.joints)
    for name, joint in context.model.joints.items():
        for before in joint.follows:
            assert order.index(before) < order.index(name)
