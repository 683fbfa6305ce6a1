"""What the sheets say about leaks and wear: every name and pair of fields that cannot stand."""

import pytest

from rebuildbook.sheets import SheetError, load_case

MODEL, CARD = "models/slip-piston-4b.yaml", "jobs/card.yaml"
DEFECT = "seat_defects:\n  {}: {}\n\nvalves_fitted:"


def problems(root) -> list[str]:
    with pytest.raises(SheetError) as caught:
        load_case(root / CARD)
    return [str(problem) for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("sheet", "old", "new", "words"),
    [
        (MODEL, "place: piston seal", "place: piston sael", "did you mean piston seal?"),
        (MODEL, "place: rod packing", "place: piston seal", "from another wear limit already"),
        (MODEL, "place: rod packing", "place: upper inlet check", "is not a seal or packing"),
        (MODEL, "      mate_size: 80.00 mm\n", "", "give mate_size or mate_measured"),
        (MODEL, "mate_size: 80.00 mm", "mate_size: 80.00 mm\n      mate_measured: piston-rod",
         "both given"),
        (MODEL, "mate_size: 30.00 mm", "mate_measured: gland-bsh", "did you mean gland-bush?"),
        (MODEL, "mate_size: 30.00 mm", "mate_measured: piston-rod", "other wear limit"),
        (MODEL, "mate_size: 30.00 mm", "mate_measured: inlet-balls", "wears the same way"),
        (MODEL, "takes_up: 0.05 mm", "eccentricity: 120 %", "at 100 % the part touches"),
        (CARD, "valves_fitted:", DEFECT.format("upper-inlt", "{ovality: 0.1 mm}"),
         "did you mean upper-inlet?"),
        (CARD, "valves_fitted:", DEFECT.format("upper-inlet", "{scratch_width: 1 mm}"),
         "scratch_depth"),
        (CARD, "valves_fitted:", DEFECT.format("upper-inlet", "{land: 1 mm}"), "says nothing"),
        (CARD, "hours: 4000 h", "hours: 1900 h", "oldest first"),
        (CARD, "running_hours: 5900 h", "running_hours: 4000 h", "last past job"),
        (CARD, "running_per_week: 110 h", "running_per_week: 8 d", "more than a week has"),
        (CARD, "{cylinder-bore: 80.03 mm", "{cylinder-boar: 80.03 mm", "did you mean cylinder-bor"),
        (CARD, "air_share: 0.5 %", "air_share: 100 %", "no liquid"),
        (CARD, "air_share: 0.5 %", "rheology: {consistency: 2, exponent: 4}", "flow index"),
    ],
)  # fmt: skip
def test_what_cannot_stand_is_told_once_with_its_place(sheets, edit, sheet, old, new, words):
    edit(sheet, old, new)
    (found,) = problems(sheets)
    assert words in found
    assert sheet.split("/")[1] in found


def test_both_sides_measured_and_a_flow_curve_are_fine(sheets, edit):
    edit(MODEL, "mate_size: 30.00 mm", "mate_measured: gland-bush")
    edit(CARD, "air_share: 0.5 %", "rheology: {consistency: 2, exponent: 0.6, yield_stress: 5 Pa}")
    case = load_case(sheets / CARD)
    assert case.model.wear_limits["piston-rod"].leak.mate_measured == "gland-bush"
    assert case.job.fluid.rheology.yield_stress.nominal == 5.0
