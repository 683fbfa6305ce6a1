"""The evenness section against direct calls of the calculators, and against closed forms."""

import dataclasses
import functools
from pathlib import Path

import numpy as np
import pytest

from rebuildbook.calculators.flange_model import Cover, Gasket, Outline, RingFlange
from rebuildbook.calculators.interaction import (
    ForcePass,
    even_pass,
    joint,
    tighten,
    tighten_until_even,
)
from rebuildbook.calculators.layout import circle, cross_order
from rebuildbook.calculators.thread_strength import proof_load
from rebuildbook.sheets import SheetError, load_case
from rebuildbook.worksheet.clamp import clamp_of
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.evenness import ENOUGH, evenness
from rebuildbook.worksheet.model import Note, Picture, Table
from rebuildbook.worksheet.plan import JointPlan, plan_joints
from rebuildbook.worksheet.tightened import (
    EVEN,
    LEAST_MESH,
    NotFollowed,
    Setup,
    beyond_the_model,
    orders_of,
    setup_of,
    solve,
    spacing,
)
from rebuildbook.worksheet.worked import work_out

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
PISTON, PLUNGER, DIAPHRAGM = "TW-2601", "TW-2602", "TW-2603"
PRESSURE = 20e5  # what is left in service does not matter here
FLAT = [(PISTON, "fluid-cover"), (PLUNGER, "crankcase-cover"), (DIAPHRAGM, "cover-left")]
MILLI = 1e-3


@functools.cache
def context_of(job: str, *settings: str) -> Context:
    return Context(load_case(JOBS / f"{job}.yaml", settings))


@functools.cache
def section_of(job: str, *settings: str):
    context = context_of(job, *settings)
    return evenness(context, [work_out(context, plan, PRESSURE) for plan in plan_joints(context)])


def plan_of(context: Context, name: str) -> JointPlan:
    return next(plan for plan in plan_joints(context) if plan.name == name)


@functools.cache
def setup_for(job: str, name: str, *settings: str) -> Setup:
    context = context_of(job, *settings)
    return setup_of(work_out(context, plan_of(context, name), PRESSURE))


def line(section, id_: str):
    return next(one for one in section.lines() if one.id == id_)


def finding(section, id_: str):
    return next(one for one in section.findings() if one.id == id_)


def notes(section) -> str:
    return " ".join(block.text for block in section.blocks if isinstance(block, Note))


def tables(section) -> list[Table]:
    return [block for block in section.blocks if isinstance(block, Table)]


@pytest.fixture(scope="module")
def by_hand():
    """The fluid cover from the numbers on its sheet: plate, fibre gasket, M10 8.8 at 33.5 N·m."""
    plate = Cover(
        169e9,
        22 * MILLI,
        Outline("ellipse", 0.180, 0.180),
        Outline("ellipse", 0.124, 0.124),
        poisson=0.275,
    )
    gasket = Gasket(500e6, 25.4 * MILLI / 16, 13 * MILLI)
    # washer, cover, gasket and half a diameter of the housing, thread all the way
    grip = (2 + 22 + 25.4 / 16 + 10 / 2) * MILLI
    stiffness = 206e9 * plan_of(context_of(PISTON), "fluid-cover").thread.stress_area / grip
    return joint(plate, gasket, circle(8, 0.150).positions, stiffness, mesh=LEAST_MESH)


@pytest.fixture(scope="module")
def passes_by_hand():
    """30, 60 and 100 % of 33.5 N·m on the half newton-metres of the wrench, K = 0.16, M10."""
    order, rotation = cross_order(circle(8, 0.150)), tuple(range(1, 9))
    forces = [torque / (0.16 * 0.010) for torque in (10.0, 20.0, 33.5)]
    return [*(ForcePass(order, force) for force in forces), ForcePass(rotation, forces[-1])]


def test_the_lines_are_those_of_the_calculators_called_by_hand(by_hand, passes_by_hand):
    section, history = section_of(PISTON), tighten(by_hand, passes_by_hand)
    target = 33.5 / (0.16 * 0.010)
    assert line(section, "evenness.fluid-cover.target").value.si == pytest.approx(target)
    least = line(section, "evenness.fluid-cover.least").value.si
    assert least == pytest.approx(min(history.final) / target, rel=1e-6)
    spread = line(section, "evenness.fluid-cover.spread").value.si
    assert spread == pytest.approx(np.ptp(history.final) / np.mean(history.final), rel=1e-6)
    shown = line(section, "evenness.fluid-cover.ends").value.removesuffix(" kN").split()
    assert [float(force) for force in shown] == pytest.approx(history.final / 1e3, abs=0.05)


def test_each_step_and_each_pass_are_those_of_the_calculators(by_hand, passes_by_hand):
    history = tighten(by_hand, passes_by_hand)
    found = solve(setup_for(PISTON, "fluid-cover"))
    assert found.history.forces == pytest.approx(history.forces, rel=1e-6, abs=1e-3)
    after_each = tables(section_of(PISTON))[0]
    share = history.forces[7::8] / history.target
    assert [row[0] for row in after_each.rows] == ["2", "3", "4", "5"]  # the first is by hand
    assert [row[2] for row in after_each.rows] == [f"{100 * one:.0f} %" for one in share.mean(1)]
    assert after_each.rows[2][1] == f"{100 * min(share[2]):.0f} % ({np.argmin(share[2]) + 1})"


def test_the_orders_compared_differ_only_in_their_order(by_hand, passes_by_hand):
    found = solve(setup_for(PISTON, "fluid-cover"))
    assert list(found.orders) == ["cross", "rotation"]  # with eight, quadrants are the cross
    round_ = [ForcePass(tuple(range(1, 9)), one.force) for one in passes_by_hand]
    history = tighten(by_hand, round_)
    ends = found.orders["rotation"]
    assert ends.end.least == pytest.approx(min(history.residual), rel=1e-6)
    before = tighten(by_hand, round_[:3])
    assert ends.passes.least == pytest.approx(min(before.residual), rel=1e-6)
    assert ends.skew == pytest.approx(history.skew, rel=1e-6)


@pytest.mark.parametrize(
    ("job", "name", "kinds"),
    [
        (DIAPHRAGM, "cover-left", ["cross", "quadrant", "rotation"]),
        (DIAPHRAGM, "diaphragm-nuts", ["rotation"]),
        (PLUNGER, "outlet-manifold", ["cross", "rotation"]),
    ],
)
def test_only_orders_that_the_layout_allows_and_that_differ_are_compared(job, name, kinds):
    plan = plan_of(context_of(job), name)
    assert list(orders_of(plan.tightening)) == kinds


def test_rounds_are_those_that_the_calculator_asks_for():
    soft = "joints.fluid-cover.gasket.modulus=60 MPa"
    found, section = solve(setup_for(PISTON, "fluid-cover", soft)), section_of(PISTON, soft)
    setup = setup_for(PISTON, "fluid-cover", soft)
    made = joint(
        setup.flange, setup.gasket, circle(8, 0.150).positions, setup.bolt_stiffness, mesh=16
    )
    passes = [
        ForcePass(one.order, setup.target * one.torque / 33.5)
        for one in setup.plan.passes
        if one.torque
    ]
    rounds = tighten_until_even(made, passes, share=EVEN)
    assert found.rounds.rounds == rounds.rounds > 0
    assert line(section, "evenness.fluid-cover.rounds").value == str(rounds.rounds)
    query = finding(section, "evenness.fluid-cover.even")
    assert query.level == "query"
    more = "1 more round" if rounds.rounds == 1 else f"{rounds.rounds} more rounds"
    assert f"Make {more} in rotation with C-60 at 33.50 N·m" in query.action


@pytest.mark.parametrize("setting", ["100 MPa", "200 MPa"])
def test_a_softer_gasket_takes_more(setting):
    as_is = section_of(PISTON)
    softer = section_of(PISTON, f"joints.fluid-cover.gasket.modulus={setting}")
    for name, more in (("least", False), ("spread", True), ("taken", True)):
        id_ = f"evenness.fluid-cover.{name}"
        assert (line(softer, id_).value.si > line(as_is, id_).value.si) is more


def stiffer(setup: Setup, flange: float, gasket: float) -> Setup:
    return dataclasses.replace(
        setup,
        flange=dataclasses.replace(setup.flange, modulus=setup.flange.modulus * flange),
        gasket=dataclasses.replace(setup.gasket, modulus=setup.gasket.modulus * gasket),
    )


@pytest.mark.parametrize(("job", "name"), FLAT)
def test_bolts_do_not_feel_each_other_where_nothing_gives(job, name):
    found = solve(stiffer(setup_for(job, name), 1e7, 1e5))
    assert found.taken < 1e-3
    assert found.history.residual == pytest.approx(1.0, abs=2e-3)
    assert found.rounds.rounds == 0


def test_a_flange_that_does_not_bend_still_tips_on_its_gasket():
    """A rigid plate on a ring of springs: C = 1/(k A) + xᵢ·xⱼ/(k I), by statics."""
    setup = stiffer(setup_for(PISTON, "fluid-cover"), 1e7, 1.0)
    outer, inner = 0.124 / 2, 0.098 / 2
    area, inertia = np.pi * (outer**2 - inner**2), np.pi / 4 * (outer**4 - inner**4)
    places = np.array(circle(8, 0.150).positions)
    give = (1 / area + places @ places.T / inertia) / setup.gasket.stiffness
    answer = np.linalg.inv(give + np.eye(8) / setup.bolt_stiffness)
    assert solve(setup).taken == pytest.approx(-(answer / np.diag(answer)).min(), rel=0.01)


@pytest.mark.parametrize(("job", "name"), FLAT)
def test_a_finer_mesh_moves_no_final_force_by_2_percent_of_the_target(job, name):
    setup = setup_for(job, name)
    coarse, fine = solve(setup), solve(setup, 2 * LEAST_MESH)
    assert np.abs(coarse.history.final - fine.history.final).max() < 0.02 * setup.target


def test_a_finer_mesh_does_not_move_a_ring_either():
    cover = setup_for(DIAPHRAGM, "cover-left")
    ring = dataclasses.replace(cover, flange=RingFlange(72.4e9, 0.02, 0.18, 0.246, 0.203))
    coarse, fine = solve(ring), solve(ring, 4 * LEAST_MESH)
    assert np.abs(coarse.history.final - fine.history.final).max() < 0.02 * ring.target


def test_o_ring_joints_get_one_note_and_are_not_followed():
    section = section_of(PISTON)
    text = notes(section)
    assert text.count("Metal to metal") == 1
    (told,) = [line for line in text.splitlines() if "Metal to metal" in line]
    assert all(name in told for name in ("suction-elbow", "valve-caps", "tie-rods"))
    assert {one.id for one in section.findings()} == {"evenness.fluid-cover.even"}
    assert "piston-nut" not in text  # one fastener has no neighbour


def test_equal_covers_are_solved_and_drawn_once_and_judged_each():
    left, right = (setup_for(DIAPHRAGM, f"cover-{side}") for side in ("left", "right"))
    assert solve(left) is solve(right)
    section = section_of(DIAPHRAGM)
    assert sum(isinstance(block, Picture) for block in section.blocks) == 1
    assert "cover-right: in all that counts here like cover-left" in notes(section)
    assert {one.id for one in section.findings()} == {
        "evenness.cover-left.even", "evenness.cover-right.even",
    }  # fmt: skip


def test_a_cover_tightened_otherwise_is_followed_by_itself():
    section = section_of(DIAPHRAGM, "tools.cover-right.setting=44 in-lb")
    assert sum(isinstance(block, Picture) for block in section.blocks) == 2


def test_one_round_bolt_by_bolt_stays_on_marks_within_the_window_and_ends_even():
    setup = setup_for(DIAPHRAGM, "cover-left")
    found, plan = solve(setup), plan_of(context_of(DIAPHRAGM), "cover-left")
    torques = np.array(found.even_round.torques)
    assert torques.max() <= plan.joint.torque.high * (1 + 1e-9)
    marks = torques / setup.step
    assert marks == pytest.approx(np.round(marks), abs=1e-9)
    assert found.end.off > EVEN >= found.even_round.end.off
    # set as written after the planned torque passes, it ends as it says
    made = joint(
        setup.flange, setup.gasket, circle(16, 0.228).positions, setup.bolt_stiffness, mesh=16
    )
    largest = max(one.torque for one in setup.plan.passes)
    before = [
        ForcePass(one.order, setup.target * one.torque / largest)
        for one in setup.plan.passes
        if one.kind == "cross"
    ]
    forces = tuple((torques / setup.lever).tolist())
    end = tighten(made, [*before, ForcePass(tuple(range(1, 17)), forces)]).final / setup.target
    assert found.even_round.end.least == pytest.approx(min(end), rel=1e-6)
    assert found.even_round.end.most == pytest.approx(max(end), rel=1e-6)
    # without window and marks it would end exactly even
    free = even_pass(made, tuple(range(1, 17)), setup.target, after=tighten(made, before))
    assert free.history.final == pytest.approx(setup.target, rel=1e-6)
    (settings,) = [one for one in tables(section_of(DIAPHRAGM)) if "bolt by bolt" in one.title]
    cells = [cell.split(": ") for row in settings.rows for cell in row[:-1]]
    assert [int(bolt) for bolt, _ in cells] == list(range(1, 17))
    inch_pounds = torques / (4.4482216152605 * 0.0254)
    assert [float(on_scale) for _, on_scale in cells] == pytest.approx(inch_pounds, abs=0.01)


@pytest.mark.parametrize(("job", "name"), FLAT)
def test_no_torque_of_that_round_takes_a_bolt_past_proof_load_at_the_least_friction(job, name):
    wide = setup_for(job, name, f"joints.{name}.torque=1 to 900 N*m")
    context = context_of(job, f"joints.{name}.torque=1 to 900 N*m")
    plan = plan_of(context, name)
    clamp = clamp_of(context, plan)
    preload = wide.most_torque / (clamp.nut_factor.low * plan.thread.major)
    assert preload <= proof_load(plan.thread, plan.strength)
    assert preload <= clamp.strip.weakest


def test_no_bolt_is_drawn_past_its_limit_by_those_that_follow():
    setup = setup_for(DIAPHRAGM, "cover-left")
    assert solve(setup).even_round.end.most > 1.0
    at_limit = dataclasses.replace(setup, most_preload=setup.target)
    assert solve(at_limit).even_round is None


def test_where_no_such_round_fits_the_window_the_rounds_are_named_instead():
    section = section_of(
        PISTON, "joints.fluid-cover.torque=33 to 34 N*m",
        "joints.fluid-cover.gasket.modulus=60 MPa",
    )  # fmt: skip
    assert "no single round that stays within the maker's window" in notes(section)
    assert not any("bolt by bolt" in one.title for one in tables(section))


def test_torque_that_clamps_nothing_is_taken_off_each_pass():
    setup = setup_for(PISTON, "fluid-cover", "joints.fluid-cover.prevailing_torque=3 N*m")
    assert setup.target == pytest.approx((33.5 - 3) / (0.16 * 0.010))
    first = solve(setup).history.forces[0]
    assert max(first) == pytest.approx((10 - 3) / (0.16 * 0.010))


def test_numbering_by_order_changes_no_force():
    rotation = solve(setup_for(PISTON, "fluid-cover"))
    renamed = solve(setup_for(PISTON, "fluid-cover", "joints.fluid-cover.numbering=by order"))
    assert sorted(renamed.history.final) == pytest.approx(sorted(rotation.history.final), rel=1e-6)


def without(plan: JointPlan, **gone: object) -> JointPlan:
    return dataclasses.replace(plan, joint=plan.joint.model_copy(update=gone))


@pytest.mark.parametrize(
    ("field", "words"),
    [("flange", "the flange"), ("modulus", "gasket's modulus"), ("layers", "layers")],
)
def test_a_gap_in_the_sheet_is_named(field, words):
    context = context_of(PISTON)
    plan = plan_of(context, "fluid-cover")
    gasket = plan.joint.gasket.model_copy(update={"modulus": None})
    gone = {"flange": None} if field == "flange" else {"layers": []}
    bare = without(plan, **({"gasket": gasket} if field == "modulus" else gone))
    with pytest.raises(NotFollowed, match=words):
        setup_of(work_out(context, bare, PRESSURE))
    section = evenness(context, [work_out(context, bare, PRESSURE)])
    assert "fluid-cover: not followed, the model sheet does not give" in notes(section)
    assert not list(section.findings())


def test_a_flange_of_no_known_material_is_refused_with_its_place():
    with pytest.raises(SheetError, match=r"flange\.material.*no material 'ductile irn'"):
        context_of(PISTON, "joints.fluid-cover.flange.material=ductile irn")


def test_a_bolt_beside_its_cover_is_a_query():
    section = section_of(PISTON, "joints.fluid-cover.flange.outer_diameter=140 mm")
    found = finding(section, "evenness.fluid-cover.model")
    assert found.level == "query"
    assert "misses the cover" in found.compared


def test_a_gasket_stiffer_than_its_flange_is_not_followed():
    section = section_of(PISTON, "joints.fluid-cover.gasket.thickness=0.01 mm")
    assert "stiffer than the flange" in notes(section)
    assert not list(section.findings())


@pytest.mark.parametrize(("job", "name"), FLAT)
def test_the_healthy_demo_joints_end_even_enough(job, name):
    section = section_of(job)
    found = finding(section, f"evenness.{name}.even")
    assert (found.level, found.action) == ("clear", "")
    assert solve(setup_for(job, name)).end.off <= ENOUGH


def test_bolts_that_hardly_feel_each_other_are_not_drawn():
    section = section_of(PLUNGER)
    assert not any(isinstance(block, Picture | Table) for block in section.blocks)
    assert line(section, "evenness.crankcase-cover.taken").value == "under 2 %"


def test_a_plate_too_thick_for_its_bolt_spacing_is_told():
    assert spacing(circle(6, 0.2)) == pytest.approx(0.1)  # a hexagon's side is its radius
    setup = setup_for(PISTON, "fluid-cover")
    assert beyond_the_model(setup)
    assert "fluid-cover" in notes(section_of(PISTON)).split("theory of thin plates")[1]
    thin = dataclasses.replace(setup, flange=dataclasses.replace(setup.flange, thickness=0.011))
    assert not beyond_the_model(thin)


def test_the_figure_fits_a_page_that_has_a_limit():
    (picture,) = [b for b in section_of(DIAPHRAGM).blocks if isinstance(b, Picture)]
    drawn = picture.draw()
    assert len(drawn.encode()) < 20_000
    assert drawn == picture.draw()
    assert "cross 53 to 109 %" in picture.alt
