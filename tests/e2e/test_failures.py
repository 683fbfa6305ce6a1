"""Jobs that fail do not take the others with them; an own notebook layout can be run."""

import json
import re

import pytest

CELLS = (
    ("parameters", 'job_card = ""\noverrides = []\npaper = ""'),
    (
        "",
        "from rebuildbook.worksheet.build import open_worksheet\n"
        "worksheet = open_worksheet(job_card, overrides, paper)",
    ),
    ("", 'if "TW-2602" in job_card:\n    raise RuntimeError("the gauge froze")'),
    ("", 'if "TW-2603" in job_card:\n    import os\n    os.kill(os.getppid(), 9)'),
    ("", 'if "TW-2604" not in job_card:\n    display(worksheet.show("identity"))'),
)


def notebook(*cells: tuple[str, str]) -> str:
    return json.dumps(
        {
            "nbformat": 4,
            "nbformat_minor": 5,
            "metadata": {},
            "cells": [
                {
                    "cell_type": "code",
                    "id": f"own-{number}",
                    "execution_count": None,
                    "metadata": {"tags": [tag] if tag else []},
                    "outputs": [],
                    "source": source,
                }
                for number, (tag, source) in enumerate(cells)
            ],
        }
    )


@pytest.fixture(scope="module")
def ended(bench):
    for name in ("TW-2601", "TW-2602", "TW-2603", "TW-2604"):
        bench.card(name, like=name)
    own = bench.root / "own layout.ipynb"
    own.write_text(notebook(*CELLS), encoding="utf-8")
    return bench(
        "run", "parameters/jobs", "--notebook", own.name, "--jobs", "2", "--set", "shop.units=us"
    )


@pytest.fixture(scope="module")
def out(bench, ended):
    return bench.root / "outputs"


def test_a_failed_job_gives_exit_code_1(ended):
    assert ended.returncode == 1, ended.stderr
    assert "1 worksheet in outputs" in ended.stdout
    assert "Traceback" not in ended.stderr


def test_the_other_jobs_are_done_whole_and_nothing_half_is_left(out):
    assert {path.name for path in out.iterdir()} == {
        ".lock",
        "TW-2601",
        "TW-2602.failed.ipynb",
        "TW-2604.failed.ipynb",
        "index.html",
        "index.parquet",
        "run.json",
    }
    assert {path.name for path in (out / "TW-2601").iterdir()} == {
        "made.json",
        "results.json",
        "worksheet.html",
        "worksheet.ipynb",
        "worksheet.pdf",
    }


def test_an_own_notebook_gets_the_same_parameters(out):
    results = json.loads((out / "TW-2601" / "results.json").read_text(encoding="utf-8"))
    assert [section["id"] for section in results["sections"]] == ["identity"]
    assert results["job"] == "TW-2601"
    lines = {line["id"]: line for line in results["sections"][0]["lines"]}
    assert lines["unit.largest-flow"]["value"]["unit"] == "gal/min"


@pytest.mark.parametrize(
    ("job", "words"),
    [
        (
            "TW-2602",
            "RuntimeError: the gauge froze (notebook kept as outputs/TW-2602.failed.ipynb)",
        ),
        ("TW-2603", "the process that made it was ended from outside"),
        ("TW-2604", "the notebook shows no section of a worksheet"),
    ],
)
def test_each_failure_is_told_in_one_line(ended, job, words):
    told = [line for line in ended.stderr.splitlines() if line.startswith(f"{job}: failed: ")]
    assert len(told) == 1, ended.stderr
    assert words in told[0]


def test_the_failed_notebook_holds_the_traceback(out):
    kept = json.loads((out / "TW-2602.failed.ipynb").read_text(encoding="utf-8"))
    errors = [
        output
        for cell in kept["cells"]
        for output in cell.get("outputs", [])
        if output["output_type"] == "error"
    ]
    assert [(error["ename"], error["evalue"]) for error in errors] == [
        ("RuntimeError", "the gauge froze")
    ]
    told = re.sub(r"\x1b\[[0-9;]*m", "", "\n".join(errors[0]["traceback"]))  # without colours
    assert 'raise RuntimeError("the gauge froze")' in told


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("none.ipynb", None, "cannot be read: no such file"),
        ("text.ipynb", "print(1)", "is not a Jupyter notebook"),
        ("json.ipynb", "{}", "is not a Jupyter notebook"),
        ("list.ipynb", "[1]", "is not a Jupyter notebook"),
        ("bare.ipynb", notebook(("", "1")), "has no cell tagged 'parameters'"),
    ],
)
def test_an_unfit_notebook_is_refused_before_anything_runs(make_bench, name, content, words):
    bench = make_bench("unfit")
    card = bench.card("TW-2601")
    if content is not None:
        (bench.root / name).write_text(content, encoding="utf-8")
    ended = bench.inside("run", card, "--notebook", name, "--out", "out")
    assert ended.returncode == 2
    assert ended.stderr.startswith(f"--notebook {name}: {words}"), ended.stderr
    assert len(ended.stderr.splitlines()) == 1
    assert not bench.out.exists()
