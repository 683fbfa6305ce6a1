"""The readings of a job card: every name, quantity and double entry that cannot stand."""

import pytest

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.sheets.bench import offered, part_names, readings_of, sheet_parts
from rebuildbook.sheets.load import load_sheet

CARD = "jobs/card.yaml"
FLOW = "    flow: 29.6 L/min\n"


def problems(root) -> list[str]:
    with pytest.raises(SheetError) as caught:
        load_case(root / CARD)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("new", "words"),
    [
        ("    flw: 29 L/min\n", "did you mean flow?"),
        ("    creep-upstroke: 1 mm/min\n", "did you mean creep-up-stroke?"),
        ("    colour: 1 bar\n", "it has stall-pressure-up-stroke, creep-up-stroke"),
        ("    creep, up: 1 mm/min\n", "is not a usable name"),
        ("    flow: 29.6\n", "with its unit, as 6 bar or 12 L/min or 0.4 m/s"),
        ("    flow: 29 N*m\n", "wanted one pressure or flow or speed"),
        ("    flow: 29 bar\n", "flow"),
        ("    flow: -29 L/min\n", "is negative"),
        ("    flow: 29 to 30 L/min\n", "wanted one pressure or flow or speed"),
        ("    relief-return: 1 mm/min\n", "flow"),
        ("    creep-up-stroke: 1.3 mm/min\n",
         "is 1.3 mm/min, but test.stall says 1.2 mm/min; one creep has one value"),
        ("    vacuum-lost-stopped-after-the-up-stroke: 20 kPa abs\n", "absolute"),
        ("    relief-return: -1 L/min\n", "is negative"),
    ],
)  # fmt: skip
def test_what_cannot_stand_is_told_once_with_its_place(sheets, edit, new, words):
    edit(CARD, FLOW, new)
    (found,) = problems(sheets)
    assert words in found
    assert "card.yaml:" in found
    assert "test.readings" in found


@pytest.mark.parametrize(
    ("field", "words"),
    [
        ("line_compliance: 0 mL/bar", "gives nothing"),
        ("suction_compliance: 0 mL/bar", "gives nothing"),
        ("vacuum: 1.1 bar", "not below the atmosphere"),
        ("pressur: 10 bar", "did you mean pressure?"),
    ],
)
def test_a_bench_that_cannot_be_is_refused(sheets, edit, field, words):
    edit(CARD, "  readings:\n", f"  bench: {{{field}}}\n  readings:\n")
    (found,) = problems(sheets)
    assert words in found
    assert "test.bench" in found


def test_the_same_creep_may_stand_twice(sheets, edit):
    edit(CARD, FLOW, FLOW + "    creep-up-stroke: 0.0012 m/min\n")
    case = load_case(sheets / CARD)
    read = readings_of(case.job, case.model)
    assert read["creep, up-stroke"].nominal == pytest.approx(1.2e-3 / 60)
    assert read["creep, down-stroke"].nominal == pytest.approx(0.04 * 0.0254 / 60)


def test_creep_at_stall_counts_as_a_reading_in_the_order_of_the_card(sheets):
    case = load_case(sheets / CARD)
    names = list(readings_of(case.job, case.model))
    assert names[:3] == ["stall pressure, up-stroke", "creep, up-stroke", "air at stall, up-stroke"]
    assert len(names) == 11


def test_parts_bear_the_names_of_the_sheet(sheets):
    model = load_case(sheets / CARD).model
    assert part_names(model)["piston seal"] == "piston cup"
    assert sheet_parts(model)["upper inlet"] == "Upper chamber, inlet"
    assert sheet_parts(model)["piston cup"] == "Cup on the piston, lip down and up, one each way"


def test_checks_go_by_the_stroke_they_hold_on_and_not_by_their_names(sheets):
    model = load_case(sheets / CARD).model
    valves = dict(model.check_valves)
    for one, other in (("upper-inlet", "lower-inlet"), ("upper-outlet", "lower-outlet")):
        valves[one], valves[other] = (
            valves[one].model_copy(update={"holds_on": valves[other].holds_on}),
            valves[other].model_copy(update={"holds_on": valves[one].holds_on}),
        )
    names = part_names(model.model_copy(update={"check_valves": valves}))
    assert names["upper inlet"] == "lower inlet"
    assert names["lower outlet"] == "upper outlet"


def test_two_balls_in_one_place_keep_the_plain_name(sheets):
    model = load_case(sheets / CARD).model
    valves = {**model.check_valves, "second-inlet": model.check_valves["upper-inlet"]}
    more = model.model_copy(update={"check_valves": valves})
    assert "upper inlet" not in part_names(more)
    assert "creep-with-a-good-upper-inlet-up-stroke" in offered(more)


def test_without_a_relief_valve_its_return_is_not_on_the_card(sheets):
    model = load_case(sheets / CARD).model
    assert "relief-return" in offered(model)
    assert "relief-return" not in offered(model.model_copy(update={"relief": None}))


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": "hydraulic"}, "not for oil"),
        ({"kind": "electric"}, "plungers only"),
    ],
)
def test_a_pump_without_a_card_says_why(sheets, changes, words):
    model = load_case(sheets / CARD).model
    other = model.model_copy(update={"drive": model.drive.model_copy(update=changes)})
    with pytest.raises(LookupError, match=words):
        offered(other)


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_plungers_have_a_packing_each(sheets, count):
    model = load_sheet(sheets / "models" / "wash-plunger-3p.yaml")
    end = model.fluid_end.model_copy(update={"plungers": count})
    keys = offered(model.model_copy(update={"fluid_end": end}))
    assert sum(key.startswith("weep-plunger-cups-") for key in keys) == count
    # the sheet has checks for three; a place it does not name keeps the plain name
    assert f"swing-with-a-good-outlet-{count}" in keys
