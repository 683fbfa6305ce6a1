"""Seals on the sheets: what points nowhere and what cannot be is told with its path."""

from pathlib import Path

import pytest

from rebuildbook.sheets import SheetError, load_case

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"


@pytest.mark.parametrize(
    ("card", "setting", "words"),
    [
        ("TW-2601", "seals.cap-rings.size=AS568-999", "not a dash number"),
        ("TW-2601", "seals.cap-rings.size=45 mm", "not an O-ring size"),
        ("TW-2601", "seals.cap-rings.material=nitril", "the nearest are NBR"),
        ("TW-2601", "seals.cap-rings.hardness=7", "Shore A"),
        ("TW-2601", "seals.cap-rings.joint=valve-cap", "did you mean valve-caps"),
        ("TW-2601", "seals.cap-rings.lubricant=white-tub", "consumable of the shop sheet"),
        ("TW-2601", "seals.piston-cup.part=cylindre", "did you mean cylinder"),
        ("TW-2601", "seals.piston-cup.outer=59 mm", "leaves no room"),
        ("TW-2601", "seals.piston-cup.inner_lip=90 mm", "larger outside than inside"),
        ("TW-2601", "seals.rod-packing.box=30 mm", "no room round the rod"),
        ("TW-2601", "seals.rod-packing.compression=60 %", "compression"),
        ("TW-2601", "seals.cap-rings.gland.outer_wall=9 mm", "no inner wall"),
        ("TW-2601", "seals.cap-rings.gland.inner_wall=44 mm", "outer_wall or inner_wall"),
        ("TW-2612", "seals.cage-ring.gland.groove=50 mm", "leaves no depth"),
        ("TW-2601", "fluid.fluid_class=aceton", "the nearest are ketone"),
        ("TW-2603", "consumables.tank-soap.fluid_class=soapy", "no fluid class"),
        ("TW-2601", "consumables.assembly-grease.base=silicone", "silicone_free"),
        ("TW-2608", "seals_fitted.inlet-rings.material=EPDN", "no elastomer"),
        ("TW-2608", "seals_fitted.inlet-rings.size=12", "not an O-ring size"),
    ],
)
def test_what_a_sheet_cannot_mean_is_told(card, setting, words):
    with pytest.raises(SheetError) as caught:
        load_case(JOBS / f"{card}.yaml", [setting])
    (problem,) = caught.value.problems
    assert words in str(problem)
    assert setting.split("=")[0].split(".")[0] in str(problem)


@pytest.mark.parametrize("form", ["face", "male", "female"])
def test_a_groove_is_one_of_three_forms(form):
    sizes = {
        "face": "{form: face, depth: 2.6 mm, width: 4.8 mm, inner_wall: 45 mm}",
        "male": "{form: male, groove: 46 mm, mate: 51.6 mm, width: 4.8 mm}",
        "female": "{form: female, groove: 51 mm, mate: 45.4 mm, width: 4.8 mm}",
    }
    case = load_case(JOBS / "TW-2601.yaml", [f"seals.cap-rings.gland={sizes[form]}"])
    assert case.model.seals["cap-rings"].gland.form == form
