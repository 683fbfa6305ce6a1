"""Fields of drive, fluid end and suction line: what cannot stand is refused with its place."""

from pathlib import Path

import pytest

from rebuildbook.sheets import SheetError, load_case

CARD = "jobs/card.yaml"
LINE = "duty.suction.line_"


def refused(root: Path, *overrides: str) -> str:
    with pytest.raises(SheetError) as caught:
        load_case(root / CARD, overrides)
    assert len(caught.value.problems) == 1, [str(problem) for problem in caught.value.problems]
    return str(caught.value.problems[0])


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("fluid_end.rod_ratio=1", "not over 1"),
        ("fluid_end.npsh_required=0 m", "is zero"),
        ("drive.mechanical_efficiency=110 %", "over 100 %"),
        ("drive.motor_efficiency=101 %", "over 100 %"),
        ("drive.friction=100 %", "moves nothing"),
        ("drive.air_inlet.kv=2", "bore and kv"),
        ("drive.air_exhaust.discharge_coefficient=1.2", "over 1"),
        ("drive.clearance_share=-5 %", "negative"),
        ("duty.suction.fittings=-1", "negative"),
        ("duty.suction.atmosphere=1 bar", "absolute"),
        (f"{LINE}bore=0 mm", "is zero"),
    ],
)
def test_what_cannot_be_is_refused(sheets, setting, words):
    assert words in refused(sheets, setting)


def test_an_air_passage_needs_a_size(sheets, edit):
    edit("models/slip-piston-4b.yaml", "air_inlet: {bore: 8 mm}", "air_inlet: {}")
    assert "there is none" in refused(sheets)


def test_a_discharge_coefficient_goes_with_a_bore(sheets, edit):
    wrong = "air_inlet: {kv: 1, discharge_coefficient: 0.7}"
    edit("models/slip-piston-4b.yaml", "air_inlet: {bore: 8 mm}", wrong)
    assert "goes with a bore" in refused(sheets)


@pytest.mark.parametrize("head", ["-2.5 m", "0 m", "-8 ft", "600 mm"])
def test_a_static_head_may_be_a_lift(sheets, head):
    case = load_case(sheets / CARD, [f"duty.suction.static_head={head}"])
    assert (case.job.duty.suction.static_head.nominal < 0.0) == head.startswith("-")


def test_a_rod_is_of_a_metal_whose_yield_is_known(sheets):
    assert "'alumina' has no yield strength" in refused(sheets, "rod.material=alumina")
