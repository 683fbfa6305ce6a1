"""What-if sheets go through the command beside job cards, each into a folder of its own."""

import json

import pytest

from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.document import digest_of

TEXT = """kind: what-if
card: ../../jobs/TW-2601.yaml
settings:
  joints.fluid-cover.torque: 40 to 44 N*m
"""
SETTING = "joints.fluid-cover.torque=40 to 44 N*m"


@pytest.fixture(scope="module")
def bench(make_bench):
    bench = make_bench("what-if")
    bench.card("TW-2601")
    write(bench)
    return bench


def write(bench, text=TEXT, name="cover"):
    path = bench.root / "parameters" / "what-if" / "TW-2601" / f"{name}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path


def results(folder):
    return json.loads((folder / "results.json").read_text(encoding="utf-8"))


def states(bench, out="out"):
    run = json.loads((bench.root / out / "run.json").read_text(encoding="utf-8"))
    return {job["job"]: job["state"] for job in run["jobs"]}


def test_a_folder_makes_card_and_what_if_side_by_side(bench):
    ended = bench("run", "parameters", "--out", "out", "--jobs", "2")
    assert ended.returncode == 0, ended.stderr
    assert states(bench) == {"TW-2601": "made", "TW-2601+cover": "made"}
    plain, tried = (results(bench.out / name) for name in ("TW-2601", "TW-2601+cover"))
    assert tried["job"] == plain["job"] == "TW-2601"
    assert tried["digest"] != plain["digest"]
    page = (bench.out / "TW-2601+cover" / "worksheet.html").read_text(encoding="utf-8")
    assert "This sheet is a what-if" in page
    assert "joints.fluid-cover.torque=40 to 44 N*m" in page
    assert "cover.yaml" in page  # among what the sheet stands on
    other = (bench.out / "TW-2601" / "worksheet.html").read_text(encoding="utf-8")
    assert "This sheet is a what-if" not in other
    index = (bench.out / "index.html").read_text(encoding="utf-8")
    assert "TW-2601+cover" in index


def test_it_says_what_the_same_setting_on_the_command_says(bench):
    as_set = open_worksheet(bench.cards / "TW-2601.yaml", [SETTING]).sections
    made = [section for name, section in as_set.items() if name != "findings"]
    assert results(bench.out / "TW-2601+cover")["digest"] == digest_of(made)


def test_a_change_of_its_card_is_seen(bench):
    again = ("run", "parameters/what-if", "--out", "quick", "--notebook", bench.quick_notebook())
    seen = []
    for change in ("28", "28", "27"):
        bench.card("TW-2601", ("rate: 28 cycles/min", f"rate: {change} cycles/min"))
        assert bench(*again).returncode == 0
        seen.append(states(bench, "quick")["TW-2601+cover"])
    assert seen == ["made", "unchanged", "made"]


def test_a_wrong_setting_is_told_on_its_line_by_check_and_run(bench):
    path = write(bench, TEXT.replace("40 to 44 N*m", "40 to 44 mm"), "wrong")
    named = path.relative_to(bench.root)
    try:
        for command in (("check", "parameters"), ("run", named, "--out", "out")):
            ended = bench.inside(*command)
            assert ended.returncode == 2
            assert f"{named}:4: joints.fluid-cover.torque: " in ended.stderr
    finally:
        path.unlink()
    assert bench.inside("check", "parameters").returncode == 0


@pytest.mark.parametrize("command", ["form", "kit", "fleet"])
def test_nothing_is_recorded_or_ordered_by_a_what_if(bench, command):
    ended = bench.inside(command, "parameters/what-if/TW-2601/cover.yaml")
    assert ended.returncode == 2
    assert "is a what-if" in ended.stderr


def test_two_what_ifs_of_one_name_and_job_are_refused(bench):
    other = bench.root / "elsewhere" / "cover.yaml"
    other.parent.mkdir()
    other.write_text(TEXT.replace("../../jobs", "../parameters/jobs"), encoding="utf-8")
    ended = bench.inside("check", "parameters", "elsewhere")
    assert ended.returncode == 2
    assert "the same job number stands in" in ended.stderr
