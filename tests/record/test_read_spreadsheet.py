"""A filled form comes in as it was filled, or is refused with the place of each mistake."""

import datetime
import re
import shutil
import subprocess
import zipfile
from dataclasses import replace
from io import BytesIO

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.formula import ArrayFormula

from rebuildbook.record.archive import LARGEST_FILE, LARGEST_UNPACKED
from rebuildbook.record.form_layout import MARKS
from rebuildbook.record.read import read_file

TODAY = datetime.date(2026, 9, 25)


def read(path, bench, **more):
    return read_file(path, bench, today=TODAY, **more)


def taken(path, bench):
    """Read a file that must be taken; gives entries by kind, subject and number."""
    found = read(path, bench)
    assert not found.problems, [str(problem) for problem in found.problems]
    return {(one.entry.kind, one.entry.subject, one.entry.number): one for one in found.taken}


def refused(path, bench) -> str:
    """Read a file that must be refused; gives the messages."""
    found = read(path, bench)
    assert found.problems and not found.taken
    return "\n".join(str(problem) for problem in found.problems)


def first_torque(form, joint="head-studs"):
    return next(
        row for row in form.rows("Torque") if form.book["Torque"].cell(row, 1).value == joint
    )


def remarks(one) -> str:
    return "; ".join(str(remark) for remark in one.remarks)


def test_a_well_filled_form_is_taken_without_a_remark(form, bench):
    found = taken(form.fill().save(), bench)
    assert len(found) == 29 + 5
    assert all(not one.remarks for one in found.values())
    stud = found["torque", "head-studs", 3].entry
    assert (stud.given, stud.dimension, stud.tool) == ("37 ft·lbf", "torque", "C-80ft")
    assert stud.si == pytest.approx(37 * 1.3558179483314003)
    assert (stud.serial, stud.job, stud.on, stud.by) == (
        "WP-112",
        "TW-2602",
        "2026-09-21",
        "bench 1",
    )
    assert re.fullmatch(r"filled\.xlsx, Torque, row \d+", stud.came_from)
    assert found["measurement", "plunger-1", None].entry.si == pytest.approx(0.7494 * 0.0254)


def test_an_empty_form_is_said_to_be_empty(form, bench):
    assert "holds no reading" in refused(form.save(), bench)


def test_rows_not_filled_in_are_counted(form, bench):
    row = first_torque(form)
    form.put("Torque", row, reading=37, unit="ft·lbf", tool="C-80ft", date="2026-09-21", by="x")
    found = read(form.save(), bench)
    assert len(found.taken) == 1
    assert any(re.match(r"Torque: 28 rows not filled in \(5 to \d+, ", text) for text in found.told)
    assert "Measurements: 5 rows not filled in (5 to 9)" in found.told


def test_a_row_without_a_reading_is_told_and_its_note_kept(form, bench):
    form.fill()
    row = first_torque(form)
    form.put("Torque", row, reading=None)
    form.put("Torque", row + 1, reading=None, note="stud stripped, new one on order")
    found = read(form.save(), bench)
    assert any(
        f"Torque: row {row} has unit, tool, date, by, but no reading" in t for t in found.told
    )
    kept = next(one for one in found.taken if one.entry.kind == "deviation")
    assert (kept.entry.subject, kept.entry.given) == ("head-studs", "")
    assert kept.written.text.startswith("stud stripped, new one on order; told: ")


def test_rows_may_be_sorted_and_columns_moved(form, bench):
    form.fill()
    page = form.book["Torque"]
    one, other = form.rows("Torque")[0], form.rows("Torque")[-1]
    for column in range(1, page.max_column + 1):
        a, b = page.cell(one, column), page.cell(other, column)
        a.value, b.value = b.value, a.value
    unit, tool = form.column("Torque", "Unit"), form.column("Torque", "Tool")
    for row in range(4, page.max_row + 1):
        a, b = page.cell(row, unit), page.cell(row, tool)
        a.value, b.value = b.value, a.value
    found = taken(form.save(), bench)
    assert found["torque", "plunger-screws", 1].entry.given == "21 ft·lbf"
    assert not any(one.remarks for one in found.values())


@pytest.mark.parametrize(
    ("cells", "message"),
    [
        ({"unit": None}, "has no unit"),
        ({"unit": "bar"}, "is not a torque"),
        ({"unit": "kg*m"}, "for force write kgf"),
        ({"reading": "thirty"}, "does not begin with a number"),
        ({"reading": -37}, "is negative"),
        ({"reading": 0}, "is zero"),
        ({"reading": "1,250"}, "could be 1.25 or 1250"),
        ({"reading": "36 to 38"}, "is a range"),
        ({"reading": "37 N·m"}, "has a unit of its own"),
        ({"reading": True}, "holds true or false"),
        ({"reading": datetime.date(2026, 7, 3)}, "holds a date or a time"),
        ({"reading": "=AVERAGE(F5:F9)"}, "holds a formula"),
        ({"reading": "=cmd|' /C calc'!A0"}, "holds a formula"),
        ({"note": '=HYPERLINK("http://x.invalid","?")'}, "holds a formula"),
        ({"reading": ArrayFormula("F5", "=SUM(F6:F9)")}, "holds a formula"),
        ({"reading": "#N/A"}, "holds a spreadsheet error"),
        ({"tool": "C-80"}, "is not a wrench of the shop sheet; did you mean C-80ft?"),
        ({"date": "21.09.2026"}, "wanted a date as 2026-03-31"),
        ({"date": "2026-02-30"}, "wanted a date as 2026-03-31"),
        ({"date": "2026-09-14"}, "is before the job was opened, 2026-09-15"),
        ({"date": "2026-09-26"}, "lies in the future"),
        ({"note": "x" * 1001}, "is longer than 1000 characters"),
        ({"note": "a\u202eb"}, "holds a control character"),
        ({"joint": "head-stud"}, "did you mean head-studs?"),
        ({"joint": None}, "the row does not say what was read"),
        ({"fastener": 9}, "head-studs has the numbers 1 to 8"),
        ({"fastener": 2.5}, "wanted the number of the fastener"),
        ({"fastener": 2}, "is there already, in row"),
    ],
)
def test_a_cell_that_cannot_be_taken_refuses_the_whole_form_with_its_place(
    form, bench, cells, message
):
    form.fill()
    row = first_torque(form)
    form.put("Torque", row, **cells)
    told = refused(form.save(), bench)
    assert message in told
    assert "filled.xlsx: Torque!" in told
    assert re.search(rf"Torque!?[A-K ]*(row )?({row}|{row + 1})\b", told)


def test_a_decimal_comma_is_read_by_rule_and_told(form, bench):
    form.fill()
    row = first_torque(form)
    form.put("Torque", row, reading="37,5")
    one = taken(form.save(), bench)["torque", "head-studs", 1]
    assert one.entry.given == "37.5 ft·lbf"
    assert "decimal comma: 37,5 read as 37.5" in remarks(one)
    assert "stored as text" in one.written.text


@pytest.mark.parametrize(
    ("cells", "level", "text"),
    [
        ({"reading": 42.5}, "hold", "1.50 ft·lbf above the window, 33 to 41 ft·lbf"),
        ({"reading": 30}, "hold", "3.00 ft·lbf below the window"),
        ({"unit": "N·m"}, "hold", "likely ft·lbf written as N·m (a factor of 1.356)"),
        ({"unit": "in·lbf"}, "hold", "likely ft·lbf written as in·lbf (a factor of 12)"),
        ({"reading": 50, "unit": "N·m"}, "query", "C-80ft is marked in ft·lbf"),
        ({"tool": "D-75ft"}, "hold", "D-75ft: calibration expired on 2026-08-31, 21 d before"),
        ({"tool": "D-75ft"}, "query", "the job card names C-80ft for head-studs"),
        ({"tool": "C-400"}, "hold", "is not on it"),
        ({"tool": None}, "query", "no tool is named"),
        ({"date": None}, "query", "no date"),
        ({"by": None}, "query", "nobody is named"),
    ],
)
def test_a_reading_that_stands_against_the_plan_is_taken_with_a_remark(
    form, bench, cells, level, text
):
    form.fill()
    form.put("Torque", first_torque(form), **cells)
    found = taken(form.save(), bench)
    one = found["torque", "head-studs", 1]
    assert any(remark.level == level and text in remark.text for remark in one.remarks), remarks(
        one
    )
    assert text in one.written.text
    others = [o for key, o in found.items() if key != ("torque", "head-studs", 1)]
    assert not any(other.remarks for other in others)


def test_a_form_filled_in_the_wrong_unit_is_caught_in_every_row(form, bench):
    form.fill()
    for row in form.rows("Torque"):
        form.put("Torque", row, unit="N·m")
    found = taken(form.save(), bench)
    wrong = [one for one in found.values() if "the unit looks wrong" in remarks(one)]
    right = {"valve-plugs", "outlet-manifold"}  # their wrenches read N·m
    expected = [one for one in found.values()
                if one.entry.kind == "torque" and one.entry.subject not in right]  # fmt: skip
    assert wrong == expected and len(wrong) == 3 + 8 + 6
    assert all(one.level == "hold" for one in wrong)


def test_sizes_in_the_wrong_unit_are_caught(form, bench):
    form.fill()
    for row in form.rows("Measurements"):
        form.put("Measurements", row, unit="mm")
    found = taken(form.save(), bench)
    sizes = [one for one in found.values() if one.entry.kind == "measurement"]
    assert all("likely in written as mm (a factor of 25.4)" in remarks(one) for one in sizes)


def test_a_test_pressure_in_the_wrong_unit_is_caught(form, bench):
    row = form.rows("Test")[0]
    form.put("Test", row, reading=1000, unit="bar", tool="G-2000psi", date="2026-09-22", by="x")
    one = taken(form.save(), bench)["test", "pressure", None]
    assert "likely psi written as bar" in remarks(one)


def test_swapped_columns_are_named_and_nothing_else_is(form, bench):
    form.fill()
    for row in form.rows("Torque"):
        reading, number = form.cell("Torque", row, "Reading"), form.cell("Torque", row, "Fastener")
        reading.value, number.value = number.value, reading.value
    told = refused(form.save(), bench)
    assert told.count("\n") == 0
    assert "the columns fastener and reading look swapped in" in told


@pytest.mark.parametrize(("one", "other"), [("Unit", "Tool"), ("Unit", "Date"), ("Tool", "Date")])
def test_other_swaps_are_named_too(form, bench, one, other):
    form.fill()
    for row in form.rows("Torque"):
        form.put("Torque", row, date="2026-09-21")
        a, b = form.cell("Torque", row, one), form.cell("Torque", row, other)
        a.value, b.value = b.value, a.value
    told = refused(form.save(), bench)
    assert f"the columns {one.lower()} and {other.lower()} look swapped" in told


def test_limits_written_where_the_sizes_belong_are_caught(form, bench):
    form.fill()
    limits = bench.case.model.wear_limits
    for row in form.rows("Measurements"):
        limit = limits[form.cell("Measurements", row, "Part").value].reuse_limit
        form.put("Measurements", row, reading=limit.to("in"))
    assert "the measured column and the limit look swapped" in refused(form.save(), bench)


def test_one_size_at_its_limit_is_no_swap(form, bench):
    form.fill()
    row = form.rows("Measurements")[0]
    form.put("Measurements", row, reading=0.748)
    assert not taken(form.save(), bench)["measurement", "plunger-1", None].remarks


def test_an_odd_one_out_of_its_lot_is_asked_about(form, bench):
    form.fill()
    row = first_torque(form)
    form.put("Torque", row + 3, reading=40)  # inside its window, yet not like its neighbours
    number = form.cell("Torque", row + 3, "Fastener").value
    found = taken(form.save(), bench)
    odd = found["torque", "head-studs", number]
    assert [remark.level for remark in odd.remarks] == ["query"]
    assert "does not go with the other 7: their median is 37.00 ft·lbf" in remarks(odd)
    assert sum(bool(one.remarks) for one in found.values()) == 1


@pytest.mark.parametrize("note", ["two\nlines", "a\u00a0b", "½ turn – “ok”", "旋盤"])
def test_a_note_is_kept_as_it_was_written(form, bench, note):
    form.fill()
    form.put("Torque", first_torque(form), note=note)
    assert taken(form.save(), bench)["torque", "head-studs", 1].written.text == note


def test_the_form_of_another_job_is_refused(form, bench):
    form.fill().book[MARKS]["B3"].value = "TW-2607"
    assert "is the form of another job; the card has TW-2602" in refused(form.save(), bench)


def test_a_form_of_another_version_is_refused(form, bench):
    form.fill().book[MARKS]["B2"].value = "0"
    assert "is a form of another version; wanted 1" in refused(form.save(), bench)


def test_a_form_of_an_older_model_sheet_is_taken_with_a_query(form, bench):
    form.fill()
    marks = form.book[MARKS]
    row = next(cell.row for cell in marks["A"] if cell.value == "model sheet")
    marks.cell(row, 2).value = "0" * 64
    found = read(form.save(), bench)
    assert "the model sheet has changed since the form was written" in found.told
    assert all("older model sheet" in remarks(one) for one in found.taken)


def test_a_window_other_than_the_plans_is_asked_about(form, bench):
    form.fill()
    form.put("Torque", first_torque(form), **{"window wanted": "30 to 50 ft·lbf"})
    one = taken(form.save(), bench)["torque", "head-studs", 1]
    assert "the form shows '30 to 50 ft·lbf', the plan has '33 to 41 ft·lbf'" in remarks(one)


def test_another_wrench_on_the_card_since_is_no_change_of_the_window(form, bench):
    joint = replace(bench.joints["head-studs"], tool="E-200", named=False)
    now = replace(bench, joints={**bench.joints, "head-studs": joint})
    found = taken(form.fill().save(), now)
    assert not any(one.remarks for one in found.values())


def test_a_spreadsheet_that_is_no_form_is_refused(bench, tmp_path):
    book = openpyxl.Workbook()
    book.save(tmp_path / "other.xlsx")
    assert "its hidden sheet is not there" in refused(tmp_path / "other.xlsx", bench)


def test_what_is_not_of_the_form_is_told(form, bench):
    form.fill()
    form.book.create_sheet("Shopping")["A1"] = "tea"
    page = form.book["Torque"]
    page.cell(6, 14).value = "see photo"
    del form.book["Signatures"]
    found = read(form.save(), bench)
    assert "the sheet Shopping is not of the form; nothing of it was read" in found.told
    assert "Torque: column N is not of the form; its 1 cells were not read" in found.told
    assert "the sheet Signatures is not there" in found.told


def test_rows_that_are_gone_are_told(form, bench):
    form.fill().book["Torque"].delete_rows(6, 2)
    found = read(form.save(), bench)
    assert "Torque: 2 rows of the form not there" in found.told


def test_merged_cells_are_refused(form, bench):
    form.fill().book["Torque"].merge_cells("F5:F6")
    assert "Torque!F5:F6: cells are merged" in refused(form.save(), bench)


def test_a_heading_that_is_gone_or_there_twice_is_refused(form, bench):
    form.fill()
    form.cell("Torque", 4, "Unit").value = "Note"
    told = refused(form.save(), bench)
    assert "the columns Unit are not there" in told and "the heading Note is there twice" in told


def test_a_signature_is_a_name_and_a_day(form, bench):
    sheet = form.book["Signatures"]
    rows = {sheet.cell(row, 1).value: row for row in range(1, sheet.max_row + 1)}
    points = [name for name, step in bench.case.model.assembly.items() if step.hold_point]
    assert [name for name in rows if name in {*points, "fitter", "checker"}] == [
        *points,
        "fitter",
        "checker",
    ]
    sheet[f"C{rows['fitter']}"] = "bench 1"
    sheet[f"D{rows['fitter']}"] = datetime.datetime(2026, 9, 22)
    sheet[f"C{rows[points[0]]}"] = "I. Varga"
    sheet[f"D{rows[points[0]]}"] = datetime.datetime(2026, 9, 21)
    found = taken(form.save(), bench)
    one = found["signature", "fitter", None]
    assert (one.entry.by, one.entry.on, one.entry.si) == ("bench 1", "2026-09-22", None)
    assert found["signature", points[0], None].entry.by == "I. Varga"
    sheet[f"C{rows['fitter']}"] = None
    assert "a signature is a name" in refused(form.save(), bench)


def zipped(path, parts):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            file.writestr(name, data)
    return path


def test_hostile_files_are_refused_before_they_are_opened(form_bytes, bench, tmp_path):
    bomb = zipped(tmp_path / "bomb.xlsx", {"xl/sheet.xml": b" " * (LARGEST_UNPACKED + 1)})
    assert bomb.stat().st_size < 100_000
    assert "unpacks to more than 20 MB" in refused(bomb, bench)
    crowd = zipped(tmp_path / "crowd.xlsx", {f"{place}.xml": b"" for place in range(301)})
    assert "unpacks to more than 20 MB or 300 parts" in refused(crowd, bench)
    large = tmp_path / "large.xlsx"
    large.write_bytes(b"PK" + b"\0" * LARGEST_FILE)
    assert "a form has at most 5 MB" in refused(large, bench)
    (tmp_path / "text.xlsx").write_text("joint,reading\n", encoding="utf-8")
    assert "is no spreadsheet" in refused(tmp_path / "text.xlsx", bench)
    with zipfile.ZipFile(BytesIO(form_bytes)) as file:
        parts = {name: file.read(name) for name in file.namelist()}
    evil = b'<!DOCTYPE a [<!ENTITY b "c">]>' + parts["xl/workbook.xml"]
    entities = zipped(tmp_path / "entities.xlsx", {**parts, "xl/workbook.xml": evil})
    assert "declares a document type" in refused(entities, bench)
    macros = zipped(tmp_path / "macros.xlsx", {**parts, "xl/vbaProject.bin": b"x"})
    assert "holds macros" in refused(macros, bench)
    broken = zipped(tmp_path / "broken.xlsx", {**parts, "xl/workbook.xml": b"<workbook"})
    assert "cannot be opened as a spreadsheet" in refused(broken, bench)
    assert "cannot be read: no such file" in refused(tmp_path / "gone.xlsx", bench)
    assert "is a folder" in refused(
        tmp_path.joinpath("d.xlsx").mkdir() or tmp_path / "d.xlsx", bench
    )


def test_a_sheet_that_reaches_to_its_last_row_is_refused_at_once(form, bench):
    form.fill().book["Torque"].cell(1_048_576, 1).value = "x"
    assert "has 1048576 rows" in refused(form.save(), bench)


def test_a_size_that_a_zip_lies_about_does_not_pass(bench, tmp_path):
    path = zipped(tmp_path / "liar.xlsx", {"xl/sheet.xml": b" " * (LARGEST_UNPACKED + 10)})
    raw = bytearray(path.read_bytes())
    size = (LARGEST_UNPACKED + 10).to_bytes(4, "little")
    assert raw.count(size) == 2
    path.write_bytes(bytes(raw).replace(size, (1000).to_bytes(4, "little")))
    assert refused(path, bench)


# a spreadsheet holds 15 figures
READINGS = st.one_of(
    st.floats(1e-3, 1e6, allow_nan=False).map(lambda value: float(f"{value:.15g}")),
    st.integers(1, 10**9),
    st.decimals(1, 999, places=3),
)


@pytest.fixture(scope="module")
def filled(form_bytes, tmp_path_factory):
    """A form whose torque readings can be put in again and again."""
    return openpyxl.load_workbook(BytesIO(form_bytes)), tmp_path_factory.mktemp("round")


@settings(max_examples=10, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_every_number_comes_back_as_it_was_put_in(filled, bench, data):
    book, folder = filled
    page = book["Torque"]
    rows = [row for row in range(5, page.max_row + 1) if page.cell(row, 1).value]
    values = data.draw(st.lists(READINGS, min_size=len(rows), max_size=len(rows)))
    for row, value in zip(rows, values, strict=True):
        for column, cell in ((6, value), (7, "N·m"), (8, "C-80ft"), (9, "2026-09-21"), (10, "x")):
            page.cell(row, column).value = cell
    book.save(folder / "filled.xlsx")
    found = taken(folder / "filled.xlsx", bench)
    assert len(found) == len(rows)
    for row, value in zip(rows, values, strict=True):
        entry = found["torque", page.cell(row, 1).value, page.cell(row, 3).value].entry
        assert entry.si == float(value)
        assert float(entry.given.removesuffix(" N·m")) == float(value)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_saved_by_libreoffice_every_value_is_the_same(form, bench, tmp_path):
    form.fill()
    row = first_torque(form)
    form.put("Torque", row, reading=36.8, note="stud 1, ½ turn back; “again” = ok")
    form.put("Torque", row + 1, reading="37,5")
    plain = read(form.save(), bench)
    (tmp_path / "out").mkdir()
    subprocess.run(
        ["soffice", f"-env:UserInstallation=file://{tmp_path}/profile", "--headless",
         "--convert-to", "xlsx", "--outdir", tmp_path / "out", tmp_path / "filled.xlsx"],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
    again = read(tmp_path / "out" / "filled.xlsx", bench)
    assert not again.problems
    assert [one.written for one in again.taken] == [one.written for one in plain.taken]
    assert again.told == plain.told
