"""``rebuildbook form`` and ``read``: what is printed, what is kept, and what is left alone."""

import shutil
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app
from rebuildbook.record.ledger import Ledger

ROOT = Path(__file__).resolve().parents[2]
READINGS = """\
job: TW-2602
on: 2026-09-21
by: bench 1
torque_readings:
  plunger-screws: [21 ft-lb, 21 ft-lb]
"""


@pytest.fixture
def shop(tmp_path, monkeypatch):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    (tmp_path / "readings.yaml").write_text(READINGS, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


CARD = "parameters/jobs/TW-2602.yaml"


def rebuildbook(*arguments):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def kept(shop):
    return Ledger(shop / "parameters" / "ledger.sqlite").entries()


def test_a_form_is_written_and_never_over_another(shop):
    result = rebuildbook("form", CARD)
    assert result.exit_code == 0
    assert result.stdout.startswith("readings-TW-2602.xlsx written: 29 torques, 5 sizes, ")
    filled = shop / "readings-TW-2602.xlsx"
    before = filled.read_bytes()
    again = rebuildbook("form", CARD)
    assert (again.exit_code, again.stdout) == (2, "")
    assert "is there already, perhaps filled in; it is not overwritten" in again.stderr
    assert filled.read_bytes() == before
    assert rebuildbook("form", CARD, "--out", "bench/two.xlsx").exit_code == 0
    assert [path.name for path in (shop / "bench").iterdir()] == ["two.xlsx"]


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["gone.yaml"], "cannot be read: no such file or directory"),
        ([CARD, "--out", "form.ods"], "wanted a name that ends in .xlsx"),
        ([CARD, "--out", f"{CARD}/form.xlsx"], "cannot be written"),
    ],
)
def test_a_form_that_cannot_be_written_is_refused(shop, arguments, message):
    result = rebuildbook("form", *arguments)
    assert result.exit_code == 2 and message in result.stderr


def test_readings_are_kept_once(shop):
    result = rebuildbook("read", CARD, "readings.yaml")
    assert result.exit_code == 0, result.stderr
    assert "readings.yaml: 2 taken; ledger parameters/ledger.sqlite" in result.stdout
    assert "every reading: told: the tool is the one on the job card" in result.stdout
    first = kept(shop)
    assert [(one.entry.subject, one.entry.number) for one in first] == [
        ("plunger-screws", 1), ("plunger-screws", 2),
    ]  # fmt: skip
    again = rebuildbook("read", CARD, "readings.yaml")
    assert "0 taken, 2 on record already" in again.stdout
    assert kept(shop) == first


def test_a_form_filled_in_stages_brings_in_what_is_new(shop):
    rebuildbook("read", CARD, "readings.yaml")
    more = (
        READINGS.replace("21 ft-lb]", "21 ft-lb, 22 ft-lb]") + "measured: {plunger-1: 0.7494 in}\n"
    )
    (shop / "readings.yaml").write_text(more, encoding="utf-8")
    result = rebuildbook("read", CARD, "readings.yaml")
    assert "2 taken, 2 on record already" in result.stdout
    assert [one.entry.given for one in kept(shop)] == ["21 ft-lb"] * 2 + ["22 ft-lb", "0.7494 in"]


def test_a_reading_changed_in_its_file_is_a_correction_and_not_taken(shop):
    rebuildbook("read", CARD, "readings.yaml")
    (shop / "readings.yaml").write_text(READINGS.replace("[21", "[22"), encoding="utf-8")
    result = rebuildbook("read", CARD, "readings.yaml")
    assert result.exit_code == 2
    assert (
        "was read from here before as entry 1 (21 ft-lb, C-80ft, 2026-09-21, bench 1)"
        in result.stderr
    )
    assert len(kept(shop)) == 2


def test_a_second_reading_from_elsewhere_is_taken_with_a_query(shop):
    rebuildbook("read", CARD, "readings.yaml")
    (shop / "again.yaml").write_text(READINGS.replace("[21", "[22"), encoding="utf-8")
    result = rebuildbook("read", CARD, "again.yaml")
    assert result.exit_code == 0
    assert "query: on record already as entry 1: 21 ft-lb" in result.stdout
    assert "2 taken, 2 with a query" in result.stdout


def test_a_dry_run_shows_and_writes_nothing(shop):
    result = rebuildbook("read", CARD, "readings.yaml", "readings.yaml", "--dry")
    assert result.exit_code == 0
    assert "2 would be taken; nothing was written" in result.stdout
    assert "0 would be taken, 2 on record already; nothing was written" in result.stdout
    assert not (shop / "parameters" / "ledger.sqlite").exists()


def test_one_bad_file_does_not_stop_the_good_one_and_is_not_taken(shop):
    (shop / "bad.yaml").write_text(READINGS.replace("21 ft-lb]", "21]"), encoding="utf-8")
    result = rebuildbook("read", CARD, "bad.yaml", "readings.yaml")
    assert result.exit_code == 2
    assert "bad.yaml:5: torque_readings.plunger-screws.1: '21' has no unit" in result.stderr
    assert "bad.yaml: 1 problem; nothing of this file was taken" in result.stderr
    assert {one.entry.came_from.split(",")[0] for one in kept(shop)} == {"readings.yaml"}


def test_readings_with_a_hold_are_kept_with_it(shop):
    (shop / "readings.yaml").write_text(READINGS.replace("ft-lb", "N*m"), encoding="utf-8")
    result = rebuildbook("read", CARD, "readings.yaml")
    assert result.exit_code == 0
    assert "2 taken, 2 with a hold" in result.stdout
    assert all("likely ft·lbf written as N·m" in one.entry.text for one in kept(shop))


def test_the_ledger_may_lie_elsewhere(shop):
    rebuildbook("read", CARD, "readings.yaml", "--ledger", "other.sqlite")
    assert len(Ledger(shop / "other.sqlite").entries()) == 2
    assert not (shop / "parameters" / "ledger.sqlite").exists()


def test_a_ledger_that_is_none_is_refused(shop):
    (shop / "other.sqlite").write_text("not a ledger, but a text that is long enough" * 50)
    result = rebuildbook("read", CARD, "readings.yaml", "--ledger", "other.sqlite")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "other.sqlite" in result.stderr


CSV = "Program,No.,Peak,Unit,Date\nP3,1,21,ft-lb,2026-09-21\n"
MAP = """\
kind: columns
columns: {joint: Program, fastener: No., reading: Peak, unit: Unit, date: Date}
names: {P3: plunger-screws}
fixed: {tool: C-80ft, by: bench 1}
"""


def test_csv_goes_by_a_map_in_a_file_or_in_the_shop_sheet(shop):
    (shop / "log.csv").write_text(CSV, encoding="utf-8")
    (shop / "columns.yaml").write_text(MAP, encoding="utf-8")
    assert "needs a column map" in rebuildbook("read", CARD, "log.csv").stderr
    assert rebuildbook("read", CARD, "log.csv", "--map", "columns.yaml").exit_code == 0
    sheet = shop / "parameters" / "shop.yaml"
    lines = [f"    {line}\n" for line in MAP.splitlines()[1:]]
    text = sheet.read_text("utf-8")
    more = "wrench_files:\n  bench-log:\n" + "".join(lines)
    sheet.write_text(text.replace("wrench_files:\n", more), "utf-8")
    again = rebuildbook("read", CARD, "log.csv", "--map", "bench-log")
    assert "0 taken, 1 on record already" in again.stdout, again.stderr
    wrong = rebuildbook("read", CARD, "log.csv", "--map", "bench-lock")
    assert (wrong.exit_code, wrong.stdout) == (2, "")
    assert "did you mean bench-log?" in wrong.stderr


def test_a_map_that_is_none_is_refused(shop):
    (shop / "columns.yaml").write_text(MAP.replace("reading:", "readout:"), encoding="utf-8")
    (shop / "log.csv").write_text(CSV, encoding="utf-8")
    result = rebuildbook("read", CARD, "log.csv", "--map", "columns.yaml")
    assert result.exit_code == 2
    assert "columns.reading: is missing" in result.stderr


def test_the_form_goes_all_the_way_into_the_ledger(shop):
    rebuildbook("form", CARD)
    book = openpyxl.load_workbook("readings-TW-2602.xlsx")
    for column, value in enumerate((21, "ft·lbf", "C-80ft", "2026-09-21", "bench 1"), 6):
        book["Torque"].cell(5, column).value = value
    book.save("readings-TW-2602.xlsx")
    assert rebuildbook("read", CARD, "readings-TW-2602.xlsx").exit_code == 0
    (one,) = kept(shop)
    assert (one.entry.subject, one.entry.number, one.entry.given) == (
        "plunger-screws",
        1,
        "21 ft·lbf",
    )
    assert one.entry.came_from == "readings-TW-2602.xlsx, Torque, row 5"


def test_check_takes_a_column_map_for_a_sheet_and_run_does_not_take_it_for_a_card(shop):
    (shop / "parameters" / "columns.yaml").write_text(MAP, encoding="utf-8")
    assert rebuildbook("check", "parameters").exit_code == 0


def test_the_map_of_the_demo_reads_what_its_wrench_writes(shop):
    log = (
        "E-200 export\nserial 4711\nProgram;Bolt;Peak [N·m];Stamp;Operator\n"
        "PLUGS;1;60,5;21.09.2026 10:05:00;Jörg\nPLUGS;2;121,0;21.09.2026 10:05:20;Jörg\n"
        "PLUGS;1;120,5;21.09.2026 10:05:40;Jörg\n"
    )
    (shop / "log.csv").write_text(log, encoding="latin-1")
    result = rebuildbook("read", CARD, "log.csv", "--map", "e-200")
    assert result.exit_code == 0, result.stderr
    assert "1 earlier readings of the same fasteners left out, as the map says" in result.stdout
    assert [(one.entry.number, one.entry.given, one.entry.by) for one in kept(shop)] == [
        (2, "121.0 N·m", "Jörg"), (1, "120.5 N·m", "Jörg"),
    ]  # fmt: skip
    assert "read in the order 2 1; the last round is 1 2" in result.stdout
