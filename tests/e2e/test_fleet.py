"""One call over good and bad cards: what it leaves, what it says, and that it repeats exactly."""

import hashlib
import json
import sys

import pytest

GOOD = ("TW-2601", "TW-2606", "TW-2611")
FILES = {"results.json", "worksheet.html", "worksheet.ipynb", "worksheet.pdf"}
MADE = {"made.json"}  # what they were made from
OF_THE_RUN = {".lock", "index.html", "index.parquet", "run.json"}


def test_bad_cards_end_it_with_2_and_the_good_ones_are_made(fleet):
    assert fleet.ended.returncode == 2, fleet.ended.stderr
    assert {path.name for path in fleet.bench.out.iterdir()} == {*GOOD, "HX-1"} | OF_THE_RUN
    for job in (*GOOD, "HX-1"):
        assert {path.name for path in (fleet.bench.out / job).iterdir()} == FILES | MADE


@pytest.mark.parametrize(
    ("file", "field", "words"),
    [
        ("bad-unit.yaml:", "duty.working_pressure", "'16 mm' is not a pressure"),
        ("bad-field.yaml:", "fluid.viscostiy", "did you mean viscosity?"),
        ("bad-model.yaml:", "model", "did you mean slip-piston-4b?"),
    ],
)
def test_each_bad_card_is_told_with_file_line_and_field(fleet, file, field, words):
    told = [line for line in fleet.ended.stderr.splitlines() if file in line and words in line]
    assert len(told) == 1, fleet.ended.stderr
    _, _, rest = told[0].partition(file)
    number, said, _ = rest.split(": ", 2)
    text = (fleet.bench.cards / file.rstrip(":")).read_text(encoding="utf-8").splitlines()
    assert field.rsplit(".", maxsplit=1)[-1] in text[int(number) - 1]
    assert said == field


def test_nothing_else_is_on_stderr(fleet):
    # a missing viscosity is a second fault of the card that misspells it
    lines = fleet.ended.stderr.splitlines()
    assert all("bad-" in line for line in lines), lines
    assert "Traceback" not in fleet.ended.stderr
    assert len(lines) == 4


def test_the_summary_lists_job_holds_queries_seconds(fleet):
    lines = [line.split() for line in fleet.ended.stdout.splitlines()]
    assert lines[0] == ["job", "holds", "queries", "seconds"]
    rows = {line[0]: line[1:] for line in lines[1:5]}
    assert list(rows) == [*GOOD, "HX-1"]  # in the order of the cards, not of who was done first
    assert rows["TW-2601"][:2] == ["0", "0"]  # nothing was planted in it
    for job, row in rows.items():
        results = json.loads((fleet.bench.out / job / "results.json").read_text(encoding="utf-8"))
        levels = [finding["level"] for part in results["sections"] for finding in part["findings"]]
        assert row[:2] == [str(levels.count("hold")), str(levels.count("query"))]
        assert float(row[2]) > 0
    assert "4 worksheets in out; 3 inputs refused, see above" in fleet.ended.stdout


def test_nothing_outside_the_out_folder_is_touched(fleet):
    assert fleet.after == fleet.before


def test_it_runs_on_this_interpreter_whatever_kernels_and_startup_files_stand_about(fleet):
    for job in GOOD:
        text = (fleet.bench.out / job / "worksheet.ipynb").read_text(encoding="utf-8")
        assert "DECOY" not in text
        notebook = json.loads(text)
        version = notebook["metadata"]["language_info"]["version"]
        assert version == ".".join(map(str, sys.version_info[:3]))
        kinds = {o["output_type"] for c in notebook["cells"] for o in c.get("outputs", [])}
        assert kinds <= {"display_data", "execute_result"}


def test_the_notebook_names_its_card_from_where_it_lies(fleet):
    folder = fleet.bench.out / "TW-2601"
    notebook = json.loads((folder / "worksheet.ipynb").read_text(encoding="utf-8"))
    source = "".join("".join(cell["source"]) for cell in notebook["cells"])
    assert 'job_card = "../../parameters/jobs/TW-2601.yaml"' in source
    assert str(fleet.bench.root) not in json.dumps(notebook, ensure_ascii=False)


def test_the_digest_is_that_of_the_sections(fleet):
    results = json.loads((fleet.bench.out / "TW-2601/results.json").read_text(encoding="utf-8"))
    text = json.dumps(results["sections"], sort_keys=True).encode()
    assert results["digest"] == hashlib.sha256(text).hexdigest()
    assert results["made"] == "2026-01-01T00:00:00+00:00"


@pytest.fixture(scope="module")
def again(fleet):
    """One of the jobs run once more over its own folder, in which something was left lying."""
    folder = fleet.bench.out / "TW-2601"
    first = {path.name: path.read_bytes() for path in folder.iterdir()}
    (folder / "left lying.txt").write_text("old", encoding="utf-8")
    (fleet.bench.out / "TW-2601.failed.ipynb").write_text("{}", encoding="utf-8")
    card = fleet.bench.cards / "TW-2601.yaml"
    ended = fleet.bench("run", card, "--out", "out", "--jobs", "1", "--force")
    yield ended, first, {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_second_run_takes_the_place_of_the_first_whole(fleet, again):
    ended, first, second = again
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""
    assert set(second) == set(first) == FILES | MADE
    assert {path.name for path in fleet.bench.out.iterdir()} == {*GOOD, "HX-1"} | OF_THE_RUN


@pytest.mark.parametrize("name", sorted(FILES))
def test_the_same_inputs_give_the_same_bytes(again, name):
    _, first, second = again
    assert second[name] == first[name]
