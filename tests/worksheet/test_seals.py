"""Seals and what touches them: hand sums, each finding flipped, and what the sheets leave out."""

import dataclasses
import math
import re
from pathlib import Path

import pytest

from rebuildbook.sheets import Case, load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.document import section_document
from rebuildbook.worksheet.html import section_html
from rebuildbook.worksheet.model import Note, Picture, Section, Series
from rebuildbook.worksheet.plan import plan_joints
from rebuildbook.worksheet.relief import assess, highest_pressure
from rebuildbook.worksheet.seals import seals
from rebuildbook.worksheet.unit import unit_of
from rebuildbook.worksheet.worked import work_out

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"


STORE = SheetStore()


def made_of(case: Case) -> Section:
    """The section alone, as the worksheet makes it."""
    context = Context(case)
    highest = highest_pressure(context, assess(context, unit_of(context)))
    joints = {plan.name: work_out(context, plan, highest) for plan in plan_joints(context)}
    return seals(context, joints, highest)


def section(card: str, *settings: str) -> Section:
    return made_of(load_case(JOBS / f"{card}.yaml", settings, STORE))


def changed(card: str, **updates) -> Section:
    """The section with parts of the model, shop or job replaced as they lie."""
    case = load_case(JOBS / f"{card}.yaml", (), STORE)
    parts = {name: getattr(case, name).model_copy(update=new) for name, new in updates.items()}
    return made_of(dataclasses.replace(case, **parts))


def lines(card: str, *settings: str) -> dict[str, float]:
    return {x.id: getattr(x.value, "si", x.value) for x in section(card, *settings).lines()}


def levels(made: Section) -> dict[str, str]:
    return {finding.id: finding.level for finding in made.findings()}


def notes(made: Section) -> str:
    return " ".join(block.text for block in made.blocks if isinstance(block, Note))


def finding(made: Section, id_: str):
    return next(one for one in made.findings() if one.id == id_)


def test_fill_and_fit_of_a_ring_by_hand():
    found = lines("TW-2601")
    # ring 45 × 3.5 mm in a groove 2.65 deep, 4.8 wide, outer wall 51.8 mm
    rubber = math.pi / 4 * 3.5**2 * math.pi * 48.5
    room = math.pi * (51.8 - 4.8) * 4.8 * 2.65
    assert found["seals.cap-rings.fill"] == pytest.approx(rubber / room, rel=1e-9)
    assert found["seals.cap-rings.interference"] == pytest.approx(52.0 / 51.8 - 1, rel=1e-9)


def test_squeeze_by_hand():
    found = lines("TW-2601")
    # free section 3.5 mm; gathered by 0.4 % over 51.8 mm it thickens by about half as much
    free = 1 - 2.65 / 3.5
    assert free < found["seals.cap-rings.squeeze"] < 1 - 2.65 / (3.5 * 1.004)
    assert found["seals.cap-rings.least-squeeze"] < 1 - 2.70 / 3.4
    fitted = next(x for x in section("TW-2601").lines() if x.id == "seals.cap-rings.limits")
    least, most = re.match(r"squeeze ([\d.]+) to ([\d.]+) %", fitted.value).groups()
    assert float(least) == pytest.approx(100 * (1 - 2.70 / 3.4), abs=0.1)
    assert float(most) > 100 * (1 - 2.60 / 3.6)


def test_cold_shrinks_the_ring_and_swell_fills_the_gland():
    still = lines("TW-2601", "model.temperature_range=19 to 22 °C")
    cold = lines("TW-2601", "model.temperature_range=-25 to 22 °C")
    # nitrile: 112e-6 a kelvin over 44 K takes 0.5 % of the section
    taken = (1 - still["seals.cap-rings.least-squeeze"]) * 112e-6 * 44
    drop = still["seals.cap-rings.least-squeeze"] - cold["seals.cap-rings.least-squeeze"]
    assert drop == pytest.approx(taken, rel=0.05)
    swollen = lines("TW-2601", "seals.cap-rings.swell=5 %")
    ratio = swollen["seals.cap-rings.most-fill"] / lines("TW-2601")["seals.cap-rings.most-fill"]
    assert ratio == pytest.approx(1.05, rel=1e-6)


def test_load_of_a_ring_on_a_fastener_by_hand():
    (line,) = [x for x in section("TW-2605").lines() if x.id == "seals.inlet-rings.load"]
    c = line.inputs["c"].si
    # depth 2.24 mm, section 3.09 mm and a little more where the wall gathers it
    assert 1 - 2.24 / 3.09 < c < 1 - 2.24 / (3.09 * 1.01)
    modulus = 0.0981e6 * (56 + 7.62336 * 70) / (0.137505 * (254 - 2.54 * 70))
    each = math.pi * 0.045 * 3.09e-3 * modulus * (1.25 * c**1.5 + 50 * c**6) * 2 / 8
    assert line.value.si == pytest.approx(each, rel=1e-6)


def test_stretch_and_gap_of_a_ring_on_a_plug():
    found = lines("TW-2612")
    assert found["seals.cage-ring.stretch"] == pytest.approx(43.2 / 42 - 1)
    # up to 500 psi a ring of 70 Shore A bridges 0.016 in
    assert found["seals.cage-ring.bridges"] == pytest.approx(0.016 * 0.0254)
    assert "seals.cage-ring.load" not in found


def test_a_worn_bore_takes_from_the_lip_and_a_worn_rod_too():
    found = lines("TW-2604")
    assert found["seals.piston-cup.lip-left"] == pytest.approx((0.8 - 0.19) * 1e-3)
    assert found["seals.rod-packing.lip-left"] == pytest.approx((0.4 - 0.025) * 1e-3)
    # three plungers: the one that lost the most
    worn = lines("TW-2606")["seals.plunger-cups.lip-left"]
    assert worn == pytest.approx((0.015 - 0.0006) * 0.0254)


def test_packing_by_hand():
    found = lines("TW-2601")
    # 4 rings of 4 mm pressed 3 %, adapters 5 and 6, spigot 16, box 40 deep
    assert found["seals.rod-packing.travel"] == pytest.approx((0.97 * 16 + 11 + 16 - 40) * 1e-3)
    push = 0.1 * 16e5 * math.pi * 0.030 * 0.016
    assert found["seals.rod-packing.friction"] == pytest.approx(push)
    assert found["seals.piston-cup.closed"] == pytest.approx((1.4 + 1.6) / (81.6 - 58.6))
    assert found["seals.piston-cup.end-play"] == pytest.approx(1e-3)


def test_a_dry_seal_has_the_supply_behind_it():
    push = 0.15 * 6e5 * math.pi * 0.022 * 0.0015
    assert lines("TW-2603")["seals.shaft-cups.friction"] == pytest.approx(push)


@pytest.mark.parametrize("card", ["TW-2601", "TW-2602", "TW-2603"])
def test_healthy_units_are_clear(card):
    assert set(levels(section(card)).values()) == {"clear"}


def test_the_hot_water_bays_rings_are_not_for_the_white_tub():
    made = section("TW-2608")
    assert {id_ for id_, level in levels(made).items() if level != "clear"} == {
        "seals.inlet-rings.touches"
    }
    told = finding(made, "seals.inlet-rings.touches")
    assert told.level == "hold"
    assert "assembly-grease (mineral) swells EPDM" in told.compared
    nitrile = section("TW-2608", "seals_fitted.inlet-rings.material=nitrile")
    assert set(levels(nitrile).values()) == {"clear"}


@pytest.mark.parametrize(
    ("card", "setting", "level", "id_"),
    [
        ("TW-2601", "seals.cap-rings.gland.depth=2.3 mm", "query", "seals.cap-rings.gland"),
        ("TW-2601", "seals.cap-rings.gland.depth=3.7 mm", "hold", "seals.cap-rings.gland"),
        ("TW-2601", "seals.cap-rings.gland.width=3.6 mm", "hold", "seals.cap-rings.gland"),
        ("TW-2601", "seals.cap-rings.size=60 mm x 3.5 mm", "hold", "seals.cap-rings.gland"),
        ("TW-2601", "seals.cap-rings.swell=10 %", "query", "seals.cap-rings.gland"),
        ("TW-2601", "seals.cap-rings.count=80", "query", "seals.cap-rings.clamp"),
        ("TW-2601", "seals.cap-rings.count=100 | seals.cap-rings.hardness=90", "hold",
         "seals.cap-rings.clamp"),
        ("TW-2602", "seals.head-rings.clearance=0.15 mm", "clear", "seals.head-rings.gap"),
        ("TW-2602", "seals.head-rings.clearance=0.215 mm", "query", "seals.head-rings.gap"),
        ("TW-2602", "seals.head-rings.clearance=0.215 mm | seals.head-rings.backed=yes", "clear",
         "seals.head-rings.gap"),
        ("TW-2602", "seals.head-rings.clearance=0.15 mm | seals.head-rings.material=silicone",
         "query", "seals.head-rings.gap"),
        ("TW-2612", "seals.cage-ring.clearance=1.5 mm", "hold", "seals.cage-ring.gap"),
        ("TW-2601", "measured.cylinder-bore=81.0 mm", "query", "seals.piston-cup.worn"),
        ("TW-2601", "measured.cylinder-bore=82.0 mm", "hold", "seals.piston-cup.worn"),
        ("TW-2601", "seals.piston-cup.outer_lip=79.9 mm", "hold", "seals.piston-cup.fit"),
        ("TW-2601", "seals.piston-cup.outer_heel=80.2 mm", "query", "seals.piston-cup.fit"),
        ("TW-2601", "seals.piston-cup.gland_length=12 mm", "query", "seals.piston-cup.fit"),
        ("TW-2601", "seals.rod-packing.spigot=13 mm", "query", "seals.rod-packing.travel"),
        ("TW-2601", "seals.rod-packing.rings=2", "query", "seals.rod-packing.rings"),
        ("TW-2601", "measured.piston-rod=29.5 mm", "query", "seals.rod-packing.worn"),
        ("TW-2601", "fluid.fluid_class=acetone", "hold", "seals.fluid.nbr"),
        ("TW-2601", "fluid.fluid_class=lacquer", "query", "seals.fluid.nbr"),
        ("TW-2601", "seals.cap-rings.material=FKM", "query", "seals.fluid.fkm"),
        ("TW-2601", "fluid.temperature=70 °C", "query", "seals.fluid.nbr"),
        ("TW-2601", "fluid.temperature=70 °C", "hold", "seals.fluid.pu"),
        ("TW-2603", "consumables.tank-soap.fluid_class=bleach", "hold", "seals.fluid.nbr"),
        ("TW-2603", "model.temperature_range=5 to 95 °C", "query", "seals.air.pu"),
        ("TW-2603", "model.temperature_range=5 to 120 °C", "hold", "seals.air.pu"),
        ("TW-2601", "seals.cap-rings.material=EPDM", "hold", "seals.cap-rings.touches"),
        ("TW-2601", "seals.cap-rings.material=chloroprene", "query", "seals.cap-rings.touches"),
        ("TW-2601", "seals.cap-rings.lubricant=silicone-grease", "hold", "seals.cap-rings.touches"),
        ("TW-2601", "joints.valve-caps.lubricant=thread-sealant", "hold",
         "seals.cap-rings.touches"),
        ("TW-2601", "consumables.assembly-grease.base=not known", "query",
         "seals.cap-rings.touches"),
    ],
)  # fmt: skip
def test_one_changed_value_brings_its_own_finding(card, setting, level, id_):
    assert levels(section(card, *setting.split(" | ")))[id_] == level


def test_silicone_on_a_joint_is_told_once():
    worksheet = open_worksheet(JOBS / "TW-2611.yaml")
    told = [
        found
        for made in worksheet.sections.values()
        if made.id != "findings"
        for found in made.findings()
        if found.level != "clear" and "silicone" in f"{found.title} {found.compared}"
    ]
    assert [found.id for found in told] == ["joints.outlet-cage.silicone"]


def test_a_joint_that_opens_already_is_not_told_twice():
    made = section("TW-2611")
    assert "seals.foot-ring.clamp" not in levels(made)
    assert "inlet-flange has no clamp left" in notes(made)


def test_a_model_without_seals_says_so():
    made = changed("TW-2601", model={"seals": {}})
    assert "no seals" in notes(made)
    assert not list(made.lines())


def test_what_the_sheets_leave_out_is_named_and_the_rest_computed():
    case = load_case(JOBS / "TW-2601.yaml", (), STORE)
    bare = {"material": None, "hardness": None, "joint": None, "lubricant": None}
    dry = {"runs_on": [], "friction": None, "contact": None, "lip": None, "compression": None}
    known = {
        name: seal.model_copy(update={key: bare[key] for key in bare if hasattr(seal, key)})
        for name, seal in case.model.seals.items()
    }
    for name in ("piston-cup", "rod-packing"):
        fields = {key: dry[key] for key in dry if hasattr(known[name], key)}
        known[name] = known[name].model_copy(update=fields)
    made = changed("TW-2601", model={"seals": known})
    told = notes(made)
    for word in ("material", "hardness", "expansion", "friction", "interference", "compression"):
        assert word in told
    assert {line.id for line in made.lines()} >= {
        "seals.cap-rings.squeeze", "seals.piston-cup.closed", "seals.rod-packing.travel"
    }  # fmt: skip
    assert not any("friction" in line.id or "load" in line.id for line in made.lines())


def test_a_fluid_of_no_class_is_left_to_the_supplier():
    made = section("TW-2601", "fluid.kind=chemical")
    assert not any(id_.startswith("seals.fluid") for id_ in levels(made))
    assert "fluid_class" in notes(made)


def test_a_rubber_that_the_table_does_not_know_in_a_kind_of_fluid_is_a_note():
    # butyl in slip stands in no table; only a class that the card names is asked about
    made = section("TW-2601", "seals.piston-cup.material=butyl")
    assert "seals.fluid.iir" not in levels(made)
    assert "IIR in slip" in notes(made)
    named = section("TW-2601", "seals.piston-cup.material=butyl", "fluid.fluid_class=slip")
    assert levels(named)["seals.fluid.iir"] == "query"


def test_a_grease_of_which_the_base_is_not_written_is_a_note():
    case = load_case(JOBS / "TW-2601.yaml")
    known = dict(case.shop.consumables)
    known["assembly-grease"] = known["assembly-grease"].model_copy(update={"base": None})
    made = changed("TW-2601", shop={"consumables": known})
    assert "base of assembly-grease" in notes(made)
    assert set(levels(made).values()) == {"clear"}


def test_the_picture_shows_the_ring_nearest_its_limit():
    made = section("TW-2601", "seals.cap-rings.gland.depth=2.3 mm")
    (picture,) = [block for block in made.blocks if isinstance(block, Picture)]
    assert picture.caption.startswith("cap-rings")
    assert "over its greatest squeeze" in picture.caption
    drawn = picture.draw()
    assert drawn == picture.draw()
    assert len(drawn) < 10_000


def test_one_quantity_is_said_once_and_the_section_stays_small():
    for card in ("TW-2601", "TW-2602", "TW-2608", "TW-2612"):
        made = section(card)
        names = [b.rows[0][1].name for b in made.blocks if isinstance(b, Series)]
        assert len(names) == len(set(names))
        # the page draws each letter of its figures once, which takes off some more
        page = section_html(section_document(made, {}), "mathml")
        assert len(page) < 22_000
