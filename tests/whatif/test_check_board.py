"""The board of the check valve: its numbers are the worksheet's, and move as physics wants."""

import functools
import math
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.figures.style import svg
from rebuildbook.sheets import load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.whatif.boards.check import BOARD, FOLLOWED, STILL, WITH_LIMITS
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.model import LEVELS, Series, Value
from rebuildbook.worksheet.valve_cycles import motion_of

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
CARDS = sorted(path.stem for path in JOBS.glob("*.yaml"))
ONE_OF_EACH = ("TW-2601", "TW-2602", "TW-2603", "TW-2611", "TW-2614")  # a card for each model
STORE = SheetStore()


def case(card, *changes):
    return load_case(JOBS / f"{card}.yaml", changes, STORE)


def answer(card, check, *changes, motion=STILL):
    return BOARD.answer(case(card, *changes), {"check": check}, {"motion": motion})


@functools.cache
def worksheet(card, *changes):
    return open_worksheet(JOBS / f"{card}.yaml", changes)


def values(found):
    return {number.id: number.value for number in found.numbers}


CHANGED = [
    ("TW-2601", "lower-inlet", "check_valves.lower-inlet.ball.material=alumina"),
    ("TW-2602", "outlet-3", "fluid.viscosity=8 cP"),
    ("TW-2611", "outlet", "check_valves.outlet.spring.seated_force=2 N"),
]


@pytest.mark.parametrize(("card", "check", "change"), CHANGED)
def test_numbers_and_findings_are_the_worksheets(card, check, change):
    made = answer(card, check, change, motion=WITH_LIMITS)
    sheet = worksheet(card, change)
    lines = {}
    for name in ("checks", "motion"):
        for block in sheet.sections[name].blocks:
            for of, line in block.rows if isinstance(block, Series) else ():
                if check in of.split(", "):
                    head, _, what = line.id.split(".")
                    lines[f"{head}.{check}.{what}"] = line.value
        lines |= {line.id: line.value for line in sheet.sections[name].lines()}
    shown = values(made)
    told = {id_ for id_ in shown if id_ in lines}
    assert len(told) >= 18
    assert {id_: shown[id_] for id_ in told} == {id_: lines[id_] for id_ in told}
    findings = {f for name in ("checks", "motion") for f in sheet.sections[name].findings()}
    assert {"motion.closes", "motion.impact"} < {finding.id for finding in made.findings}
    assert set(made.findings) <= findings
    own = {f for f in findings if f.id.startswith("checks.") and check in f.title.split(":")[0]}
    assert own <= set(made.findings)


def test_findings_stand_worst_first():
    made = answer("TW-2608", "left-inlet")
    places = [LEVELS.index(finding.level) for finding in made.findings]
    assert made.findings[0].level == "hold"  # this card has the check swapped
    assert places == sorted(places)


def test_left_out_no_ball_is_followed():
    before = motion_of.cache_info()
    made = answer("TW-2604", "upper-outlet", "fluid.density=1234.5 kg/m^3")
    after = motion_of.cache_info()
    assert (after.hits, after.misses) == (before.hits, before.misses)
    assert not any(number.id.startswith("motion.") for number in made.numbers)
    moving = answer("TW-2604", "upper-outlet", "fluid.density=1234.5 kg/m^3", motion=FOLLOWED)
    assert values(made).items() <= values(moving).items()


def test_a_setting_that_moves_no_ball_follows_none_anew():
    answer("TW-2602", "inlet-1", motion=FOLLOWED)
    before = motion_of.cache_info().misses
    made = answer("TW-2602", "inlet-1", "duty.working_pressure=1000 psi", motion=FOLLOWED)
    assert motion_of.cache_info().misses == before
    first = values(answer("TW-2602", "inlet-1"))
    assert values(made)["checks.inlet-1.peak"].si > first["checks.inlet-1.peak"].si


def test_a_late_ball_speaks_though_the_highest_rate_is_not_sought():
    late = "check_valves.left-outlet.ball.material=PTFE", "duty.rate=110 /min"
    quick = answer("TW-2603", "left-outlet", *late, motion=FOLLOWED)
    whole = answer("TW-2603", "left-outlet", *late, motion=WITH_LIMITS)
    closes = {f.id: f.level for f in whole.findings}["motion.closes"]
    assert closes != "clear"
    assert {f.id: f.level for f in quick.findings}["motion.closes"] == closes
    calm = answer("TW-2601", "upper-inlet", motion=FOLLOWED)
    assert "motion.closes" not in {f.id for f in calm.findings}


@pytest.mark.parametrize("card", CARDS)
def test_every_card_and_check_has_an_answer(card):
    plain = case(card)
    for check in BOARD.picks(plain)["check"]:
        made = answer(card, check, motion=FOLLOWED)
        shown = values(made)
        assert isinstance(shown[f"checks.{check}.cracking"], Value)
        assert isinstance(shown[f"motion.{check}.lift"], Value)
        assert len(shown) == len(made.numbers)  # no id twice


@pytest.mark.parametrize("card", ONE_OF_EACH)
def test_every_end_of_every_slider_has_an_answer_or_one_clear_message(card, at_the_ends):
    plain = case(card)
    check = BOARD.picks(plain)["check"][-1]
    knobs = BOARD.knobs(plain, {"check": check})
    assert sum(at_the_ends(knob, lambda one: answer(card, check, one)) for knob in knobs) >= 25


@pytest.mark.parametrize("card", ONE_OF_EACH)
def test_a_knob_holds_what_the_sheet_gives_and_stays_within_its_slider(card):
    plain = case(card)
    for check in BOARD.picks(plain)["check"]:
        knobs = BOARD.knobs(plain, {"check": check})
        assert len({knob.name for knob in knobs}) == len(knobs)
        for knob in knobs:
            if knob.choices:
                assert knob.text in knob.choices
                continue
            assert knob.low < knob.high
            if knob.text:
                # what the sheet gives, set again, changes nothing
                again = case(card, f"{knob.setting}={knob.text}")
                assert (again.model, again.job) == (plain.model, plain.job)


def si(found, what):
    return next(n.value.si for n in found.numbers if n.id.endswith(f".{what}"))


@settings(max_examples=12, deadline=None)
@given(force=st.floats(0.0, 20.0), more=st.floats(0.1, 5.0))
def test_cracking_rises_by_the_springs_force_over_the_circle(force, more):
    weak, strong = (
        answer("TW-2611", "outlet", f"check_valves.outlet.spring.seated_force={one} N")
        for one in (force, force + more)
    )
    area = math.pi / 4.0 * si(weak, "circle") ** 2
    rise = si(strong, "cracking") - si(weak, "cracking")
    assert rise == pytest.approx(more / area, rel=1e-9)


def test_a_ball_as_heavy_as_the_fluid_has_no_cracking_pressure():
    density = 2200.0  # of PTFE in the table; its weight in such a fluid is nothing
    found = answer(
        "TW-2601", "upper-inlet", "check_valves.upper-inlet.ball.material=PTFE",
        f"fluid.density={density} kg/m^3",
    )  # fmt: skip
    steel = answer("TW-2601", "upper-inlet", f"fluid.density={density} kg/m^3")
    assert abs(si(found, "cracking")) < 0.02 * si(steel, "cracking")


def test_a_faster_pump_lifts_the_ball_higher_and_draws_more_back():
    found = [
        answer("TW-2602", "outlet-1", f"duty.rate={rate} rpm", motion=FOLLOWED)
        for rate in (250, 500)
    ]
    assert si(found[1], "lift") > si(found[0], "lift")
    assert si(found[1], "back") > si(found[0], "back")


def test_a_check_that_is_not_there_and_one_that_cannot_be_built_are_told():
    with pytest.raises(ValueError, match="no check valve 'middle'"):
        answer("TW-2601", "middle")
    with pytest.raises(ValueError, match="bore"):
        answer("TW-2601", "upper-inlet", "check_valves.upper-inlet.ball.diameter=20 mm")


def test_a_drive_that_stands_still_is_told_and_still_drawn():
    made = answer("TW-2601", "upper-inlet", "duty.supply_pressure=1 bar", motion=FOLLOWED)
    assert "stands still" in values(made)["motion.upper-inlet.lift"]
    before = answer("TW-2601", "upper-inlet", motion=FOLLOWED)
    words = svg(BOARD.draw(made, before, {}))
    assert "after: not followed" in words
    assert "before: home" in words


def test_a_ball_that_does_not_come_home_is_held_and_still_drawn():
    made = answer("TW-2601", "upper-inlet", "check_valves.upper-inlet.opens=down", motion=FOLLOWED)
    assert made.findings[0].id == "checks.upper-inlet.closes"
    assert made.findings[0].level == "hold"
    assert values(made)["motion.upper-inlet.lag"] == "not followed"
    before = answer("TW-2601", "upper-inlet", motion=FOLLOWED)
    assert "after: not followed" in svg(BOARD.draw(made, before, {}))
