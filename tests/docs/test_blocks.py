"""Every command and code block of README, DEVELOPERS and the written pages is run."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import runpy
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app

ROOT = Path(__file__).resolve().parents[2]
TOUR = "run by tests/e2e/test_tour.py"
OPENS = "opens JupyterLab until somebody closes it; tests/browser works in one"
# blocks that are only shown here, by text and first line, and why
SHOWN = {
    "README.md: python3 -m venv .venv && .venv/bin/pip install -c requirements-lock.txt -e . && "
    ".venv/bin/rebuildbook run parameters/jobs": "installs; the next one has the same install",
    "README.md: python3 -m venv .venv && .venv/bin/pip install -c requirements-lock.txt -e "
    "'.[test]' && .venv/bin/pytest": "it is what .ci/run runs",
    "README.md: job      holds  queries  seconds": "what a run says; its seconds differ",
    "README.md: rebuildbook run parameters/jobs/TW-2613.yaml --sheet worksheet --sheet traveller":
    TOUR,
    "README.md: rebuildbook read parameters/jobs/TW-2613.yaml "
    "parameters/readings/TW-2613-strip.yaml": TOUR,
    'README.md: rebuildbook release parameters/jobs/TW-2613.yaml --by "I. Varga" --role checker':
    TOUR,
    'README.md: rebuildbook correct 22 "34 N*m" --why "digits swapped; read again: 34" --by '
    '"bench 4"': TOUR,
    "DEVELOPERS.md: parameters/*.yaml → sheets → calculators → worksheet sections → notebook → "
    "outputs/<job>/": "a drawing",
    "DEVELOPERS.md: form, YAML, CSV → record/read_*.py → Raw → judge.py → Entry + remarks → "
    "ledger": "a drawing",
    "DEVELOPERS.md: pytest tests/benchmarks --benchmark-only": "measures for minutes",
    "README.md: rebuildbook lab": OPENS,
    "what-ifs.md: rebuildbook lab": OPENS,
    "boards.md: rebuildbook lab": OPENS,
    "teaching.md: rebuildbook lab": OPENS,
    "what-ifs.md: rebuildbook run parameters/what-if/inch-pounds.yaml --out what-if":
    "a what-if sheet is run by tests/e2e/test_what_if.py",
    "batch.md: rebuildbook run parameters/jobs --sheet all --jobs 2":
    "takes minutes; tests/e2e run folders of cards, and every sheet, with --jobs 2",
    "batch.md: rebuildbook fleet parameters/jobs --on 2026-11-25": TOUR,
    "batch.md: rebuildbook run parameters/jobs --spread dask --scheduler tcp://bench-server:8786":
    "run against a scheduler by tests/e2e/test_spread.py",
}  # fmt: skip


@pytest.fixture(scope="module")
def bench(tmp_path_factory) -> Path:
    """A folder with the demo's sheets, notebooks and, for the teacher, a class."""
    folder = tmp_path_factory.mktemp("pages")
    left_out = shutil.ignore_patterns("ledger.sqlite*", "photos", ".ipynb_checkpoints")
    for name in ("parameters", "notebooks"):
        shutil.copytree(ROOT / name, folder / name, ignore=left_out)
    lesson = (ROOT / "notebooks/lessons/1-units-and-wrenches.ipynb").read_text(encoding="utf-8")
    for name in ("Ana Ruiz", "Ben Oduya"):
        place = folder / "class" / f"{name}.ipynb"
        place.parent.mkdir(exist_ok=True)
        place.write_text(lesson.replace('learner = \\"\\"', f'learner = \\"{name}\\"'), "utf-8")
    return folder


def run_line(line: str, folder: Path) -> str:
    """Run one line of a shell block in a folder; gives what it said."""
    program, *arguments = shlex.split(line, comments=True)
    if program == "rebuildbook" and arguments[0] != "run":
        with contextlib.chdir(folder):
            result = CliRunner().invoke(app, arguments)
        assert result.exit_code == 0, (line, result.output, result.exception)
        return result.output
    if program == "python":
        dash, module, *rest = arguments
        assert dash == "-m", line
        with contextlib.chdir(folder), pytest.MonkeyPatch.context() as patch:
            patch.setattr(sys, "argv", [module, *rest])
            patch.delitem(sys.modules, module, raising=False)
            runpy.run_module(module, run_name="__main__")
        return ""
    assert program == "rebuildbook", line
    ended = subprocess.run(
        [sys.executable, "-m", "rebuildbook", *arguments],
        cwd=folder,
        env=os.environ | {"PYTHONUTF8": "1"},
        capture_output=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert ended.returncode == 0, (line, ended.stdout, ended.stderr)
    return ended.stdout


def run_block(block, folder: Path) -> str:
    match block.language:
        case "sh":
            return "".join(run_line(line, folder) for line in block.text.strip().splitlines())
        case "python":
            said = io.StringIO()
            with contextlib.chdir(folder), contextlib.redirect_stdout(said):
                exec(compile(block.text, block.name, "exec"), {})  # noqa: S102  (our own page)
            return said.getvalue()
        case "yaml":
            from rebuildbook.site.text import example

            name = re.search(r"Save this as `(\S+)`", block.above)[1]
            file = re.search(r'\{\{ example\("(\S+)"\) \}\}', block.text)[1]
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(example(file) + "\n", encoding="utf-8")
            return ""
    raise AssertionError(f"{block.name}: nobody knows how to run {block.language!r}")


@pytest.fixture(scope="module")
def said(blocks, bench, tmp_path_factory) -> dict[str, str]:
    """What each block said, run in the order of the pages; an output is that of the one above."""
    found = {}
    for block in blocks:
        if block.name in SHOWN:
            continue
        if not block.language:  # an output
            continue
        own = tmp_path_factory.mktemp("own") if "rebuildbook new" in block.text else bench
        found[block.name] = run_block(block, own)
    return found


def test_what_is_only_shown_is_on_the_list_and_nothing_else(blocks):
    names = [block.name for block in blocks]
    assert set(SHOWN) <= set(names)
    bare = [block.name for block in blocks if not block.language and block.name not in SHOWN]
    assert bare == ["README.md: TW-2611: 51 points, joints.inlet-flange.torque 5 to 30 N·m"]


def test_the_blocks_left_to_the_tour_are_in_the_tour(blocks):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    part = text[text.index("### From intake to release") : text.index("### Ask one thing")]
    for block in blocks:
        if block.page == "README.md" or SHOWN.get(block.name) == TOUR:
            assert (block.text in part) == (SHOWN.get(block.name) == TOUR), block.name


def test_the_install_that_ci_runs_is_that_of_the_first_page(blocks):
    first, tests = (next(block.text for block in blocks if block.name.startswith(start)) for start
                    in ("README.md: python3 -m venv .venv && .venv/bin/pip install -c "
                        "requirements-lock.txt -e . ", "README.md: python3 -m venv .venv && "
                        ".venv/bin/pip install -c requirements-lock.txt -e '"))  # fmt: skip
    assert first.partition(" -e ")[0] == tests.partition(" -e ")[0]
    assert "README.md" in (ROOT / ".ci/run").read_text(encoding="utf-8")


def test_every_block_runs(said, blocks):
    run = {block.name for block in blocks if block.language and block.name not in SHOWN}
    assert set(said) == run
    assert len(run) >= 15


def test_the_readme_shows_what_the_sweep_says(said, blocks):
    shown = next(block.text for block in blocks if "51 points" in block.text.splitlines()[0])
    name = next(name for name in said if name.startswith("README.md: rebuildbook sweep"))
    assert [line.rstrip() for line in said[name].splitlines()] == shown.splitlines()


def test_the_what_if_says_so_on_its_face(said, bench):
    made = bench / "what-if" / "TW-2601"
    assert "This sheet is a what-if" in (made / "worksheet.html").read_text(encoding="utf-8")
    sections = json.loads((made / "results.json").read_text(encoding="utf-8"))["sections"]
    findings = [finding for section in sections for finding in section["findings"]]
    holds = {finding["id"] for finding in findings if finding["level"] == "hold"}
    assert "joints.fluid-cover.unit" in holds


def test_the_class_is_marked(said, bench):
    table = (bench / "marks.csv").read_text(encoding="utf-8-sig")
    assert "Ana Ruiz" in table
    assert "Ben Oduya" in table
    assert (bench / "class.pdf").read_bytes().startswith(b"%PDF")


def test_the_schemas_come_out_as_they_are_kept(said, bench):
    for path in (ROOT / "parameters" / "schema").glob("*.json"):
        assert (bench / "parameters/schema" / path.name).read_bytes() == path.read_bytes()


def test_the_holds_are_printed(said):
    name = next(name for name in said if name.startswith("batch.md: from rebuildbook"))
    assert "inspection.inlet-balls" in said[name]
