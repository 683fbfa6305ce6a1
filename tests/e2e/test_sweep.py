"""The sweep command in its own process: the files, the same bytes twice, refusals, interrupts."""

import contextlib
import csv
import os
import signal
import sys
import time
from pathlib import Path

import psutil
import pytest

from rebuildbook.units import to_unit
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.model import Value
from rebuildbook.worksheet.sweep_files import FILES

CARD = "parameters/jobs/TW-2611.yaml"
TORQUE = "joints.inlet-flange.torque=5 to 25 N*m"
FREE = "tools.inlet-flange.setting="


@pytest.fixture(scope="module")
def bench(make_bench):
    made = make_bench("sweep")
    made.card("TW-2611", like="TW-2611")
    return made


@pytest.fixture(scope="module")
def swept(bench):
    ended = bench("sweep", CARD, "--over", TORQUE, "--set", FREE, "--points", "6")
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""
    return bench.root / "outputs" / "sweep-TW-2611", ended


def rows(folder: Path) -> list[dict[str, str]]:
    with (folder / "sweep.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_files_go_to_outputs_under_the_job(swept):
    folder, ended = swept
    assert sorted(path.name for path in folder.iterdir()) == sorted(FILES)
    assert [path.name for path in folder.parent.iterdir()] == ["sweep-TW-2611"]
    assert "TW-2611: 6 points, joints.inlet-flange.torque 5 to 25 N·m\n" in ended.stdout
    assert "in outputs/sweep-TW-2611\n" in ended.stdout


def test_every_row_is_the_worksheet_of_its_override(bench, swept):
    for row in rows(swept[0]):
        low, high = (row[f"joints.inlet-flange.torque {end} [N*m]"] for end in ("low", "high"))
        changed = f"joints.inlet-flange.torque={low} to {high} N*m"
        worksheet = open_worksheet(bench.root / CARD, [FREE, changed])
        lines = {
            line.id: line.value
            for section in worksheet.sections.values()
            for line in section.lines()
            if isinstance(line.value, Value)
        }
        compared = 0
        for name, cell in row.items():
            id_, _, unit = name.partition(" [")
            if id_ in lines:
                wanted = to_unit(lines[id_].si, unit.removesuffix("]"))
                assert float(cell) == pytest.approx(wanted, rel=1e-12), name
                compared += 1
        assert compared > 10
        levels = {
            finding.id: finding.level
            for section in worksheet.sections.values()
            for finding in section.findings()
        }
        for name, cell in row.items():
            id_, _, kind = name.partition(" (")
            if kind == "level)" and id_ != "worst":
                assert cell == levels.get(id_, ""), name


def test_the_same_sweep_gives_the_same_bytes(bench, swept):
    again = bench("sweep", CARD, "--over", TORQUE, "--set", FREE, "--points", "6", "--out", "twice")
    assert again.returncode == 0
    for name in FILES:
        assert (bench.root / "twice" / name).read_bytes() == (swept[0] / name).read_bytes(), name


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([CARD, "--over", "joints.tie-rodz.torque=1 to 2 N*m"], "did you mean tie-rods?"),
        ([CARD, "--over", "duty.rate=20 to 40"], "has no unit"),
        ([CARD, "--over", "duty.rate=__import__('os').system('touch pwned'), x"], "duty.rate"),
        ([CARD, "--over", TORQUE, "--points", "0"], "--points 0: wanted 2 to 10000"),
        ([CARD, "--over", TORQUE, "--out", "parameters"], "--out parameters: "),
        ([CARD, "--over", TORQUE, "--out", CARD], f"--out {CARD}: is a file"),
        ([CARD, "--over", TORQUE, "--out", "."], "--out .: "),
        (["none.yaml", "--over", TORQUE], "none.yaml: cannot be read: no such file"),
        (["parameters/shop.yaml", "--over", TORQUE], "parameters/shop.yaml:4: kind: wanted 'job'"),
    ],
)
def test_a_refused_sweep_writes_nothing(bench, swept, arguments, words):
    before = bench.files()
    ended = bench.inside("sweep", *arguments)
    assert ended.returncode == 2
    assert ended.stdout == ""
    assert words in ended.stderr
    assert len(ended.stderr.splitlines()) == 1
    assert bench.files() == before


def worked(process: psutil.Process) -> float:
    """Time that a process and those that it began have worked, s."""
    total = 0.0
    for one in (process, *process.children(recursive=True)):
        with contextlib.suppress(psutil.NoSuchProcess):
            total += one.cpu_times().user
    return total


@pytest.mark.skipif(sys.platform == "win32", reason="process groups are POSIX")
@pytest.mark.parametrize("seconds", [0.3, 4.0, 10.0])
def test_ctrl_c_leaves_nothing_behind(make_bench, seconds):
    bench = make_bench("stopped")
    bench.card("TW-2611", like="TW-2611")
    before = bench.files()
    with bench.started("sweep", CARD, "--over", TORQUE, "--points", "10000") as run:
        process = psutil.Process(run.pid)
        while run.poll() is None and worked(process) < seconds:
            time.sleep(0.05)
        begun = process.children(recursive=True)
        os.killpg(run.pid, signal.SIGINT)
        output, errors = run.communicate(timeout=30)
    assert run.returncode in {130, -signal.SIGINT}, errors
    assert output == ""
    if seconds > 1.0:  # past the start of the interpreter
        assert errors.strip() == "stopped; nothing was written"
    assert bench.files() == before
    assert not any(one.is_running() for one in begun)
