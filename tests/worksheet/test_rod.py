"""The rod's section: loads of the strokes, both faces of the piston, the rod as a column."""

import dataclasses
import math
from pathlib import Path

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.worksheet.build import Worksheet, open_worksheet

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"


def lines(card: str, *settings: str) -> dict[str, float]:
    section = open_worksheet(JOBS / f"{card}.yaml", settings).sections["rod"]
    return {line.id: getattr(line.value, "si", line.value) for line in section.lines()}


def levels(card: str, *settings: str) -> dict[str, str]:
    section = open_worksheet(JOBS / f"{card}.yaml", settings).sections["rod"]
    return {finding.id: finding.level for finding in section.findings()}


def test_a_double_acting_piston_reverses_its_load():
    found = lines("TW-2601")
    # both are the drive's push at stall: the highest supply on the drive's piston
    assert found["rod.nut-load"] == pytest.approx(found["rod.shoulder-load"])
    assert found["rod.on-shoulder"] < found["rod.on-nut"]


def test_a_plunger_is_pulled_by_suction_only():
    found = lines("TW-2602")
    area = math.pi / 4 * (0.75 * 0.0254) ** 2
    assert found["rod.nut-load"] == pytest.approx(101325 * area)


def test_a_diaphragm_shaft_is_no_column():
    assert "rod.column" not in lines("TW-2603")
    assert "rod.column" not in levels("TW-2603")


def test_a_long_thin_rod_buckles_by_euler():
    settings = ("rod.diameter=8 mm", "rod.free_length=700 mm", "rod.ends=rounded-rounded")
    found = lines("TW-2611", *settings)
    euler = math.pi**2 * 206e9 * math.pi / 64 * 0.008**4 / 0.7**2
    assert found["rod.critical"] == pytest.approx(euler)
    assert levels("TW-2611", *settings)["rod.column"] == "hold"


def test_a_nut_done_up_by_inch_pounds_opens_at_every_reversal():
    found = levels("TW-2601", "tools.piston-nut.setting=20 ft-lb")
    assert found["rod.joint"] == "hold"


def test_a_model_without_a_rod_says_so():
    case = load_case(JOBS / "TW-2601.yaml")
    bare = Worksheet(dataclasses.replace(case, model=case.model.model_copy(update={"rod": None})))
    assert "no rod" in bare.sections["rod"].blocks[0].text
