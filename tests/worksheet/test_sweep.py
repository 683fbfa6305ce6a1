"""A sweep gives, point by point, what a worksheet with the same override gives."""

import functools
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.sheets.load import KINDS, SheetStore, read_sheets
from rebuildbook.units import DIMENSIONS, parse_amount, to_unit
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.model import Value, worst
from rebuildbook.worksheet.sweep import changes, parts, prepare, run
from rebuildbook.worksheet.sweep_figure import chosen
from rebuildbook.worksheet.sweep_plan import Swept, make_plan
from rebuildbook.worksheet.sweep_ranges import ranges, standing, stretches, worded

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2611.yaml"
FREE = "tools.inlet-flange.setting="  # the wrench is set to each window, not as the card notes it
TORQUE = "joints.inlet-flange.torque=4 to 24 N*m"


def swept(*overs: str, settings=(), **how):
    return run(prepare(CARD, overs, settings=settings, **how))


@functools.cache
def sheets():
    sources, problems = read_sheets(CARD, [], SheetStore())
    assert problems == []
    return {kind: (source, KINDS[kind]) for kind, source in sources.items()}


@pytest.fixture(scope="module")
def torque():
    return swept(TORQUE, settings=[FREE], points=6)


SWEEPS = {
    "window": ([TORQUE], [FREE], {"points": 4}),
    "one value": (["duty.test_pressure=4 to 20 bar"], [], {"points": 3}),
    "words": (["joints.tie-rods.condition=oiled, greased, as received"], [], {}),
    "names with commas": (["joints.tie-rods.condition=oiled; plain steel, dry"], [], {}),
    "measured": (["measured.cylinder-bore=2.500 to 2.512 in"], [], {"points": 3}),
    "listed windows": (["joints.tie-rods.torque=21 to 24 N*m, 30 to 37 in*lbf"], [], {}),
    "whole numbers": (["joints.tie-rods.count=4, 6, 8"], [], {}),
    "a tool of the shop": (["shop.wrenches.C-60.accuracy=2 to 6 %"], [], {"points": 3}),
    "another model part": (["check_valves.outlet.spring.seated_force=2 to 9 N"], [], {"points": 3}),
    "both ways": ([TORQUE, "duty.test_pressure=4 bar, 12 bar"], [FREE], {"points": 3}),
    "together": (
        [TORQUE, "duty.test_pressure=4 to 12 bar"],
        [FREE],
        {"points": 3, "together": True},
    ),
}


@pytest.mark.parametrize("case", SWEEPS)
def test_every_point_is_the_worksheet_of_its_override(case):
    overs, settings, how = SWEEPS[case]
    sweep = swept(*overs, settings=settings, **how)
    assert len(sweep.table) == len(sweep.plan)
    for place, steps in enumerate(sweep.plan.steps()):
        lines, findings = parts(open_worksheet(CARD, [*settings, *sweep.plan.settings(steps)]).case)
        lines = {line.id: line.value for line in lines if isinstance(line.value, Value)}
        assert sweep.worst[place] == worst(findings)
        levels = {finding.id: finding.level for finding in findings}
        assert {id_: marks[place] for id_, marks in sweep.levels.items() if marks[place]} == levels
        row = sweep.table.iloc[place]
        for column in sweep.columns:
            if column.kind == "line" and column.id in lines:
                wanted = to_unit(lines[column.id].si, column.unit)
                assert row[column.name] == pytest.approx(wanted, rel=1e-13), column.name
            elif column.kind == "line":
                assert math.isnan(row[column.name])


@pytest.mark.parametrize("case", ["window", "words", "both ways"])
def test_what_has_no_column_is_the_same_at_every_point(case):
    overs, settings, how = SWEEPS[case]
    sweep = swept(*overs, settings=settings, **how)
    kept = {column.id for column in sweep.columns}
    seen: dict[str, set[float]] = {}
    for steps in sweep.plan.steps():
        lines, _ = parts(load_case(CARD, [*settings, *sweep.plan.settings(steps)]))
        for line in lines:
            if isinstance(line.value, Value) and line.id not in kept:
                seen.setdefault(line.id, set()).add(float(f"{line.value.si:.11g}"))
    assert seen
    assert {id_: values for id_, values in seen.items() if len(values) > 1} == {}
    for id_, marks in sweep.levels.items():
        assert (f"{id_} (level)" in sweep.table) == changes(marks)


def test_a_window_keeps_its_width_as_a_share_of_its_middle():
    window = parse_amount(sheets()["model"][0].data["joints"]["tie-rods"]["torque"], "torque")
    share = (window.high - window.low) / (window.high + window.low)
    (one,) = make_plan(["joints.tie-rods.torque=15 to 30 N*m"], sheets(), 7).swept
    assert one.unit == "N*m"
    assert one.values == (15.0, 17.5, 20.0, 22.5, 25.0, 27.5, 30.0)
    assert np.array(one.lows) == pytest.approx(np.array(one.values) * (1 - share))
    assert np.array(one.highs) == pytest.approx(np.array(one.values) * (1 + share))
    for setting, low, high in zip(one.settings, one.lows, one.highs, strict=True):
        read = parse_amount(setting.partition("=")[2], "torque", allow=("range",))
        assert (to_unit(read.low, "N*m"), to_unit(read.high, "N*m")) == pytest.approx((low, high))


FIELDS = {
    "duty.test_pressure": "pressure", "duty.flow": "flow", "duty.rate": "rate",
    "fluid.density": "density", "fluid.viscosity": "viscosity", "fluid.temperature": "temperature",
    "measured.balls": "length", "joints.tie-rods.nut_factor": "number",
    "joints.tie-rods.sealed_area": "area", "drive.friction": "fraction",
    "check_valves.inlet.seat.included_angle": "angle", "test.held_for": "time",
    "test.stall.creep_limit": "speed",
}  # fmt: skip


@given(st.data())
def test_ranges_end_where_they_were_written_and_are_read_back_as_meant(data):
    path = data.draw(st.sampled_from(sorted(FIELDS)))
    kind = DIMENSIONS[FIELDS[path]]
    unit = data.draw(st.sampled_from([*kind.metric, *kind.us]))
    start = data.draw(st.integers(1, 10**6))
    low, high = start / 1000, (start + data.draw(st.integers(1, 10**6))) / 1000
    count = data.draw(st.integers(2, 60))
    (one,) = make_plan([f"{path}={low} {unit} to {high} {unit}"], sheets(), count).swept
    values = np.array(one.values)
    scale, offset = to_unit(1.0, one.unit) - to_unit(0.0, one.unit), to_unit(0.0, one.unit)
    written = [parse_amount(f"{end} {unit}", kind.name).nominal for end in (low, high)]
    ends = [scale * si + offset for si in written]
    assert values[[0, -1]] == pytest.approx(ends, rel=1e-11, abs=1e-11)
    if one.unit == unit:
        assert values[[0, -1]].tolist() == [low, high]
    assert len(values) == count
    step = (values[-1] - values[0]) / (count - 1)
    assert np.diff(values) == pytest.approx(step, abs=1e-11 * abs(values).max())
    for setting, value in zip(one.settings, one.values, strict=True):
        read = parse_amount(setting.partition("=")[2], kind.name, allow=("single",))
        assert to_unit(read.nominal, one.unit) == pytest.approx(value, rel=1e-11, abs=1e-11)


def test_a_grid_has_every_combination_and_the_last_changes_fastest():
    overs = ["duty.test_pressure=5 bar, 6 bar", "joints.tie-rods.order=cross, rotation"]
    plan = make_plan(overs, sheets())
    assert [plan.settings(steps) for steps in plan.steps()] == [
        [f"duty.test_pressure={pressure} bar", f"joints.tie-rods.order={order}"]
        for pressure in (5, 6)
        for order in ("cross", "rotation")
    ]
    both = make_plan(overs, sheets(), together=True)
    assert list(both.steps()) == [(0, 0), (1, 1)]


REFUSED = {
    "joints.tie-rodz.torque=15 to 30 N*m": "did you mean tie-rods?",
    "joints.tie-rods.torqe=15 to 30 N*m": "did you mean torque?",
    "dutty.rate=1 to 2 rpm": "did you mean duty?",
    "joints.tie-rods=15 to 30 N*m": "is a mapping of fields",
    "joints.piston-nut.gasket.creep=1 to 2 %": "is not given in the sheet",
    "name=a, b": "model.name or shop.name",
    "joints.tie-rods.torque=15 to 30": "has no unit",
    "joints.tie-rods.torque=15 to 30 mm": "is not a torque",
    "joints.tie-rods.torque=30 to 15 N*m": "runs backwards",
    "joints.tie-rods.torque=15 to 15 N*m": "there is no range",
    "joints.tie-rods.torque=15 N*m": "is one value",
    "joints.tie-rods.torque=15,5 to 30 N*m": "decimal comma",
    "joints.tie-rods.torque=15 N*m, 20 to 22 N*m": "mixes single values and windows",
    "joints.tie-rods.torque=15 N*m,, 20 N*m": "is empty",
    "joints.tie-rods.count=4 to 8": "give a list",
    "joints.tie-rods.condition=oiled": "give a list",
    "duty.test_pressure=-5 to 7 bar": "is negative",
    "duty.test_pressure=5 bara to 7 bara": "gauge pressure",
    "duty.test_pressure": "wanted path=LOW to HIGH UNIT",
    "duty.test_pressure=": "wanted path=LOW to HIGH UNIT",
    "=5 bar": "wanted path=LOW to HIGH UNIT",
    "tools.tie-rods.setting.low=1 to 2 N*m": "no 'low' below tools.tie-rods.setting",
    "torque_readings.tie-rods.7=20 N*m, 21 N*m": "no '7' below torque_readings.tie-rods",
}


@pytest.mark.parametrize("over", REFUSED)
def test_what_cannot_be_swept_is_told(over):
    with pytest.raises(SheetError) as refused:
        prepare(CARD, [over])
    (problem,) = refused.value.problems
    assert problem.file == f"--over {over}"
    assert REFUSED[over] in problem.message


@pytest.mark.parametrize(
    ("overs", "how", "words"),
    [
        (["duty.rate=1 to 2 rpm"], {"points": 1}, "--points 1: wanted 2 to 10000"),
        (["duty.rate=1 to 2 rpm"], {"points": 10_001}, "--points 10001: wanted 2 to 10000"),
        (["duty.rate=1 to 2 rpm", "duty.flow=1 to 2 L/min"], {"points": 317}, "at most 100000"),
        (["duty.rate=1 to 2 rpm"] * 2, {}, "is swept twice"),
        (["duty.rate=1 to 2 rpm", "job.duty.rate=1 to 2 rpm"], {}, "is swept twice"),
        (
            ["duty.rate=1 to 2 rpm", "duty.flow=1 L/min, 2 L/min"],
            {"points": 3, "together": True},
            "duty.rate has 3, duty.flow has 2",
        ),
        (["duty.rate=1 to 2 rpm"], {"show": ["preload.tie-rod.*x"]}, "--show preload.tie-rod.*x"),
    ],
)
def test_points_that_do_not_fit_together_are_told(overs, how, words):
    with pytest.raises(SheetError) as refused:
        prepare(CARD, overs, **how)
    assert words in str(refused.value)


def test_ranges_that_step_with_a_list_take_its_length():
    overs = ["duty.rate=1 to 2 rpm", "duty.flow=1 L/min, 2 L/min, 3 L/min"]
    assert len(make_plan(overs, sheets(), together=True)) == 3


def test_a_point_that_is_not_valid_is_kept_with_its_error():
    sweep = swept("fluid_end.bore=0.5 to 2.5 in", points=5, settings=["fluid_end.rod=1 in"])
    assert sweep.failed == 2  # the rod must be smaller than the bore: 0.5 in and 1 in are not
    assert [bool(error) for error in sweep.errors] == [True, True, False, False, False]
    assert sweep.table["error"][0] == "fluid_end.rod: is not smaller than the bore"
    assert sweep.table["worst (level)"].tolist()[:2] == ["", ""]
    line = next(column for column in sweep.columns if column.kind == "line")
    assert sweep.table[line.name].isna().tolist() == [True, True, False, False, False]
    assert all(marks[:2] == ("error", "error") for marks in sweep.levels.values())


def test_a_sweep_without_one_good_point_is_refused():
    with pytest.raises(SheetError, match=r"no point could be worked out.*condition"):
        swept("joints.tie-rods.condition=soaped, honeyed")


def test_a_card_that_is_wrong_at_every_point_is_refused_before_the_work():
    with pytest.raises(SheetError, match=r"cylinder-boar.*did you mean cylinder-bore"):
        prepare(CARD, ["duty.rate=1 to 2 rpm"], settings=["measured.cylinder-boar=63 mm"])


def test_a_column_has_one_unit_where_the_shop_changes_it_with_size(torque):
    lines, _ = parts(load_case(CARD, [FREE, *torque.plan.settings((0,))]))
    small = {line.id for line in lines if isinstance(line.value, Value) and line.value.unit == "N"}
    large = [column for column in torque.columns if column.unit == "kN" and column.id in small]
    assert large  # in newtons at the least torque, in kilonewtons at the most
    for column in large:
        assert column.name == f"{column.id} [kN]"


def test_lines_asked_for_come_in_the_order_asked():
    sweep = swept(
        "joints.tie-rods.torque=15 to 60 N*m",
        points=2,
        show=["preload.tie-rods.most", "joints.tie-rods.*-high", "joints.tie-rods.tool", "*.yield"],
    )
    shown = [column.id for column in sweep.columns if column.kind == "line"]
    asked = ["preload.tie-rods.most", "joints.tie-rods.plausible-high"]
    assert shown == [*asked, "joints.tie-rods.delivered-high", "joints.tie-rods.tool"]
    assert all("wrench" in words for words in sweep.table["joints.tie-rods.tool"])
    assert "preload.tie-rods.yield (level)" in sweep.table  # asked for, though it is the same


def test_a_setting_noted_on_the_card_is_told(torque):
    noted = swept("joints.tie-rods.torque=15 to 30 N*m", points=2)
    assert [note.partition(":")[0] for note in noted.notes] == ["tie-rods"]
    assert 'add --set "tools.tie-rods.setting="' in noted.notes[0]
    assert torque.notes == ()
    assert torque.table["joints.inlet-flange.setting [in*lbf]"].is_monotonic_increasing


def test_more_torque_shuts_the_joint_and_then_strains_its_fasteners(torque):
    preload = torque.table[[c.name for c in torque.columns if c.id.endswith("inlet-flange.least")]]
    assert preload.to_numpy()[:, 0] == pytest.approx(sorted(preload.to_numpy()[:, 0]))
    shut = next(marks for id_, marks in torque.changing.items() if id_.endswith(".shut"))
    weight = [("clear", "query", "hold").index(mark) for mark in shut]
    assert weight == sorted(weight, reverse=True)
    assert (shut[0], shut[-1]) == ("hold", "clear")
    assert {f"{row.level} {row.where}" for row in stretches(torque)} > {"hold up to 16 N·m"}
    assert "preload.outlet-cage.strip" in standing(torque)


def test_the_figure_takes_what_the_findings_are_judged_by(torque):
    picked = chosen(torque)
    assert len(picked) == 6
    near = {id_.rpartition(".")[0] for id_ in torque.changing}
    assert {column.id.rpartition(".")[0] for column in picked} <= near
    assert not any(column.id.endswith((".window", ".aim")) for column in picked)


def five(*marks):
    return list(ranges(marks, Swept("x", ("",) * 5, (1.0, 1.5, 2.0, 2.5, 3.0), "bar")))


def test_ranges_are_told_in_words():
    assert five("hold", "hold", "query", "clear", "clear") == [
        ("hold", "up to 1.5 bar"),
        ("query", "at 2 bar"),
        ("clear", "from 2.5 bar"),
    ]
    assert five("clear", "hold", "hold", "hold", "") == [
        ("clear", "at 1 bar"),
        ("hold", "1.5 to 2.5 bar"),
        ("not raised", "at 3 bar"),
    ]
    assert five(*["query"] * 5) == [("query", "throughout")]


def test_a_level_that_comes_and_goes_is_counted():
    values = tuple(float(value) for value in range(8))
    told = list(ranges(["hold", "clear"] * 4, Swept("x", ("",) * 8, values, "N*m")))
    assert told == [
        ("hold", "4 of 8 points, 0 to 6 N·m, on and off"),
        ("clear", "4 of 8 points, 1 to 7 N·m, on and off"),
    ]


def test_words_and_lists_that_do_not_rise_are_named():
    words = Swept("x", ("",) * 3, ("oiled", "greased", "dry"))
    assert list(ranges(["hold", "clear", "hold"], words)) == [
        ("hold", "oiled, dry"),
        ("clear", "greased"),
    ]
    falling = Swept("x", ("",) * 2, (7.0, 6.0), "bar")
    assert list(ranges(["hold", "clear"], falling)) == [("hold", "7 bar"), ("clear", "6 bar")]


@given(st.integers(1, 10**6), st.integers(1, 10**4), st.integers(2, 40))
def test_values_in_words_are_told_apart_and_hardly_rounded(low, step, count):
    values = tuple(low / 7 + place * step / 900 for place in range(count))
    one = Swept("x", ("",) * count, values, "mm")
    told = [float(worded(one, place).removesuffix(" mm")) for place in range(count)]
    assert len(set(told)) == count
    assert told == pytest.approx(values, abs=step / 900 / 15)


@pytest.mark.parametrize(
    "settings",
    [
        ["joints.tie-rods.torque=20 to 25 N*m"],
        ["joints.tie-rods.layout.diameter=110 mm", "fluid.name=Water"],
        ["joints.tie-rods.layout={shape: oval, width: 90 mm, height: 120 mm}"],
        ["check_valves.inlet.seat={form: cone, bore: 22 mm, outer: 26 mm, included_angle: 90°, "
         "material: 440C}"],
        ["passes.1=55 %", "wrenches.C-60.range=10 to 60 N*m", "measured.balls=31.7 mm"],
        ["model=slip-piston-4b", "measured={}", "valves_fitted={}", "tools={}",
         "consumables_used={}", "torque_readings={}"],
        ["tools.tie-rods.setting="],
    ],
)  # fmt: skip
def test_a_store_gives_the_case_that_reading_anew_gives(settings):
    store = SheetStore()
    before = load_case(CARD, (), store)
    assert load_case(CARD, settings, store) == load_case(CARD, settings)
    assert load_case(CARD, (), store) == before == load_case(CARD)


@pytest.mark.parametrize(
    "settings",
    [
        ["joints.tie-rods.torque=20 N*m"],
        ["joints.tie-rods.torque=20 to 25 mm", "duty.rate=5"],
        ["check_valves.inlet.seat.form=cone"],
        ["joints.tie-rods.layout.shape=square"],
        ["tools.tie-rods.wrench=C-6O"],
        ["shop=nowhere"],
        ["joints.tie-rods.follows=[motor-flange]"],
    ],
)
def test_a_store_tells_the_same_problems(settings):
    store = SheetStore()
    load_case(CARD, (), store)
    told = []
    for kept in (store, None):
        with pytest.raises(SheetError) as refused:
            load_case(CARD, settings, kept)
        told.append(refused.value.problems)
    assert told[0] == told[1]
