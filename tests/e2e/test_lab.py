"""The start page of the lab, and notebooks laid into a folder that has none."""

import json
import os
import shutil
import subprocess
import sys
import time
import urllib.request
from pathlib import Path
from urllib.parse import unquote

import pytest

from rebuildbook.commands.lab import open_lab
from rebuildbook.commands.start_page import START, lay_notebooks, write_start

ROOT = Path(__file__).resolve().parents[2]


def texts(folder):
    cells = json.loads(write_start(folder).read_text(encoding="utf-8"))["cells"]
    assert {cell["cell_type"] for cell in cells} == {"markdown"}
    return ["".join(cell["source"]) for cell in cells]


def links(folder, words):
    from mistune import create_markdown

    def found(tokens):
        for token in tokens:
            if token["type"] == "link":
                yield token["attrs"]["url"]
            yield from found(token.get("children", []))

    urls = found(create_markdown(renderer=None, plugins=["table"])(words))
    return [((folder / START).parent / unquote(url)).resolve() for url in urls]


@pytest.fixture
def desk(tmp_path):
    folder = tmp_path / "Ünser desk (2)"
    (folder / "parameters").mkdir(parents=True)
    shutil.copytree(ROOT / "parameters" / "jobs", folder / "parameters" / "jobs")
    shutil.copytree(ROOT / "parameters" / "models", folder / "parameters" / "models")
    shutil.copy(ROOT / "parameters" / "shop.yaml", folder / "parameters")
    return folder


def test_every_link_of_the_start_page_leads_to_a_file(desk):
    lay_notebooks(desk)
    all_links = [link for words in texts(desk) for link in links(desk, words)]
    assert all(link.is_file() for link in all_links)
    names = {link.relative_to(desk).as_posix() for link in all_links}
    ours = {path.relative_to(ROOT).as_posix() for path in (ROOT / "notebooks").rglob("*.ipynb")}
    assert ours <= names
    assert {
        path.relative_to(desk).as_posix() for path in desk.rglob("parameters/**/*.yaml")
    } <= names


def test_what_was_made_of_a_card_is_linked(desk):
    made = desk / "outputs" / "TW-2602"
    made.mkdir(parents=True)
    for name in ("worksheet.html", "worksheet.pdf"):
        (made / name).write_text("x", encoding="utf-8")
    card = "parameters/jobs/TW-2602.yaml"
    from rebuildbook.batch.resume import Made, read_made, write_made

    write_made(Made("TW-2602", ("S",), card, (), {}), made)
    assert read_made(made) is not None
    rows = [line for words in texts(desk) for line in words.splitlines() if "2602" in line]
    assert len(rows) == 1
    assert "TW-2602/worksheet.html" in rows[0]
    assert "TW-2602/worksheet.pdf" in rows[0]


def test_words_of_a_card_are_no_markup(desk):
    card = desk / "parameters" / "jobs" / "TW-2601.yaml"
    text = card.read_text(encoding="utf-8")
    head, _, rest = text.partition("why: >-\n")
    _, _, rest = rest.partition("remarks:")
    why = r'why: "![x](http://a.b/c) <img src=x onerror=y> | $x$ [l](m) `c`"'
    card.write_text(f"{head}{why}\nremarks:{rest}", encoding="utf-8")
    (desk / "parameters" / "jobs" / "broken.yaml").write_text("kind: job\n  a: [", encoding="utf-8")
    from mistune import create_markdown

    page = create_markdown(plugins=["table", "math"], escape=False)("\n\n".join(texts(desk)))
    assert "<img" not in page
    assert 'href="http' not in page
    assert "broken" in page
    assert "cannot be read" in page


def test_notebooks_of_the_user_stay(desk):
    own = desk / "notebooks" / "welcome.ipynb"
    own.parent.mkdir()
    own.write_text("mine", encoding="utf-8")
    laid = lay_notebooks(desk)
    assert own.read_text(encoding="utf-8") == "mine"
    assert own not in laid
    assert laid
    assert lay_notebooks(desk) == []
    assert any("welcome" in words for words in texts(desk))


def test_a_folder_without_sheets_says_what_to_do(tmp_path):
    assert any("rebuildbook new job" in words for words in texts(tmp_path))


def test_what_is_no_folder_is_refused(tmp_path, capsys):
    assert open_lab(tmp_path / "none", browser=False) == 2
    assert "is not a folder" in capsys.readouterr().err
    (tmp_path / "outputs").write_text("a file", encoding="utf-8")
    assert open_lab(tmp_path, browser=False) == 2
    assert "outputs" in capsys.readouterr().err


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_the_lab_opens_at_its_start_page(desk):
    environment = os.environ | {
        "JUPYTER_RUNTIME_DIR": str(desk / "run"),
        "JUPYTER_CONFIG_DIR": str(desk / "config"),
        "JUPYTER_TOKEN": "t",
    }
    (desk / "config").mkdir()
    allowed = {"ServerApp": {"allow_root": True}}  # in a container it may be root that tests
    (desk / "config" / "jupyter_server_config.json").write_text(json.dumps(allowed))
    command = [sys.executable, "-m", "rebuildbook", "lab", str(desk), "--no-browser"]
    with subprocess.Popen(command, env=environment, stderr=subprocess.DEVNULL) as lab:
        try:
            last, served = time.monotonic() + 60, []
            while not served:
                assert time.monotonic() < last
                assert lab.poll() is None
                time.sleep(0.2)
                served = list((desk / "run").glob("jpserver-*.json"))
                served = [path for path in served if path.stat().st_size]
            address = json.loads(served[0].read_text(encoding="utf-8"))["url"]
            with urllib.request.urlopen(f"{address}?token=t", timeout=60) as answer:  # noqa: S310
                assert unquote(answer.url).split("?")[0] == f"{address}lab/tree/{START.as_posix()}"
        finally:
            lab.terminate()
            lab.wait(30)
