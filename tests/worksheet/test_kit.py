"""The kit: what each part becomes, what is drawn, and the sums over a batch."""

import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.worksheet.context import Context
from rebuildbook.worksheet.kit import BECOMES, Kit, KitConsumable, KitPart, kit_of
from rebuildbook.worksheet.kit_book import FEW_JOBS, kit_book
from rebuildbook.worksheet.kit_sum import add_up, consumables_of_all

ROOT = Path(__file__).resolve().parents[2]
JOBS = ROOT / "parameters" / "jobs"
CARDS = sorted(JOBS.glob("*.yaml"))


def kit(card, *settings) -> Kit:
    return kit_of(Context(load_case(JOBS / f"{card}.yaml", settings)))


def fates(made, name):
    return [(part.becomes, part.count) for part in made.parts if part.name == name]


@pytest.mark.parametrize(
    ("bore", "becomes"),
    [("80.25 mm", "reuse"), ("80.26 mm", "rework"), ("80.51 mm", "replace"), ("80 mm", "reuse")],
)
def test_a_measured_part_goes_by_its_limits(bore, becomes):
    # 80.25 mm reuse, 80.50 mm rework on the model sheet
    made = kit("TW-2601", f"measured.cylinder-bore={bore}")
    assert fates(made, "cylinder-tube") == [(becomes, 1)]


def test_a_part_whose_measure_is_missing_is_to_be_measured(tmp_path):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    card = tmp_path / "parameters" / "jobs" / "TW-2602.yaml"
    text = card.read_text("utf-8")
    card.write_text(text.replace("  seal-bore: 1.0635 in\n", ""), "utf-8")
    made = kit_of(Context(load_case(card)))
    assert fates(made, "head") == [("measure", 1)]
    (part,) = (part for part in made.parts if part.name == "head")
    assert part.why == "seal-bore is not measured"


def test_one_limit_for_each_piece_parts_them(tmp_path):
    made = kit("TW-2602", "measured.plunger-2=0.7401 in")  # under 0.748 in, no rework
    assert fates(made, "plungers") == [("replace", 1), ("reuse", 2)]
    (worn,) = made.of("replace")
    assert worn.drawn and "plunger-2 0.7401 in, limit 0.748 in" in worn.why


def test_one_limit_for_all_takes_all():
    made = kit("TW-2602", "measured.check-balls=0.62 in")
    assert fates(made, "check-balls") == [("replace", 6)]


def test_seals_and_gaskets_are_new_unless_the_sheet_says_otherwise():
    made = kit("TW-2602")
    assert fates(made, "cups") == [("new", 3)]  # a part that is a seal
    assert fates(made, "plug-rings") == [("new", 6)]  # a seal that is no part
    assert fates(made, "cover-gasket") == [("new", 1)]
    assert fates(made, "gasket-outlet-manifold") == [("new", 1)]  # a gasket that is neither
    assert not fates(made, "gasket-crankcase-cover") and not fates(made, "plunger-cups")
    assert fates(kit("TW-2603"), "diaphragms") == [("reuse", 2)]  # always_new: no


def test_a_part_that_nothing_measures_is_looked_over():
    assert fates(kit("TW-2601"), "piston") == [("look", 1)]


def test_a_seal_is_drawn_as_the_job_fits_it():
    made = kit("TW-2602", "seals_fitted.plug-rings.material=fluoroelastomer")
    (ring,) = (part for part in made.parts if part.name == "plug-rings")
    assert ring.make == "o-ring, AS568-113, FKM 90 Shore A"


def test_consumables_are_those_of_joints_and_seals_as_used():
    made = kit("TW-2601")
    things = {thing.name: thing for thing in made.consumables}
    assert things["high-locker"].uses == ("piston-nut",)
    assert things["medium-locker"].places == 4  # motor flange
    assert "cap-rings" in things["assembly-grease"].uses
    instead = kit("TW-2601", "consumables_used.piston-nut=medium-locker")
    assert "high-locker" not in {thing.name for thing in instead.consumables}


@pytest.mark.parametrize("card", CARDS, ids=lambda path: path.stem)
def test_every_piece_of_the_demo_is_in_its_kit_once(card):
    case = load_case(card)
    made = kit_of(Context(case))
    per = {"plunger": case.model.fluid_end.plungers, "check valve": len(case.model.check_valves)}
    for name, part in case.model.parts.items():
        assert sum(c for _, c in fates(made, name)) == part.count * per.get(part.per, 1)
    in_parts = {seal for part in case.model.parts.values() for seal in part.seal}
    for name, seal in case.model.seals.items():
        assert fates(made, name) == ([] if name in in_parts else [("new", seal.count)])
    assert {part.becomes for part in made.parts} <= set(BECOMES)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("measured_by: [seal-bore]", "measured_by: [seal-bores]", "did you mean seal-bore?"),
        ("seal: [plunger-cups]", "seal: [plunger-cup]", "did you mean plunger-cups?"),
        ("seal: [plunger-cups]", "seal: [plunger-cups, plunger-cups]", "is the part cups already"),
        ("gasket_of: [crankcase-cover]", "gasket_of: [cover]", "is not a joint of this model"),
        ("gasket_of: [crankcase-cover]", "gasket_of: [plunger-screws]", "has no gasket"),
        ("measured_by: [seal-bore]", "measured_by: [seal-bore]\n    always_new: yes", "leave one"),
        ("per: check valve", "per: valve", "wanted one of 'unit', 'plunger' or 'check valve'"),
    ],
)
def test_parts_that_point_nowhere_are_refused(tmp_path, old, new, message):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    model = tmp_path / "parameters" / "models" / "wash-plunger-3p.yaml"
    text = model.read_text("utf-8")
    assert old in text
    model.write_text(text.replace(old, new), "utf-8")
    with pytest.raises(SheetError, match=message.replace("?", r"\?")):
        load_case(tmp_path / "parameters" / "jobs" / "TW-2602.yaml")


PARTS = st.lists(
    st.builds(
        KitPart,
        name=st.sampled_from(["ring", "rod", "ball"]),
        what=st.just("a part"),
        count=st.integers(1, 9),
        becomes=st.sampled_from(BECOMES),
        why=st.just("a rule"),
        number=st.sampled_from(["", "B-1", "B-2"]),
        make=st.sampled_from(["", "o-ring, 10 mm x 2 mm, nitrile"]),
    ),
    max_size=6,
)
KITS = st.lists(
    st.builds(
        Kit,
        job=st.sampled_from([f"J-{n}" for n in range(12)]),
        serial=st.just("U-1"),
        model=st.sampled_from(["m-one", "m-two"]),
        parts=PARTS.map(tuple),
        consumables=st.just((KitConsumable("grease", "Grease", ("cover",), 4),)),
    ),
    min_size=1,
    max_size=12,
    unique_by=lambda made: made.job,
)


@given(KITS)
def test_sums_lose_no_piece_and_do_not_hang_on_the_order(kits):
    lines = add_up(kits, lambda part: part.drawn)
    wanted = sum(part.count for made in kits for part in made.parts if part.drawn)
    assert sum(line.total for line in lines) == wanted
    for made in kits:
        own = sum(part.count for part in made.parts if part.drawn)
        assert sum(line.by_job.get(made.job, 0) for line in lines) == own
    back = add_up(kits[::-1], lambda part: part.drawn)
    assert sorted((line.number, line.make, line.total) for line in back) == sorted(
        (line.number, line.make, line.total) for line in lines
    )
    (grease,) = consumables_of_all(kits)
    assert grease.total == 4 * len(kits)


def test_one_stock_number_is_one_line_across_models():
    one = KitPart("balls", "Ball", 2, "replace", "worn", "B-175")
    other = KitPart("outlet-balls", "Ball", 3, "new", "rule", "B-175")
    kits = [Kit("J-1", "U-1", "m-one", (one,), ()), Kit("J-2", "U-2", "m-two", (other,), ())]
    (line,) = add_up(kits, lambda part: part.drawn)
    assert (line.total, line.by_job, line.models) == (5, {"J-1": 2, "J-2": 3}, ("m-one", "m-two"))


@settings(max_examples=15)
@given(KITS)
def test_the_spreadsheet_has_the_sums(kits):
    book = openpyxl.load_workbook(BytesIO(kit_book(kits)))
    assert book.sheetnames == ["To draw", "To rework", "Not decided", "Consumables", "By job"]
    head, *rows = book["To draw"].iter_rows(values_only=True)
    total = head.index("Total")
    shown = sum(row[total] for row in rows if isinstance(row[total], int | float))
    assert shown == sum(part.count for made in kits for part in made.parts if part.drawn)
    assert ("Jobs" in head) == (len(kits) > FEW_JOBS)
    pieces = [row[5] for row in book["By job"].iter_rows(min_row=2, values_only=True) if row[5]]
    assert sum(pieces) == sum(part.count for made in kits for part in made.parts)


def test_the_same_kits_give_the_same_bytes():
    kits = [kit("TW-2601"), kit("TW-2602")]
    assert kit_book(kits) == kit_book(kits)


def test_text_that_looks_like_a_formula_stays_text():
    evil = "=cmd|' /C calc'!A0"
    made = Kit("J-1", "U-1", "m", (KitPart("a", evil, 1, "new", evil, evil, evil),), ())
    book = openpyxl.load_workbook(BytesIO(kit_book([made])))
    cells = [
        cell for page in book for row in page.iter_rows() for cell in row if cell.value == evil
    ]
    assert len(cells) >= 6 and all(cell.data_type == "s" for cell in cells)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_the_spreadsheet_prints(tmp_path):
    from pypdf import PdfReader

    (tmp_path / "kit.xlsx").write_bytes(kit_book([kit("TW-2601"), kit("TW-2602")]))
    subprocess.run(
        ["soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless",
         "--convert-to", "pdf", "--outdir", tmp_path, tmp_path / "kit.xlsx"],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    pages = [page.extract_text() for page in PdfReader(tmp_path / "kit.pdf").pages]
    assert "Drawn" in pages[0] and "K-019" in pages[0]
    assert len(pages) <= 7
