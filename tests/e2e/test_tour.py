"""The README's tour from intake to release, command by command as it stands there."""

import json
import re
import shlex
from pathlib import Path

import pytest

README = Path(__file__).resolve().parents[2] / "README.md"
CARD = "parameters/jobs/TW-2613.yaml"


def commands() -> list[tuple[str, bool]]:
    """Commands of the tour in order, each with whether it is refused."""
    text = README.read_text(encoding="utf-8")
    part = text[text.index("### From intake to release") : text.index("### Ask one thing")]
    found = []
    for mark, block in re.findall(r"(<!-- \w+ -->\n)?```sh\n(.*?)```", part, re.DOTALL):
        found += [(line, "refused" in mark) for line in block.strip().splitlines()]
    return found


@pytest.fixture(scope="module")
def toured(make_bench):
    bench = make_bench("tour", everything=True)
    ended = []
    for line, refused in commands():
        program, *arguments = shlex.split(line)
        assert program == "rebuildbook"
        # what takes long anyway is begun as a user begins it
        one = (bench if arguments[0] in ("run", "release") else bench.inside)(*arguments)
        assert one.returncode == (1 if refused else 0), (line, one.stdout, one.stderr)
        ended.append((line, one))
    return bench, ended


def said(toured, start: str) -> str:
    return "".join(one.stdout + one.stderr for line, one in toured[1] if line.startswith(start))


def test_every_file_is_made_by_the_tool(toured):
    bench, _ = toured
    made = {path.relative_to(bench.root).as_posix() for path in bench.root.rglob("*")}
    for sheet in ("worksheet", "traveller", "as-built"):
        assert {f"outputs/TW-2613/{sheet}.{ending}" for ending in ("html", "pdf", "ipynb")} <= made
    assert {f"outputs/fleet/fleet.{ending}" for ending in ("html", "pdf", "xlsx", "json")} <= made
    assert {"kit-TW-2613.xlsx", "readings-TW-2613.xlsx", "parameters/ledger.sqlite"} <= made


def test_an_open_hold_refused_it_and_put_nothing_on_record(toured):
    told = said(toured, "rebuildbook release")
    assert "joints.fluid-cover.reading: fluid-cover: readings outside the window" in told
    assert "Nothing was put on record." in told
    assert "released by I. Varga" in told


def test_the_corrected_reading_is_seen_as_such(toured):
    bench, _ = toured
    assert "34 N*m, was 43 N*m" in said(toured, "rebuildbook correct")
    assert "digits swapped; read again: 34" in said(toured, "rebuildbook history")
    page = (bench.root / "outputs/TW-2613/as-built.html").read_text(encoding="utf-8")
    assert "43 N*m" in page
    assert "digits swapped; read again: 34" in page


def test_the_release_stands_on_paper_and_on_record(toured):
    bench, _ = toured
    results = json.loads((bench.root / "outputs/TW-2613/as-built.json").read_text("utf-8"))
    lines = {line["id"]: line for part in results["sections"] for line in part["lines"]}
    assert lines["release.state"]["text"] == "released"
    assert "released" in said(toured, "rebuildbook history")
    assert "TW-2613" in (bench.root / "outputs/fleet/fleet.json").read_text(encoding="utf-8")
    # the code on the paper carries the hash that the results have
    page = (bench.root / "outputs/TW-2613/as-built.html").read_text(encoding="utf-8")
    assert f"hash {results['digest']}" in page
    assert results["digest"] in said(toured, "rebuildbook release")
