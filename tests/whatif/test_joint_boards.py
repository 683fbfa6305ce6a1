"""The boards of a joint: the worksheet's own values, laws of statics, and every demo card."""

import functools
import math
import re
import shutil
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from matplotlib.figure import Figure

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.units import from_unit
from rebuildbook.whatif.boards import BOARDS, board
from rebuildbook.whatif.boards import knobs as knob
from rebuildbook.whatif.boards.mixup import Limits
from rebuildbook.whatif.boards.order import read_order
from rebuildbook.whatif.play import Play
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.joints import joints
from rebuildbook.worksheet.model import LEVELS, Value
from rebuildbook.worksheet.plan import plan_joints
from rebuildbook.worksheet.tightened import setup_of, solve

ROOT = Path(__file__).resolve().parents[2] / "parameters"
CARDS = sorted(path.stem for path in (ROOT / "jobs").glob("*.yaml"))
MINE = ("joint", "order", "wrench", "mixup")
ONE_EACH = ("TW-2601", "TW-2602", "TW-2603", "TW-2612", "TW-2614")  # every model once
STORE = SheetStore()

COVER = {"joint": "fluid-cover"}
TURNED = (  # what sliders may do, beside the cards as they are
    (
        "TW-2601",
        (
            "tools.fluid-cover.setting=45 N*m",
            "joints.fluid-cover.gasket.creep=25 %",
            "joints.fluid-cover.gasket.modulus=150 MPa",
            "joints.fluid-cover.prevailing_torque=2 N*m",
            "joints.tie-rods.torque=40 to 50 ft-lb",
            "joints.tie-rods.nut_factor=0.2 to 0.3",
        ),
    ),
    ("TW-2604", ("duty.test_pressure=44 bar", "joints.packing-gland.condition=oiled")),
)


def path_of(card):
    return ROOT / "jobs" / f"{card}.yaml"


@functools.cache
def case_of(card, settings=()):
    return load_case(path_of(card), settings, STORE)


@functools.cache
def worksheet_of(card, settings=()):
    return open_worksheet(path_of(card), settings)


def plan_alone(case, joint):
    context = Context(case)
    return context, [plan for plan in plan_joints(context) if plan.name == joint]


def answer(name, card, picked, settings=(), **seen):
    return board(name).answer(case_of(card, settings), picked, seen)


def values(found):
    return {number.id: number.value for number in found.numbers}


def si(found, id_):
    value = values(found)[id_]
    assert isinstance(value, Value), value
    return value.si


# the worksheet's own values


@pytest.mark.parametrize(
    ("card", "settings"), [("TW-2602", ()), ("TW-2603", ()), ("TW-2614", ()), *TURNED]
)
@pytest.mark.parametrize("name", ["joint", "wrench"])
def test_lines_and_findings_are_those_of_the_worksheet(name, card, settings):
    sections = worksheet_of(card, settings).sections.values()
    lines = {line.id: line.value for section in sections for line in section.lines()}
    said = {finding for section in sections for finding in section.findings()}
    shared = 0
    for joint in board(name).picks(case_of(card))["joint"]:
        found = answer(name, card, {"joint": joint}, settings)
        for number in found.numbers:
            if number.id in lines:
                assert number.value == lines[number.id], number.id
                shared += 1
        assert set(found.findings) <= said
        wanted = {f"joints.{joint}.tool", f"preload.{joint}.yield"} & {one.id for one in said}
        if name == "joint":
            assert wanted <= {one.id for one in found.findings}
    assert shared >= (10 if name == "joint" else 4) * len(board(name).picks(case_of(card))["joint"])


@pytest.mark.parametrize(
    ("card", "joint", "settings"),
    [("TW-2601", "fluid-cover", TURNED[0][1]), ("TW-2603", "cover-left", ())],
)
def test_order_as_planned_ends_where_the_worksheet_says(card, joint, settings):
    worksheet = worksheet_of(card, settings)
    lines = {line.id: line.value for line in worksheet.sections["evenness"].lines()}
    followed = solve(setup_of(worksheet.worked[joint])).history
    found = answer("order", card, {"joint": joint}, settings)
    for name in ("least", "spread"):
        assert si(found, f"order.{joint}.first.{name}") == pytest.approx(
            lines[f"evenness.{joint}.{name}"].si, rel=1e-9
        )
    assert values(found)[f"order.{joint}.ends"] == lines[f"evenness.{joint}.ends"]
    assert si(found, f"order.{joint}.target") == lines[f"evenness.{joint}.target"].si
    # at every step, though the board follows shares of the target
    np.testing.assert_allclose(found.data.first.forces, followed.forces, rtol=1e-7, atol=1e-3)
    assert si(found, f"order.{joint}.first.skew") == pytest.approx(followed.skew, rel=1e-6)


def test_a_typed_window_in_another_unit_says_what_the_mix_up_board_said():
    found = {one.id: one for one in answer("mixup", "TW-2601", COVER).findings}
    for unit, written in (("in·lbf", "in-lb"), ("ft·lbf", "ft-lb"), ("kgf·m", "kgf*m")):
        case = case_of("TW-2601", (f"joints.fluid-cover.torque=30 to 37 {written}",))
        section = joints(*plan_alone(case, "fluid-cover"))
        said = next(one for one in section.findings() if one.id == "joints.fluid-cover.unit")
        mixed = found[f"joints.fluid-cover.unit.{unit}"]
        assert (mixed.level, mixed.compared, mixed.margin, mixed.action) == (
            said.level, said.compared, said.margin, said.action,
        )  # fmt: skip
        assert mixed.title == f"read as {unit}: {said.title}"


# laws


@pytest.mark.parametrize("name", ["setting", "nut_factor", "test_pressure", "creep"])
def test_joint_moves_the_way_it_must(name):
    steps = {
        "setting": [f"tools.fluid-cover.setting={x} N*m" for x in (20, 30, 40, 50)],
        "nut_factor": [f"joints.fluid-cover.nut_factor={x}" for x in (0.3, 0.2, 0.15, 0.1)],
        "test_pressure": [f"duty.test_pressure={x} bar" for x in (44, 40, 36, 30)],
        "creep": [f"joints.fluid-cover.gasket.creep={x} %" for x in (40, 20, 10, 2)],
    }[name]
    found = [answer("joint", "TW-2601", COVER, (step,)) for step in steps]
    for rising in ("service.fluid-cover.margin", "joint.fluid-cover.to-opening"):
        margins = [si(one, rising) for one in found]
        assert margins == sorted(set(margins)), rising
    preloads = [si(one, "preload.fluid-cover.typical") for one in found]
    to_yield = [si(one, "joint.fluid-cover.to-yield") for one in found]
    if name in {"setting", "nut_factor"}:
        assert preloads == sorted(set(preloads))
        assert to_yield == sorted(set(to_yield), reverse=True)
    else:  # neither pressure nor creep is felt at the bench
        assert len(set(preloads)) == len(set(to_yield)) == 1


def test_a_joint_at_its_opening_preload_opens_at_its_pressure():
    """The preload said to open it, put in as the least, leaves a margin of one."""
    found = answer("joint", "TW-2601", COVER)
    least, opens = (si(found, f"{id_}") for id_ in ("preload.fluid-cover.least",
                                                     "joint.fluid-cover.opens"))  # fmt: skip
    # T = K F d: the same torque with friction so much higher leaves just that preload
    worst = 0.20 * least / opens
    settings = (f"joints.fluid-cover.nut_factor={worst - 0.01:.9f} to {worst:.9f}",)
    at_limit = answer("joint", "TW-2601", COVER, settings)
    assert si(at_limit, "preload.fluid-cover.least") == pytest.approx(opens, rel=1e-6)
    assert si(at_limit, "service.fluid-cover.margin") == pytest.approx(1.0, rel=1e-6)
    assert si(at_limit, "joint.fluid-cover.to-opening") == pytest.approx(0.0, abs=1e-3)


def test_room_of_the_window_hangs_on_the_window_alone():
    wide = answer("joint", "TW-2601", COVER, ("joints.fluid-cover.torque=20 to 47 N*m",))
    plain = answer("joint", "TW-2601", COVER)
    # greased, K 0.12 to 0.20, on M10: T/(K d) by hand
    assert plain.data.window == pytest.approx((30 / (0.20 * 0.010), 37 / (0.12 * 0.010)))
    assert wide.data.window == pytest.approx((20 / (0.20 * 0.010), 47 / (0.12 * 0.010)))
    assert wide.data.typical == plain.data.typical  # the card notes what was set


@pytest.mark.parametrize("degrees", [0, 30, 90, 120, 180])
def test_wrench_by_moments(degrees):
    """Pull P at the grip: the square feels P L, the fastener P (L + E cos θ). Statics."""
    settings = (f"tools.packing-gland.adapter_angle={degrees} deg",)
    found = answer("wrench", "TW-2601", {"joint": "packing-gland"}, settings)
    lever, offset, inch_pound = 10 * 0.0254, 0.030, 4.4482216152605 * 0.0254
    pull = 108 * inch_pound / (lever + offset * math.cos(math.radians(degrees)))
    id_ = "wrench.packing-gland"
    assert si(found, f"{id_}.formula") == pytest.approx(pull * lever)
    forgotten = 108 * inch_pound / lever * (lever + offset * math.cos(math.radians(degrees)))
    assert si(found, f"{id_}.forgotten") == pytest.approx(forgotten)
    assert si(found, f"{id_}.error") == pytest.approx(
        offset * math.cos(math.radians(degrees)) / lever, abs=1e-12
    )
    got = 97 * inch_pound / lever * (lever + offset * math.cos(math.radians(degrees)))
    assert si(found, f"{id_}.nominal") == pytest.approx(got)
    assert si(found, f"{id_}.share") == pytest.approx(97 / 150)


def test_setting_the_formula_gives_the_aim():
    gland = {"joint": "packing-gland"}
    settings = ("tools.packing-gland.adapter=EX-100", "tools.packing-gland.adapter_angle=20 deg")
    formula = si(answer("wrench", "TW-2601", gland, settings), "wrench.packing-gland.formula")
    again = (*settings, f"tools.packing-gland.setting={formula:.12g} N*m")
    found = answer("wrench", "TW-2601", gland, again)
    aim = si(found, "joints.packing-gland.aim")
    assert si(found, "wrench.packing-gland.nominal") == pytest.approx(aim)
    assert values(found)["wrench.packing-gland.kept"].startswith("kept")


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("20 in-lb", "off the scale"),
        ("30 in-lb", "within 20.0 % to 100 %"),
        ("150 in-lb", "within"),
        ("151 in-lb", "off the scale"),
    ],
)
def test_place_on_the_scale(setting, words):
    found = answer(
        "wrench", "TW-2601", {"joint": "packing-gland"},
        (f"tools.packing-gland.setting={setting}",),
    )  # fmt: skip
    assert values(found)["wrench.packing-gland.scale"].startswith(words)
    assert values(found)["wrench.packing-gland.kept"].startswith("not kept")


def test_low_on_the_scale_is_said():
    settings = ("tools.fluid-cover.wrench=C-400", "tools.fluid-cover.setting=80 N*m",
                "margins.least_of_scale=30 %")  # fmt: skip
    found = answer("wrench", "TW-2601", COVER, settings)
    assert values(found)["wrench.fluid-cover.scale"] == "below 30.0 % to 100 %"


def test_mixed_up_preloads_stand_as_the_units_do():
    """From the definitions of foot, inch, pound-force and standard gravity."""
    found = answer("mixup", "TW-2601", COVER)
    newton = si(found, "mixup.fluid-cover.N·m.typical")
    assert newton == pytest.approx(33.5 / (0.16 * 0.010))  # T = K F d
    for unit, factor in (
        ("ft·lbf", 0.3048 * 4.4482216152605),
        ("in·lbf", 0.0254 * 4.4482216152605),
        ("kgf·m", 9.80665),
    ):
        for word in ("least", "typical", "most"):
            mixed = si(found, f"mixup.fluid-cover.{unit}.{word}")
            assert mixed / si(found, f"mixup.fluid-cover.N·m.{word}") == pytest.approx(factor)


def test_outcomes_of_the_demo_cover():
    words = values(answer("mixup", "TW-2603", {"joint": "cover-left"}))
    outcomes = {unit: words[f"mixup.cover-left.{unit}.outcome"] for unit in
                ("N·m", "ft·lbf", "in·lbf", "kgf·m")}  # fmt: skip
    assert outcomes["in·lbf"] == "holds; a window that is plausible"
    for unit in ("N·m", "ft·lbf", "kgf·m"):  # 42 N·m on an M6 shears it
        assert outcomes[unit] == "yields, strips; a window that is not plausible"


forces = st.floats(0.0, 1e6)


@given(forces, forces, forces, forces)
def test_outcome_is_holds_only_between_the_limits(one, other, opens, yields):
    least, most = sorted((one, other))
    said = Limits(opens, yields, None).outcome(least, most)
    assert (said == "holds") == (least >= opens and most <= yields and most > 0.0)
    assert ("yield" in said) == (most > yields)
    assert ("open" in said) == (least < opens)


@given(st.permutations(range(1, 13)), st.sampled_from([" ", ", ", "-", "; "]))
def test_any_order_that_names_each_once_is_read(order, between):
    assert read_order(between.join(map(str, order)), 12) == tuple(order)


@pytest.mark.parametrize("typed", ["", "1 2 3", "1 2 3 3", "0 1 2 3", "1 2 3 five", "1 2 3 4 5"])
def test_an_order_that_is_none_is_refused(typed):
    with pytest.raises(ValueError, match="order"):
        read_order(typed, 4)


def test_typed_order_is_followed_as_the_named_one():
    named = answer("order", "TW-2601", COVER, order="round", against="cross")
    typed = answer("order", "TW-2601", COVER, order="typed", typed="1 2 3 4 5 6 7 8")
    np.testing.assert_array_equal(typed.data.first.forces, named.data.first.forces)
    assert values(named)["order.fluid-cover.second.order"] == "1 5 3 7 2 6 4 8"


def test_bolts_metal_to_metal_keep_what_they_get():
    found = answer("order", "TW-2602", {"joint": "head-studs"}, passes="four passes")
    forces = found.data.first.forces
    assert np.all(np.diff(forces, axis=0) >= 0.0)
    assert np.all(forces[-1] == found.data.first.target)
    # after k of four passes each holds k quarters
    np.testing.assert_allclose(forces[7::8] / found.data.first.target, np.array(
        [[0.25], [0.5], [0.75], [1.0], [1.0]]) * np.ones(8))  # fmt: skip
    assert "order.head-studs.first.skew" not in values(found)


def test_torque_alone_scales_every_bolt():
    """Springs that only push answer in proportion; marks that keep the passes' shares."""
    low, high = (
        answer(
            "order", "TW-2601", COVER, (f"tools.fluid-cover.setting={x} N*m",), passes="one pass"
        )
        for x in (30, 36)
    )
    np.testing.assert_allclose(high.data.first.forces, 1.2 * low.data.first.forces)


def test_step_zero_is_the_end_and_a_step_too_far_as_well():
    ends = [answer("order", "TW-2601", COVER, step=step) for step in (0, 32, 900)]
    assert len({tuple(map(str, values(one).values())) for one in ends}) == 1
    assert answer("order", "TW-2601", COVER, step=3).data.step == 3


# every demo card


@pytest.mark.parametrize("name", MINE)
@pytest.mark.parametrize("card", CARDS)
def test_every_card_and_pick_has_its_answer(card, name):
    play = Play(board(name), path_of(card))
    for joint in play.offered["joint"]:
        play.pick({"joint": joint})
        assert play.problem == ""
        assert play.after is not None
        assert play.after.numbers
        assert len({number.id for number in play.after.numbers}) == len(play.after.numbers)
        ranks = [LEVELS.index(finding.level) for finding in play.after.findings]
        assert ranks == sorted(ranks)
        for entry in play.entries.values():
            assert entry.knob.choices or entry.knob.low < entry.knob.high
            assert entry.knob.choices or entry.knob.low <= entry.place <= entry.knob.high


@pytest.mark.parametrize("name", MINE)
@pytest.mark.parametrize("card", ONE_EACH)
def test_every_knob_is_a_field_that_turns(card, name):
    """Each slider at either end, each choice first and last: an answer, or one clear message."""
    play = Play(board(name), path_of(card))
    play.pick({"joint": play.offered["joint"][-1]})
    for key, entry in play.entries.items():
        knob_ = entry.knob
        if knob_.choices:
            done = [play.typed(key, knob_.choices[0]), play.typed(key, knob_.choices[-1])]
        else:
            done = [play.slid(key, knob_.low), play.slid(key, knob_.high)]
        for taken in done:
            assert taken or "\n" not in play.refused[key]
        assert play.after is not None
        play.reset()


@pytest.mark.parametrize("name", MINE)
def test_figures_are_drawn_for_every_model(name):
    for card in ONE_EACH:
        joint = board(name).picks(case_of(card))["joint"][0]
        found = answer(name, card, {"joint": joint})
        assert isinstance(board(name).draw(found, found, {}), Figure)


# clear messages


@pytest.mark.parametrize(
    ("name", "picked", "settings", "words"),
    [
        ("joint", {"joint": "nowhere"}, (), "'nowhere' is no joint to try here; there are"),
        ("order", {"joint": "piston-nut"}, (), "'piston-nut' is no joint to try here"),
        (
            "order", COVER, ("joints.fluid-cover.gasket.modulus=null",),
            "fluid-cover: not followed, the model sheet does not give the gasket's modulus",
        ),
        (
            "wrench", {"joint": "packing-gland"}, ("wrenches.C-150in.lever=null",),
            "packing-gland: no tool of the shop can be judged for it",
        ),
        ("joint", COVER, ("tools.fluid-cover.wrench=E-200", "wrenches.E-200.step=90 N*m",
                          "tools.fluid-cover.setting=40 N*m"), "scatters by as much"),
    ],
)  # fmt: skip
def test_what_cannot_be_worked_out_says_why(name, picked, settings, words):
    with pytest.raises((ValueError, SheetError)) as caught:
        answer(name, "TW-2601", picked, settings)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("seen", [{"order": "zigzag"}, {"passes": "nine"}, {"order": "typed"}])
def test_an_unknown_view_is_refused(seen):
    with pytest.raises(ValueError, match=r"zigzag|nine|no order"):
        answer("order", "TW-2601", COVER, **seen)


def test_a_card_without_tools_asks_for_the_wrench_first(tmp_path):
    shutil.copytree(ROOT, tmp_path / "parameters")
    card = tmp_path / "parameters" / "jobs" / "TW-2601.yaml"
    text = re.sub(r"\n(tools|torque_readings):\n(  .*\n)+", "\n", card.read_text(encoding="utf-8"))
    card.write_text(text, encoding="utf-8")
    for name in MINE:
        assert Play(board(name), card).problem == ""
    assert "setting" not in Play(board("joint"), card).entries  # the window sets the tool
    play = Play(board("wrench"), card)
    play.pick({"joint": "packing-gland"})
    assert not play.typed("setting", "97 in-lb")
    assert "choose the wrench first" in play.entries["setting"].knob.help
    for name, value in (("wrench", "C-150in"), ("adapter", "CF-13"), ("setting", "97 in-lb")):
        assert play.typed(name, value), play.refused
    assert values(play.after) == values(
        answer("wrench", "TW-2601", {"joint": "packing-gland"})
    )  # where the card notes the same tool


def test_registry_names_every_board_and_refuses_others():
    assert tuple(BOARDS) == ("joint", "order", "wrench", "check", "relief", "wear", "mixup")
    for name in MINE:
        assert board(name).name == name
    with pytest.raises(ValueError, match="no board 'flow'; there are joint, order"):
        board("flow")


@given(st.floats(1e-6, 1e9))
def test_slider_ends_go_outwards_and_stay_near(value):
    low, high = knob.outwards(value, math.floor), knob.outwards(value, math.ceil)
    assert low <= value * (1 + 1e-8) and value * (1 - 1e-8) <= high
    assert high - low <= 0.1001 * value


def test_slider_counts_in_the_unit_of_the_tool_and_tells_the_other():
    knobs = {
        one.name: one for one in board("joint").knobs(case_of("TW-2601"), {"joint": "tie-rods"})
    }
    assert (knobs["setting"].unit, knobs["setting"].other) == ("N*m", "ft*lbf")
    gland = board("joint").knobs(case_of("TW-2601"), {"joint": "packing-gland"})
    assert (gland[0].unit, gland[0].other, gland[0].text) == ("in*lbf", "N*m", "97 in-lb")
    assert from_unit(gland[0].high, "in*lbf") == pytest.approx(150 * 0.112984829)
