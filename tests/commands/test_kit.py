"""``rebuildbook kit``: the list for the stores, printed and as a spreadsheet."""

import shutil
from pathlib import Path

import openpyxl
import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def shop(tmp_path, monkeypatch):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def rebuildbook(*arguments):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def test_a_batch_is_added_up(shop):
    result = rebuildbook("kit", "parameters/jobs/TW-2602.yaml", "parameters/jobs/TW-2606.yaml")
    assert result.exit_code == 0, result.stderr
    assert result.stdout.startswith("Kit for TW-2602, TW-2606\n")
    (cups,) = (line for line in result.stdout.splitlines() if "K-019" in line)
    assert cups.split()[0] == "6" and cups.rstrip().endswith("TW-2602 3, TW-2606 3")
    assert "Consumables: " in result.stdout
    assert not list(shop.glob("*.xlsx"))


def test_a_spreadsheet_is_written_over_the_last_one(shop):
    for card in ("TW-2601", "TW-2602"):
        result = rebuildbook("kit", f"parameters/jobs/{card}.yaml", "--out", "stores/kit.xlsx")
        assert result.exit_code == 0
    book = openpyxl.load_workbook("stores/kit.xlsx")
    assert {row[0] for row in book["By job"].iter_rows(min_row=2, values_only=True)} == {"TW-2602"}
    assert [path.name for path in (shop / "stores").iterdir()] == ["kit.xlsx"]


def test_what_is_on_record_counts(shop):
    card = "parameters/jobs/TW-2602.yaml"
    assert not any("WP-301" in line for line in rebuildbook("kit", card).stdout.splitlines())
    text = "job: TW-2602\non: 2026-09-21\nby: bench 1\nmeasured: {plunger-2: 0.7401 in}\n"
    (shop / "readings.yaml").write_text(text, encoding="utf-8")
    assert rebuildbook("read", card, "readings.yaml").exit_code == 0
    (line,) = (one for one in rebuildbook("kit", card).stdout.splitlines() if "WP-301" in one)
    assert line.split()[0] == "1"


def test_a_batch_with_a_bad_card_is_refused_whole(shop):
    bad = shop / "parameters" / "jobs" / "TW-2601.yaml"
    bad.write_text(bad.read_text("utf-8").replace("model: slip", "model: slop"), "utf-8")
    result = rebuildbook("kit", "parameters/jobs", "--out", "kit.xlsx")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "did you mean slip-piston-4b?" in result.stderr
    assert not (shop / "kit.xlsx").exists()


def test_two_cards_of_one_job_are_refused(shop):
    shutil.copy(shop / "parameters/jobs/TW-2601.yaml", shop / "parameters/jobs/copy.yaml")
    result = rebuildbook("kit", "parameters/jobs")
    assert result.exit_code == 2 and "would be drawn twice" in result.stderr


@pytest.mark.parametrize(
    ("out", "message"),
    [("kit.csv", "wanted a name that ends in .xlsx"), ("parameters/shop.yaml/k.xlsx", "cannot be")],
)
def test_a_place_that_cannot_be_written_is_refused(shop, out, message):
    result = rebuildbook("kit", "parameters/jobs/TW-2601.yaml", "--out", out)
    assert result.exit_code == 2 and message in result.stderr
