"""The form: every reading of the job, cells to fill apart from cells to read, known again."""

import re
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import openpyxl
import pytest

from rebuildbook.commands.bench import bench_of
from rebuildbook.record.form import form_of
from rebuildbook.record.form_layout import LISTS, MARKS, SHEETS
from rebuildbook.record.form_rows import form_rows, readings_of_test
from rebuildbook.sheets import load_case

ROOT = Path(__file__).resolve().parents[2]
CARDS = sorted((ROOT / "parameters" / "jobs").glob("*.yaml"))


def test_every_fastener_size_and_usual_reading_has_its_row(form, bench):
    model = bench.case.model
    torques = [
        (form.cell("Torque", row, "Joint").value, form.cell("Torque", row, "Fastener").value)
        for row in form.rows("Torque")
    ]
    wanted = [(name, n) for name, joint in model.joints.items() for n in range(1, joint.count + 1)]
    assert sorted(torques) == sorted(wanted)
    sizes = [form.cell("Measurements", row, "Part").value for row in form.rows("Measurements")]
    assert sizes == list(model.wear_limits)
    tests = [form.cell("Test", row, "Name").value for row in form.rows("Test")]
    assert tests[:3] == ["pressure", "held_for", "pressure_after"]
    assert "flow" in tests and "readings" not in tests


def test_only_the_cells_to_fill_are_open(form):
    for sheet in SHEETS:
        page = form.book[sheet.name]
        assert page.protection.sheet
        for row in form.rows(sheet.name):
            for column in sheet.columns:
                cell = form.cell(sheet.name, row, column.heading)
                assert cell.protection.locked == (not column.fill), cell.coordinate
                assert not column.fill or cell.value is None


def test_the_window_stands_in_the_unit_of_the_wrench_too(form):
    # 80 to 97 ft·lbf, and 1 ft·lbf = 1.3558179483 N·m
    row = next(
        r for r in form.rows("Torque") if form.book["Torque"].cell(r, 1).value == "valve-plugs"
    )
    assert form.cell("Torque", row, "Wrench in hand").value == "C-400, in N·m"
    low, high = re.findall(r"[\d.]+", form.cell("Torque", row, "Window wanted").value)[2:]
    assert float(low) == pytest.approx(80 * 1.3558179483, abs=0.05)
    assert float(high) == pytest.approx(97 * 1.3558179483, abs=0.05)


def test_lists_offer_units_and_the_tools_of_the_shop(form, bench):
    offered = {column[0].value: column for column in form.book[LISTS].columns}
    assert [cell.value for cell in offered["unit of torque"][1:5]] == [
        "N·m", "ft·lbf", "in·lbf", "kgf·m",
    ]  # fmt: skip
    held = [cell.value for cell in offered["wrench"][1:] if cell.value]
    assert held == list(bench.case.shop.wrenches)
    rules = form.book["Torque"].data_validations.dataValidation
    row = form.rows("Torque")[0]
    for heading, name in (("Unit", "unit of torque"), ("Tool", "wrench")):
        cell = form.cell("Torque", row, heading).coordinate
        rule = next(one for one in rules if cell in one.sqref)
        assert offered[name][0].column_letter in rule.formula1


def test_it_prints_on_one_page_across_with_its_headings_on_each(form):
    for sheet in SHEETS:
        page = form.book[sheet.name]
        assert page.sheet_properties.pageSetUpPr.fitToPage
        assert page.page_setup.fitToWidth in {None, 1}  # one is what the format takes by itself
        assert page.page_setup.fitToHeight == 0
        assert page.freeze_panes == "B5"
        assert page.print_title_rows == "$4:$4"


def test_the_hidden_sheets_are_hidden_and_say_which_job_it_is(form, bench):
    assert form.book[MARKS].sheet_state == form.book[LISTS].sheet_state == "veryHidden"
    marks = dict(form.book[MARKS].iter_rows(max_col=2, values_only=True))
    assert (marks["job"], marks["serial"]) == ("TW-2602", "WP-112")
    assert marks["model sheet"] == bench.case.files["model"][1]


def test_the_same_job_gives_the_same_bytes(bench, form_bytes):
    assert form_of(bench) == form_bytes


@pytest.mark.parametrize("card", CARDS, ids=lambda path: path.stem)
def test_every_demo_job_has_a_form(card):
    bench = bench_of(load_case(card))
    book = openpyxl.load_workbook(BytesIO(form_of(bench)))
    rows = form_rows(bench)
    assert sum(row.kind == "torque" for row in rows) == sum(
        joint.count for joint in bench.case.model.joints.values()
    )
    assert book.sheetnames[:4] == ["Torque", "Measurements", "Test", "Signatures"]
    names = [reading.name for reading in readings_of_test(bench.case)]
    # each is a place of the job card that takes what the form asks for
    given = {"pressure": "1 bar", "time": "1 min", "speed": "1 mm/min", "flow": "1 L/min"}
    asked = [one for one in readings_of_test(bench.case) if one.usual]
    load_case(card, [f"test.{one.name}='{given.get(one.dimension, '1 L/min')}'" for one in asked])
    assert len(names) == len(set(names))
    assert not any("limit" in name or name.startswith("bench") for name in names)


def test_text_that_looks_like_a_formula_stays_text(tmp_path):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    model = tmp_path / "parameters" / "models" / "wash-plunger-3p.yaml"
    text = model.read_text(encoding="utf-8")
    evil = "=cmd|' /C calc'!A0"
    changed = text.replace("what: The six balls, the smallest", f'what: "{evil}"')
    assert changed != text
    model.write_text(changed, encoding="utf-8")
    bench = bench_of(load_case(tmp_path / "parameters" / "jobs" / "TW-2602.yaml"))
    book = openpyxl.load_workbook(BytesIO(form_of(bench)))
    cells = [cell for row in book["Measurements"].iter_rows() for cell in row if cell.value == evil]
    assert cells and all(cell.data_type == "s" for cell in cells)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_it_prints_one_page_for_each_sheet(form_bytes, tmp_path):
    from pypdf import PdfReader

    (tmp_path / "form.xlsx").write_bytes(form_bytes)
    subprocess.run(
        ["soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless",
         "--convert-to", "pdf", "--outdir", tmp_path, tmp_path / "form.xlsx"],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    pages = [page.extract_text() for page in PdfReader(tmp_path / "form.pdf").pages]
    assert len(pages) == 4
    for page, sheet in zip(pages, SHEETS, strict=True):
        assert f"{sheet.name}, job TW-2602" in page
        assert all(column.heading.split()[0] in page for column in sheet.columns)
