"""The sweep command in its own words: arguments against answer, files and exit code."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pandas as pd
import pyarrow.parquet as pq
import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app
from rebuildbook.worksheet.sweep_files import FILES
from rebuildbook.worksheet.sweep_plan import MOST_IN_ALL

CARD = Path(__file__).resolve().parents[2] / "parameters" / "jobs" / "TW-2611.yaml"
TORQUE = "joints.inlet-flange.torque=4 to 24 N*m"
FREE = "tools.inlet-flange.setting="


def sweep(*arguments: object):
    given = ["sweep", str(CARD), *map(str, arguments)]
    result = CliRunner().invoke(app, given)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def refused(*arguments: object) -> str:
    """Check that a sweep is refused with one message; gives the message."""
    result = sweep(*arguments)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    return lines[0]


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    out = tmp_path_factory.mktemp("made") / "below" / "here"
    result = sweep("--over", TORQUE, "--set", FREE, "--points", 6, "--out", out)
    assert result.exit_code == 0, result.output
    return out, result


def test_the_four_files_are_made_and_nothing_is_left_beside_them(made):
    out, _ = made
    assert sorted(path.name for path in out.iterdir()) == sorted(FILES)
    assert [path.name for path in out.parent.iterdir()] == ["here"]
    assert (out / "sweep.png").read_bytes()[:4] == b"\x89PNG"
    assert (out / "sweep.svg").read_text(encoding="utf-8").startswith("<svg ")


def test_both_tables_hold_the_same(made):
    out, _ = made
    csv = pd.read_csv(out / "sweep.csv", keep_default_na=False)
    parquet = pd.read_parquet(out / "sweep.parquet")
    assert list(csv) == list(parquet)
    for name in csv:
        if pd.api.types.is_numeric_dtype(parquet[name]):
            assert csv[name].astype(float).tolist() == parquet[name].tolist(), name
        else:
            assert csv[name].tolist() == parquet[name].tolist(), name


def test_every_column_says_its_unit_in_head_and_metadata(made):
    out, _ = made
    schema = pq.read_schema(out / "sweep.parquet")
    assert b'"job": "TW-2611"' in schema.metadata[b"rebuildbook"]
    assert b'"settings": ["tools.inlet-flange.setting="]' in schema.metadata[b"rebuildbook"]
    units = {}
    for column in schema:
        about = {key.decode(): value.decode() for key, value in column.metadata.items()}
        assert set(about) == {"kind", "id", "unit", "title"}
        assert column.name.endswith(f" [{about['unit']}]") == bool(about["unit"])
        units[about["id"]] = about["unit"]
    assert units["joints.inlet-flange.torque"] == "N*m"
    assert units["preload.inlet-flange.most"] == "kN"


def test_the_window_stands_in_the_table_with_its_ends(made):
    out, _ = made
    table = pd.read_csv(out / "sweep.csv")
    path = "joints.inlet-flange.torque"
    assert table[f"{path} [N*m]"].tolist() == [4.0, 8.0, 12.0, 16.0, 20.0, 24.0]
    # the sheet's window is 40 to 50 in-lb: 45 and a ninth to each side
    low, high = table[f"{path} low [N*m]"], table[f"{path} high [N*m]"]
    assert (low / table[f"{path} [N*m]"]).tolist() == pytest.approx([8 / 9] * 6)
    assert (high / table[f"{path} [N*m]"]).tolist() == pytest.approx([10 / 9] * 6)


def test_the_answer_says_where_findings_change(made):
    out, result = made
    lines = [" ".join(line.split()) for line in result.stdout.splitlines()]
    assert lines[0] == "TW-2611: 6 points, joints.inlet-flange.torque 4 to 24 N·m"
    assert lines[1] == "finding level joints.inlet-flange.torque"
    shut = next(place for place, line in enumerate(lines) if ".shut hold" in line)
    assert re.fullmatch(r"\S+\.inlet-flange\.shut hold up to 16 N·m", lines[shut])
    assert lines[shut + 1 : shut + 2] == ["clear from 20 N·m"]
    assert any(line.startswith("hold at every point: ") for line in lines)
    assert lines[-1] == f"sweep.csv, sweep.parquet, sweep.svg, sweep.png in {out}"
    assert result.stderr == ""


def test_a_folder_of_a_sweep_is_replaced_and_an_empty_one_is_taken(tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    for count in (2, 3):
        result = sweep("--over", "duty.rate=20 to 40 1/min", "--points", count, "--out", out)
        assert result.exit_code == 0, result.output
        assert len(pd.read_csv(out / "sweep.csv")) == count
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_any_other_folder_is_left_alone(tmp_path):
    over = ("--over", "duty.rate=20 to 40 1/min", "--points", 2)
    notes = tmp_path / "notes"
    notes.mkdir()
    (notes / "mine.txt").write_text("x", encoding="utf-8")
    assert "mine.txt is in it" in refused(*over, "--out", notes)
    (notes / "mine.txt").rename(notes / "sweep.csv")
    assert "no sweep made" in refused(*over, "--out", notes)
    (notes / "sweep.parquet").write_bytes(b"PAR1 not really")
    assert "no sweep made" in refused(*over, "--out", notes)
    assert (notes / "sweep.csv").read_text(encoding="utf-8") == "x"
    link = tmp_path / "link"
    link.symlink_to(notes, target_is_directory=True)
    assert "is a link" in refused(*over, "--out", link)
    assert "is a file" in refused(*over, "--out", notes / "sweep.csv")
    assert "is a file" in refused(*over, "--out", notes / "sweep.csv" / "below")


def test_a_sweep_with_the_users_own_file_in_its_folder_is_not_replaced(tmp_path):
    over = ("--over", "duty.rate=20 to 40 1/min", "--points", 2, "--out", tmp_path / "out")
    assert sweep(*over).exit_code == 0
    (tmp_path / "out" / "remarks.md").write_text("keep", encoding="utf-8")
    assert "remarks.md is in it" in refused(*over)


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere"
)
def test_a_place_that_may_not_be_written_is_told_before_the_work(tmp_path):
    tmp_path.chmod(0o500)
    told = refused("--over", "duty.rate=20 to 40 1/min", "--out", tmp_path / "out")
    assert "may not be written to" in told


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--over", "joints.tie-rodz.torque=15 to 30 N*m"], "did you mean tie-rods?"),
        (["--over", "joints.tie-rods.torque=15 to 30"], "has no unit"),
        (["--over", "joints.tie-rods.torque=15 to 30 mm"], "is not a torque"),
        (["--over", "joints.tie-rods.torque=30 to 15 N*m"], "runs backwards"),
        (["--over", TORQUE, "--points", 0], "--points 0: wanted 2 to 10000"),
        (["--over", TORQUE, "--points", -3], "--points -3: wanted 2 to 10000"),
        (
            ["--over", TORQUE, "--over", "duty.rate=20 to 40 1/min", "--points", 10_000],
            f"100000000 points; at most {MOST_IN_ALL}",
        ),
        (
            ["--over", TORQUE, "--show", "preload.tie-rod.most"],
            "did you mean preload.tie-rods.most",
        ),
        (["--over", TORQUE, "--set", "duty.rtae=30 rpm"], "--set duty.rtae=30 rpm: duty.rtae"),
        (["--over", "joints.tie-rods.condition=soaped, honeyed"], "no point could be worked out"),
    ],
)
def test_what_cannot_be_done_is_one_message(tmp_path, monkeypatch, arguments, words):
    monkeypatch.chdir(tmp_path)
    assert words in refused(*arguments)
    assert list(tmp_path.iterdir()) == []


def test_points_that_fail_are_told_and_the_others_are_kept(tmp_path):
    over = ("--over", "joints.tie-rods.condition=oiled, soaped, greased")
    result = sweep(*over, "--out", tmp_path / "out")
    assert result.exit_code == 0
    told = "1 of 3 points could not be worked out (column error); point 2: joints.tie-rods.cond"
    assert told in result.stderr
    errors = pd.read_csv(tmp_path / "out" / "sweep.csv", keep_default_na=False)["error"]
    assert [bool(error) for error in errors] == [False, True, False]


def test_a_grid_tells_its_ranges_by_the_second_field(tmp_path):
    result = sweep(
        "--over", "relief_setting.set_pressure=14 to 30 bar", "--over",
        "duty.working_pressure=4 to 20 bar", "--points", 5, "--out", tmp_path / "out",
    )  # fmt: skip
    assert result.exit_code == 0
    lines = [" ".join(line.split()) for line in result.stdout.splitlines()]
    assert lines[1] == "finding duty.working_pressure level relief_setting.set_pressure"
    # 20 bar asked for: a relief valve set at 18 bar and less opens first
    below = next(place for place, line in enumerate(lines) if line.startswith("relief.set-vs-work"))
    assert "20 bar hold up to 18 bar" in lines[below : below + 8]
    # the weakest part holds 25 bar, whatever is asked for
    assert any(re.match(r"relief\.set-vs-limit any clear up to 22 bar", line) for line in lines)


def test_help_says_what_becomes_of_a_window_and_stays_light():
    script = (
        "import sys\nfrom rebuildbook.cli import app\n"
        "try:\n    app(['sweep', '--help'])\nexcept SystemExit as ended:\n    code = ended.code\n"
        "heavy = {'numpy', 'pandas', 'pint', 'pyarrow', 'matplotlib'} & set(sys.modules)\n"
        "sys.exit(f'{code} {heavy}' if code or heavy else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "the window keeps its width as a share of it" in " ".join(done.stdout.split())
