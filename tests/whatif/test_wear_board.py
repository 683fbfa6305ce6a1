"""The board of wear: the worksheet's numbers, and a flow that falls as a gap grows."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.calculators.leak_paths import Gap, leak
from rebuildbook.sheets import load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.whatif.boards.wear import BOARD, SEAT
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.model import LEVELS, Value

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
CARDS = sorted(path.stem for path in JOBS.glob("*.yaml"))
ONE_OF_EACH = ("TW-2604", "TW-2602", "TW-2605", "TW-2611", "TW-2614")  # a card for each model
STORE = SheetStore()


def case(card, *changes):
    return load_case(JOBS / f"{card}.yaml", changes, STORE)


def answer(card, place, *changes):
    return BOARD.answer(case(card, *changes), {"place": place}, {})


def values(found):
    return {number.id: number.value for number in found.numbers}


CHANGED = [
    ("TW-2601", "cylinder-bore", 8, "measured.cylinder-bore=80.3 mm", "fluid.viscosity=200 mPa*s"),
    ("TW-2604", f"upper-inlet{SEAT}", 6, "seat_defects.upper-inlet.scratch_depth=0.5 mm"),
    ("TW-2611", "cylinder-bore", 7, "measured.cylinder-bore=2.507 in"),
]


@pytest.mark.parametrize("given", CHANGED, ids=lambda given: given[0])
def test_numbers_and_findings_are_the_worksheets(given):
    card, place, least, *changes = given
    made = answer(card, place, *changes)
    sheet = open_worksheet(JOBS / f"{card}.yaml", changes)
    parts = sheet.sections["leaks"], sheet.sections["inspection"]
    lines = {line.id: line.value for section in parts for line in section.lines()}
    shown = values(made)
    told = {id_ for id_ in shown if id_ in lines}
    assert len(told) >= least
    assert {id_: shown[id_] for id_ in told} == {id_: lines[id_] for id_ in told}
    findings = {finding for section in parts for finding in section.findings()}
    assert set(made.findings) <= findings
    of = place.removesuffix(SEAT)
    wanted = {f for f in findings if f".{of}" in f.id or f.id in ("leaks.flow", "leaks.efficiency")}
    assert set(made.findings) == wanted
    places = [LEVELS.index(finding.level) for finding in made.findings]
    assert places == sorted(places)


@pytest.mark.parametrize("card", CARDS)
def test_every_card_and_place_has_an_answer(card):
    plain = case(card)
    places = BOARD.picks(plain)["place"]
    assert len(set(places)) == len(places)
    for place in places:
        made = answer(card, place)
        assert len(values(made)) == len(made.numbers)
        assert all(number.value != "" for number in made.numbers)


@pytest.mark.parametrize("card", ONE_OF_EACH)
def test_every_end_of_every_slider_has_an_answer_or_one_clear_message(card, at_the_ends):
    plain = case(card)
    places = BOARD.picks(plain)["place"]
    seats = [place for place in places if place.endswith(SEAT)]
    worked = 0
    for place, most in ((places[0], None), (seats[0], 4)):  # of the seat, its own sizes
        for knob in BOARD.knobs(plain, {"place": place})[:most]:
            assert knob.low < knob.high
            worked += at_the_ends(knob, lambda one, place=place: answer(card, place, one))
    assert worked >= 12


@pytest.mark.parametrize("card", ONE_OF_EACH)
def test_a_knob_holds_what_the_sheet_gives_and_the_slider_holds_it(card):
    plain = case(card)
    for place in BOARD.picks(plain)["place"]:
        for knob in BOARD.knobs(plain, {"place": place}):
            if knob.text:
                again = case(card, f"{knob.setting}={knob.text}")
                assert (again.model, again.job) == (plain.model, plain.job)


@settings(max_examples=12, deadline=None)
@given(size=st.floats(80.11, 80.45), more=st.floats(0.005, 0.05))
def test_a_wider_bore_leaks_more_and_delivers_less(size, more):
    small, large = (
        values(answer("TW-2601", "cylinder-bore", f"measured.cylinder-bore={one} mm"))
        for one in (size, size + more)
    )
    assert large["leaks.cylinder-bore.gap.flow"].si > small["leaks.cylinder-bore.gap.flow"].si
    assert large["leaks.flow"].si < small["leaks.flow"].si
    # all that one more leaks is missing in the flow: both cups see the pressure all the time
    leaked = large["leaks.cylinder-bore.gap.flow"].si - small["leaks.cylinder-bore.gap.flow"].si
    missing = small["leaks.flow"].si - large["leaks.flow"].si
    assert missing == pytest.approx(leaked, rel=1e-6)


def test_thicker_slip_leaks_less():
    worn = "measured.cylinder-bore=80.4 mm"
    flows = [
        values(answer("TW-2601", "cylinder-bore", worn, f"fluid.viscosity={one} mPa*s"))[
            "leaks.cylinder-bore.gap.flow"
        ].si
        for one in (100, 400, 1600)
    ]
    assert flows[0] > flows[1] > flows[2]


@pytest.mark.parametrize(
    ("card", "place", "change"),
    [
        ("TW-2601", "cylinder-bore", "measured.cylinder-bore=80.3 mm"),
        ("TW-2602", "plunger-2", "measured.plunger-2=0.748 in"),
        ("TW-2611", "cylinder-bore", "measured.cylinder-bore=2.506 in"),
        ("TW-2605", f"left-inlet{SEAT}", "duty.rate=55 /min"),
        ("TW-2603", f"left-inlet{SEAT}", "seat_defects.left-inlet.ovality=0.2 mm"),
    ],
)
def test_the_curve_falls_and_goes_through_the_case_in_hand(card, place, change):
    curve = answer(card, place, change).data.shown.curve
    assert (np.diff(curve.sizes) > 0.0).all()
    assert (np.diff(curve.flows) <= 1e-15).all()
    assert curve.flows[0] > curve.flows[-1]
    assert np.interp(curve.at, curve.sizes, curve.flows) == pytest.approx(curve.flow, rel=1e-9)


def test_another_size_on_the_curve_is_what_the_pump_gives_at_that_size():
    curve = answer("TW-2601", "cylinder-bore").data.shown.curve
    gap = float(curve.sizes[-3])
    bore = 80.0 + 2e3 * (gap + 0.05e-3)  # mm; its seal takes up 0.05 mm
    there = values(answer("TW-2601", "cylinder-bore", f"measured.cylinder-bore={bore!r} mm"))
    # the leak's mean diameter grows with the bore by less than a thousandth
    assert curve.flows[-3] == pytest.approx(there["leaks.flow"].si, rel=1e-4)
    plain = leak(Gap(0.08, gap, 0.008), 16e5, 0.42, 1680.0).flow
    assert curve.flows[0] - curve.flows[-3] == pytest.approx(plain, rel=2e-3)


def test_what_cannot_be_is_told_beside_the_gap():
    made = answer("TW-2614", "cylinder-bore")
    assert isinstance(values(made)["inspection.cylinder-bore.used"], Value)
    with pytest.raises(ValueError, match="no place 'cover'"):
        answer("TW-2601", "cover")


def test_a_scratch_has_its_knobs_only_where_the_card_has_one():
    """It takes width and depth together, and a board sets one thing after the other."""
    names = {
        card: {knob.name for knob in BOARD.knobs(case(card), {"place": f"upper-inlet{SEAT}"})}
        for card in ("TW-2601", "TW-2604")
    }
    assert {"width", "depth"} < names["TW-2604"]
    assert not {"width", "depth"} & names["TW-2601"]
    assert "ovality" in names["TW-2601"]


def test_hours_left_fall_as_the_bore_is_found_wider():
    hours = [
        values(answer("TW-2601", "cylinder-bore", f"measured.cylinder-bore={one} mm"))[
            "leaks.cylinder-bore.left"
        ].si
        for one in (80.07, 80.10, 80.15)
    ]
    assert hours[0] > hours[1] > hours[2]


def test_a_gap_that_was_not_measured_can_be_tried():
    plain = case("TW-2610")
    assert "piston-rod" not in plain.job.measured
    knob = next(k for k in BOARD.knobs(plain, {"place": "piston-rod"}) if k.name == "size")
    assert knob.text == ""
    before = answer("TW-2610", "piston-rod")
    assert values(before)["leaks.piston-rod.gap.size"] == "not measured"
    after = answer("TW-2610", "piston-rod", f"{knob.setting}={knob.low} {knob.unit}")
    assert values(after)["leaks.piston-rod.gap.flow"].si > 0.0
    BOARD.draw(after, before, {})
