"""``rebuildbook photo``: kept all or none, on record, without place and time."""

import io
import shutil
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

from rebuildbook.cli import app
from rebuildbook.record.ledger import Ledger
from rebuildbook.record.photo import PHOTOS

ROOT = Path(__file__).resolve().parents[2]
CARD = "parameters/jobs/TW-2602.yaml"


@pytest.fixture
def shop(tmp_path, monkeypatch):
    shutil.copytree(ROOT / "parameters", tmp_path / "parameters")
    monkeypatch.chdir(tmp_path)
    for name, colour in (("a.jpg", "red"), ("b.jpg", "blue")):
        exif = Image.Exif()
        exif[0x010F] = "Marlpit"
        made = io.BytesIO()
        Image.new("RGB", (64, 48), colour).save(made, "JPEG", exif=exif)
        (tmp_path / name).write_bytes(made.getvalue())
    return tmp_path


def rebuildbook(*arguments):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def entries(shop):
    return [one.entry for one in Ledger(shop / "parameters" / "ledger.sqlite").entries()]


def test_photos_are_kept_and_on_record_once(shop):
    call = ("photo", CARD, "a.jpg", "b.jpg", "--of", "plunger-1", "--by", "bench 1",
            "--on", "2026-09-21")  # fmt: skip
    result = rebuildbook(*call)
    assert result.exit_code == 0, result.stderr
    assert "a.jpg: kept as parameters/photos/" in result.stdout
    kept = entries(shop)
    assert [(one.kind, one.subject, one.on, one.by) for one in kept] == [
        ("photo", "plunger-1", "2026-09-21", "bench 1")
    ] * 2
    for entry in kept:
        kept_file = shop / "parameters" / PHOTOS / f"{entry.text}.jpg"
        assert b"Marlpit" not in kept_file.read_bytes()
    again = rebuildbook(*call)
    assert again.stdout.count("(on record already)") == 2
    assert entries(shop) == kept


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["a.jpg", "--of", "plunger-one"], "did you mean plunger"),
        (["a.jpg", "--of", "unit", "--on", "2026-09-14"], "wanted a day from 2026-09-15"),
        (["a.jpg", "--of", "unit", "--on", "2999-01-01"], "wanted a day from 2026-09-15"),
        (["a.jpg", "note.jpg", "--of", "unit"], "note.jpg: is no JPEG and no PNG picture"),
        (["gone.jpg", "--of", "unit"], "cannot be read: no such file"),
    ],
)
def test_what_is_not_right_is_refused_and_nothing_kept(shop, arguments, message):
    (shop / "note.jpg").write_text("not a picture")
    result = rebuildbook("photo", CARD, *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr and len(result.stderr.strip().splitlines()) == 1
    assert not (shop / "parameters" / "photos").exists() and not entries(shop)
