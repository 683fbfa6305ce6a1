"""``rebuildbook fleet``: its files, what it says, and what it refuses with nothing written."""

import json
import shutil
import sqlite3
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app

ROOT = Path(__file__).resolve().parents[2]
ENDINGS = ("html", "pdf", "ipynb", "json", "xlsx", "cards.json")
FILES = {f"fleet.{ending}" for ending in ENDINGS}


@pytest.fixture
def shop(tmp_path, monkeypatch):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def rebuildbook(*arguments):
    result = CliRunner().invoke(app, ["fleet", *(str(argument) for argument in arguments)])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_five_files_in_a_folder_of_their_own_and_bad_cards_told(shop):
    bad = shop / "parameters" / "jobs" / "TW-2604.yaml"
    good = len(list(bad.parent.glob("*.yaml"))) - 1
    bad.write_text(bad.read_text("utf-8").replace("model: slip", "model: slop"), "utf-8")
    result = rebuildbook("parameters/jobs", "--on", "2026-11-25")
    assert result.exit_code == 2
    assert "slop-piston-4b" in result.stderr and "left out" in result.stderr
    assert "fleet sheet in outputs/fleet" in result.stdout
    folder = shop / "outputs" / "fleet"
    assert {path.name for path in folder.iterdir()} == FILES
    assert {path.name for path in (shop / "outputs").iterdir()} <= {"fleet", ".lock"}
    found = json.loads((folder / "fleet.json").read_text(encoding="utf-8"))
    assert found["date"] == "2026-11-25" and found["job"] == f"{good} jobs"
    (jobs,) = [table for table in found["tables"] if table["name"] == "jobs"]
    assert len(jobs["rows"]) == good
    book = openpyxl.load_workbook(folder / "fleet.xlsx")
    assert book["jobs"].max_row == good + 1  # and the heads
    page = (folder / "fleet.html").read_text(encoding="utf-8")
    assert "Control chart" in page and "<script" not in page
    assert (folder / "fleet.pdf").read_bytes().startswith(b"%PDF")
    assert str(shop) not in (folder / "fleet.ipynb").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("parameters/models",), "holds no job cards"),
        (("parameters/jobs", "--ledger", "none.sqlite"), "there is no such file"),
        (("parameters/jobs", "--ledger", "broken.sqlite"), "broken.sqlite"),
        (("parameters/jobs", "--out", "parameters"), "is no folder of a fleet sheet alone"),
        (("parameters/jobs", "--out", "broken.sqlite"), "wanted a folder of its own"),
        (("parameters/jobs", "--out", "broken.sqlite/fleet"), "cannot be written"),
        (("parameters/jobs", "--on", "tomorrow"), "--on"),
        (("parameters/jobs", "--paper", "a3"), "wanted a4 or letter"),
    ],
)
def test_what_cannot_be_made_is_refused_with_nothing_written(shop, arguments, message):
    (shop / "broken.sqlite").write_text("no ledger", encoding="utf-8")
    before = sorted((shop / "parameters").rglob("*"))
    result = rebuildbook(*arguments)
    assert result.exit_code == 2, result.stdout
    assert message in result.stderr
    assert not (shop / "outputs" / "fleet").exists()
    assert sorted((shop / "parameters").rglob("*")) == before


def test_a_ledger_of_another_kind_is_refused(shop):
    with sqlite3.connect("other.sqlite") as connection:
        connection.execute("CREATE TABLE entries (id INTEGER)")
    result = rebuildbook("parameters/jobs", "--ledger", "other.sqlite")
    assert result.exit_code == 2 and "other.sqlite" in result.stderr
