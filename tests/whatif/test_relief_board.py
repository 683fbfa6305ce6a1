"""The board of relief and stall: the worksheet's numbers and findings, and no word of setting."""

import dataclasses
import math
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.sheets import load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.whatif.boards.relief import BOARD, NO_LIMIT
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.model import LEVELS, Value

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
CARDS = sorted(path.stem for path in JOBS.glob("*.yaml"))
ONE_OF_EACH = ("TW-2601", "TW-2602", "TW-2603", "TW-2611", "TW-2614")  # a card for each model
STORE = SheetStore()


def case(card, *changes):
    return load_case(JOBS / f"{card}.yaml", changes, STORE)


def answer(card, *changes):
    return BOARD.answer(case(card, *changes), {}, {})


def values(found):
    return {number.id: number.value for number in found.numbers}


def si(found, id_):
    return values(found)[id_].si


CHANGED = [
    ("TW-2601", "relief_setting.set_pressure=29 bar", "duty.supply_pressure=85 psi"),
    ("TW-2607", "duty.working_pressure=1000 psi"),
    ("TW-2611", "fluid_end.bore=50 mm", "duty.back_pressure=2 bar"),
]


@pytest.mark.parametrize("given", CHANGED, ids=lambda given: given[0])
def test_numbers_and_findings_are_the_worksheets(given):
    card, *changes = given
    made = answer(card, *changes)
    sheet = open_worksheet(JOBS / f"{card}.yaml", changes)
    lines = {line.id: line.value for section in sheet.sections.values() for line in section.lines()}
    shown = values(made)
    told = {id_ for id_ in shown if id_ in lines}
    assert len(told) >= 10
    for id_ in told:
        if shown[id_] == NO_LIMIT:  # the worksheet says it in a sentence
            assert isinstance(lines[id_], str)
        else:
            assert shown[id_] == lines[id_]
    parts = sheet.sections["relief"], sheet.sections["relief-more"]
    findings = [finding for section in parts for finding in section.findings()]
    assert sorted(f.id for f in made.findings) == sorted(f.id for f in findings)
    assert set(made.findings) == set(findings)
    places = [LEVELS.index(finding.level) for finding in made.findings]
    assert places == sorted(places)


@pytest.mark.parametrize("card", CARDS)
def test_every_card_has_an_answer(card):
    made = answer(card)
    shown = values(made)
    assert len(shown) == len(made.numbers)
    assert isinstance(shown["relief.opens-high"], Value)
    assert isinstance(shown["limit.weakest"], Value)
    limits = case(card).model.pressure_parts.values()
    assert shown["limit.weakest"].si == min(p.max_working_pressure.nominal for p in limits)


@pytest.mark.parametrize("card", ONE_OF_EACH)
def test_every_end_of_every_slider_has_an_answer_or_one_clear_message(card, at_the_ends):
    knobs = BOARD.knobs(case(card), {})
    assert all(knob.low < knob.high for knob in knobs)
    assert sum(at_the_ends(knob, lambda one: answer(card, one)) for knob in knobs) >= 10


@pytest.mark.parametrize("card", ONE_OF_EACH)
def test_what_a_knob_holds_set_again_changes_nothing(card):
    plain = case(card)
    for knob in BOARD.knobs(plain, {}):
        if knob.text:
            again = case(card, f"{knob.setting}={knob.text}")
            assert (again.model, again.job) == (plain.model, plain.job)


@settings(max_examples=12, deadline=None)
@given(supply=st.floats(1.0, 9.0), share=st.floats(0.3, 1.0))
def test_the_stall_goes_with_the_supply_and_the_ratio_of_areas(supply, share):
    """p = pa (1 − f) Aa/Af of the stroke with the smaller fluid area: here the ring."""
    bore = 80.0 * share + 31.0 * (1.0 - share)
    found = answer("TW-2601", f"duty.supply_pressure={supply} bar", f"fluid_end.bore={bore} mm")
    fluid = math.pi / 4.0 * (bore**2 - 30.0**2)  # mm², rod 30 mm
    drive = math.pi / 4.0 * 160.0**2
    assert si(found, "unit.stall") == pytest.approx(supply * 1e5 * 0.92 * drive / fluid, rel=1e-9)


@settings(max_examples=12, deadline=None)
@given(read=st.floats(5.0, 60.0), more=st.floats(0.1, 20.0))
def test_a_higher_reading_opens_higher_and_never_bears_less(read, more):
    low, high = (
        answer("TW-2601", f"relief_setting.set_pressure={one} bar") for one in (read, read + more)
    )
    for id_ in ("relief.opens-low", "relief.opens-high", "relief.relieving"):
        assert si(high, id_) > si(low, id_)
    limit = si(low, "limit.weakest")

    def held(found):
        return any(f.level == "hold" and f.id == "relief.set-vs-limit" for f in found.findings)

    assert held(high) or si(high, "relief.opens-high") <= limit * (1.0 + 1e-9) or not held(low)
    assert held(low) <= held(high)


def test_a_weaker_part_turns_a_sound_setting_into_a_hold():
    sound = answer("TW-2601")
    weak = answer("TW-2601", "pressure_parts.fluid-cover.max_working_pressure=24 bar")
    assert not any(f.level == "hold" for f in sound.findings)
    assert weak.findings[0].level == "hold"
    assert si(weak, "limit.weakest") == 24e5


def test_a_pump_without_relief_valve_is_told_and_drawn():
    plain = case("TW-2602")
    bare = dataclasses.replace(
        plain,
        model=plain.model.model_copy(update={"relief": None}),
        job=plain.job.model_copy(update={"relief_setting": None}),
    )
    made = BOARD.answer(bare, {}, {})
    assert values(made)["relief.fitted"] == "none on the model sheet"
    assert not {"set-read", "set-planned"} & {knob.name for knob in BOARD.knobs(bare, {})}
    BOARD.draw(made, made, {})


def test_the_board_checks_and_never_tells_how_to_set():
    assert "qualified people" in BOARD.about
    words = " ".join(
        [BOARD.about, BOARD.title]
        + [f"{knob.label} {knob.help}" for knob in BOARD.knobs(case("TW-2607"), {})]
        + [f"{f.title} {f.action}" for f in answer("TW-2607").findings]
    )
    for telling in (r"\bturn\b", r"\bscrew\b", r"\badjust", r"\btighten", r"\braise the set"):
        assert not re.search(telling, words, re.IGNORECASE)
