"""What stands against a reading: tool, adapter, gauge, limits, and what the record has."""

import datetime
from dataclasses import replace

import pytest

from rebuildbook.calculators.wrench import Adapter
from rebuildbook.record.amounts import read_amount, read_day
from rebuildbook.record.bench import Bench
from rebuildbook.record.judge import judge
from rebuildbook.record.raw import Place, Raw
from rebuildbook.sheets.fields import Quantity

TODAY = datetime.date(2026, 9, 25)
TORQUE = Quantity("torque", ("single",))


def raw(kind, subject, value, **more):
    more = {"on": "2026-09-21", "by": "bench 1", **more}
    return Raw(kind, subject, value, Place("a.csv", row=2), **more)


def remarks(one, bench) -> list[str]:
    made = judge([one], bench, TODAY)
    assert not made.problems, [str(problem) for problem in made.problems]
    return [str(remark) for remark in made.taken[0].remarks]


def stud(value, **more):
    return raw("torque", "head-studs", value, **{"number": "1", "tool": "C-80ft", **more})


def with_adapter(bench: Bench, offset=0.1, angle=0.0) -> Bench:
    joint = replace(bench.joints["head-studs"], adapter=Adapter("EX-100", offset, angle))
    return replace(bench, joints={**bench.joints, "head-studs": joint})


def test_a_reading_through_an_adapter_is_held_against_the_window_at_the_fastener(bench):
    # lever 15.5 in, offset 100 mm: T = S (L + E)/L = 30 · (393.7 + 100)/393.7 = 37.62 ft·lbf
    told = remarks(stud("30 ft-lb"), with_adapter(bench))
    assert told == ["query: through EX-100, taken as read off the scale: 37.62 ft·lbf there"]
    told = remarks(stud("37 ft-lb"), with_adapter(bench))  # 46.4 ft·lbf, and the window ends at 41
    assert any(text.startswith("hold: 5.40 ft·lbf above the window") for text in told)


def test_an_adapter_at_a_right_angle_changes_nothing(bench):
    assert remarks(stud("37 ft-lb"), with_adapter(bench, angle=1.5707963267948966)) == []


def test_an_adapter_on_a_wrench_without_a_known_lever_is_asked_about(bench):
    bench = with_adapter(bench)
    bare = replace(bench.wrenches["C-80ft"], lever=None)
    bench = replace(bench, wrenches={**bench.wrenches, "C-80ft": bare})
    assert any("whose lever is not known" in text for text in remarks(stud("37 ft-lb"), bench))


def test_the_due_day_still_counts_and_an_unknown_one_is_asked_about(bench):
    wrench = bench.wrenches["C-80ft"]
    for due, told in (
        (datetime.date(2026, 9, 21), []),
        (
            datetime.date(2026, 9, 20),
            ["hold: C-80ft: calibration expired on 2026-09-20, 1 d before"],
        ),
        (None, ["query: C-80ft: no calibration date known"]),
    ):
        known = {**bench.wrenches, "C-80ft": replace(wrench, calibration_due=due)}
        assert remarks(stud("37 ft-lb"), replace(bench, wrenches=known)) == told


def test_low_on_the_scale_is_asked_about(bench):
    wrench = bench.wrenches["C-80ft"]
    known = {**bench.wrenches, "C-80ft": replace(wrench, high=wrench.high * 3)}
    told = remarks(stud("37 ft-lb"), replace(bench, wrenches=known))
    assert told == ["query: C-80ft: 15.4 % of full scale, under 20.0 %"]


def test_a_unit_that_is_not_the_tools_is_named_even_where_no_usual_swap_explains_it(bench):
    cover = raw("torque", "crankcase-cover", "67 N*m", number="1", tool="C-150in")
    told = remarks(cover, bench)
    assert "hold: the unit looks wrong: in in·lbf, as its tool is marked, it fits" in told


@pytest.mark.parametrize(
    ("size", "told"),
    [
        # seal bore: new 1.0625 in, reuse to 1.0665 in, rework to 1.070 in
        ("1.0665 in", []),
        ("1.068 in", ["query: 0.00150 in beyond the limit, 1.0665 in: rework"]),
        ("1.071 in", ["hold: 0.00450 in beyond the limit, 1.0665 in: replace"]),
        ("1.060 in", ["query: better than new, 1.0625 in: the right part and place?"]),
        ("27.09 in", ["hold: the unit looks wrong: likely mm written as in (a factor of 25.4)"]),
    ],
)
def test_a_size_goes_by_its_limits(bench, size, told):
    assert remarks(raw("measurement", "seal-bore", size), bench) == told


@pytest.mark.parametrize(
    ("tool", "value", "told"),
    [
        ("G-2000psi", "1000 psi", []),
        ("G-2000psi", "990 psi", ["query: below the pressure asked for, 1000 psi (gauge)"]),
        ("", "1000 psi", ["query: no gauge is named"]),
        (
            "G-40bar",
            "69 bar",
            ["query: G-40bar is good for 2 to 40 bar (gauge); 69 bar (gauge) is outside"],
        ),
    ],
)
def test_a_pressure_goes_by_its_gauge_and_what_was_asked_for(bench, tool, value, told):
    assert remarks(raw("test", "pressure", value, tool=tool), bench) == told


def test_a_gauge_out_of_calibration_is_a_hold(bench):
    gauges = bench.case.shop.gauges
    old = gauges["G-2000psi"].model_copy(update={"calibration_due": datetime.date(2026, 9, 20)})
    shop = bench.case.shop.model_copy(update={"gauges": {**gauges, "G-2000psi": old}})
    bench = replace(bench, case=replace(bench.case, shop=shop))
    told = remarks(raw("test", "pressure", "1000 psi", tool="G-2000psi"), bench)
    assert told == ["hold: G-2000psi: calibration expired on 2026-09-20"]


def test_a_gauge_that_is_none_is_refused(bench):
    made = judge([raw("test", "pressure", "1000 psi", tool="C-80ft")], bench, TODAY)
    assert "is not a gauge of the shop sheet" in str(made.problems[0])


def test_a_small_lot_is_not_judged_for_odd_ones(bench):
    rows = [
        raw("torque", "plunger-screws", value, number=str(n), tool="C-80ft")
        for n, value in enumerate(("18.5 ft-lb", "18.5 ft-lb", "23 ft-lb"), 1)
    ]
    assert not any(one.remarks for one in judge(rows, bench, TODAY).taken)


@pytest.mark.parametrize(
    ("value", "unit", "comma", "si"),
    [
        ("48,5", "N·m", "", 48.5),
        ("0,125", "N·m", "", 0.125),
        ("48,5000", "N·m", "", 48.5),
        ("1,250", "N·m", "decimal", 1.25),
        ("48.5", "Nm", "never", 48.5),
        ("48.5 N·m", "N*m", "", 48.5),
        ("1e1", "N·m", "", 10.0),
        ("1 1/2", "N·m", "", 1.5),
        ("4,85e1", "N·m", "", 48.5),
    ],
)
def test_numbers_as_a_bench_writes_them(value, unit, comma, si):
    assert read_amount(value, unit, TORQUE, comma).amount.nominal == si


@pytest.mark.parametrize(
    ("value", "unit", "comma", "message"),
    [
        ("1,250", "N·m", "", "could be 1.25 or 1250"),
        ("1.250,5", "N·m", "", "a decimal comma or a thousands mark"),
        ("1,250,000", "N·m", "", "more than one mark"),
        ("48,5", "N·m", "never", "decimal point"),
        ("48 N·m", "ft·lbf", "", "has a unit of its own"),
        ("48", "", "", "has no unit"),
        ("nan", "N·m", "", "is not a number"),
        ("1e400", "N·m", "", "too large"),
        ("5", "J", "", "is an energy"),
        ("=1+1", "N·m", "", "does not begin with a number"),
    ],
)
def test_numbers_that_are_not_taken(value, unit, comma, message):
    with pytest.raises(ValueError, match=message):
        read_amount(value, unit, TORQUE, comma)


def test_a_day_is_written_one_way():
    assert read_day("2026-03-31") == datetime.date(2026, 3, 31)
    for text in ("31.03.2026", "2026-3-31", "20260331", "2026-02-29", "2026-W13-2", ""):
        with pytest.raises(ValueError, match="2026-03-31"):
            read_day(text)
