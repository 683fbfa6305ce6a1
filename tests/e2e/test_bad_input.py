"""Bad input to the real command: exit code 2, one message naming file and field, no traceback."""

import os
from pathlib import Path

import pytest

CARD = "parameters/jobs/card.yaml"


@pytest.fixture
def bench(make_bench):
    return make_bench("bad")


def refused(ended, *words: str) -> str:
    """Check that a run was refused, with one line that has all of ``words``; gives that line."""
    assert ended.returncode == 2, (ended.returncode, ended.stdout, ended.stderr)
    assert "Traceback" not in ended.stderr
    told = [line for line in ended.stderr.splitlines() if all(word in line for word in words)]
    assert len(told) == 1, ended.stderr
    return told[0]


# what is changed in a good card: (old, new, field, words)
CHANGED = {
    "no unit": ("16 bar\n", "16\n", "duty.working_pressure", "has no unit"),
    "wrong dimension": ("16 bar\n", "16 kg\n", "duty.working_pressure", "is not a pressure"),
    "not a number": ("16 bar\n", ".nan\n", "duty.working_pressure", "number"),
    "infinite": ("16 bar\n", ".inf\n", "duty.working_pressure", "number"),
    "negative": ("16 bar\n", "-16 bar\n", "duty.working_pressure", "negative"),
    "list for a number": ("16 bar\n", "[16 bar]\n", "duty.working_pressure", "a list"),
    "unknown field": ("serial: ", "serail: ", "serail", "did you mean serial?"),
    "missing model": ("slip-piston-4b", "slip-pistol-4b", "model", "did you mean slip-piston-4b?"),
    "job number that leaves the folder": ("TW-2601", "../../TW", "job", "not a usable name"),
    "job number that is a folder": ("TW-2601", "a/b", "job", "not a usable name"),
    "job number of dots": ("TW-2601", "'..'", "job", "not a usable name"),
}


@pytest.fixture(scope="module")
def told_of_changed(make_bench):
    """All the changed cards given to ``run`` at once: nothing is left to be run."""
    bench = make_bench("changed")
    for number, (old, new, _, _) in enumerate(CHANGED.values()):
        bench.card(
            f"changed-{number:02d}",
            ("SP-0417", f"S{number}"),
            (old, new),
            *([("TW-2601", f"J-{number}")] if old != "TW-2601" else []),
        )
    ended = bench.inside("run", "parameters/jobs", "--out", "out")
    return bench, ended


@pytest.mark.parametrize("case", CHANGED)
def test_a_changed_card_is_refused_with_its_line(told_of_changed, case):
    bench, ended = told_of_changed
    name = f"changed-{list(CHANGED).index(case):02d}.yaml"
    _, new, field, words = CHANGED[case]
    line = refused(ended, f"{name}:", f": {field}: ", words)
    number = int(line.partition(f"{name}:")[2].partition(":")[0])
    text = (bench.cards / name).read_text(encoding="utf-8").splitlines()
    assert new.strip() in text[number - 1]
    assert not bench.out.exists()


@pytest.mark.parametrize("command", ["check", "run"])
def test_one_serial_on_one_day_names_both_cards(bench, command):
    bench.card("one")
    bench.card("two", ("TW-2601", "TW-9999"))
    ended = bench.inside(command, "parameters/jobs")
    first = refused(ended, "one.yaml: serial: ", "two.yaml", "same serial", "SP-0417")
    second = refused(ended, "two.yaml: serial: ", "one.yaml", "same serial", "SP-0417")
    assert first != second
    assert not (bench.root / "outputs").exists()


def test_one_job_number_on_two_cards_names_both(bench):
    bench.card("one")
    bench.card("two", ("SP-0417", "SP-0418"), ("TW-2601", "tw-2601"))
    ended = bench("check", "parameters/jobs")
    assert len([line for line in ended.stderr.splitlines() if "same job number" in line]) == 2
    refused(ended, "one.yaml: job: ", "two.yaml", "TW-2601")
    refused(ended, "two.yaml: job: ", "one.yaml", "tw-2601")


FILES = {
    "tabs": (b"kind: job\nfluid:\n\tname: Slip\n", ":3", "a tab is used to indent"),
    "five megabytes": (b"kind: job\nremarks: " + b"x" * 5_000_000, "", "is 5.0 MB; a sheet has"),
    "anchors": (
        b"kind: job\na: &a [x, x]\nb: &b [*a, *a, *a]\nc: [*b, *b, *b]\n",
        ":2",
        "anchors, aliases and tags are not used",
    ),
    "tag": (b"kind: job\na: !!python/object/apply:os.system [x]\n", ":2", "anchors, aliases and"),
    "not UTF-8": (b"kind: job\nserial: caf\xe9\n", ":2", "is not UTF-8 text: byte 0xe9"),
    "no text": (bytes(range(256)), ":2", "is not UTF-8 text: byte 0x80"),
    "empty": (b"", ":1", "a sheet is a mapping"),
}


@pytest.fixture(scope="module")
def told_of_files(make_bench):
    bench = make_bench("files")
    for name, (raw, _, _) in FILES.items():
        (bench.cards / f"{name}.yaml").write_bytes(raw)
    (bench.cards / "dangling.yaml").symlink_to("nowhere.yaml")
    (bench.cards / "folder.yaml").mkdir()
    (bench.cards / "round.yaml").symlink_to("round.yaml")
    return bench.inside("run", "parameters/jobs")


@pytest.mark.parametrize("case", FILES)
def test_a_file_that_is_no_sheet_is_refused(told_of_files, case):
    _, line, words = FILES[case]
    refused(told_of_files, f"{case}.yaml{line}: ", words)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("dangling.yaml", "cannot be read: no such file"),
        ("round.yaml", "cannot be read"),
        ("folder.yaml", "is a folder; wanted a YAML file"),
    ],
)
def test_a_path_that_is_no_file_is_refused(told_of_files, name, words):
    refused(told_of_files, f"{name}: ", words)


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read every file"
)
def test_a_file_that_may_not_be_read_is_refused(bench):
    bench.card("card").chmod(0)
    refused(bench.inside("check", CARD), "card.yaml: ", "cannot be read: permission denied")


@pytest.mark.parametrize("command", ["check", "run"])
def test_a_missing_path_and_an_empty_folder_are_told(bench, command):
    (bench.root / "empty").mkdir()
    ended = bench.inside(command, "none.yaml", "empty")
    refused(ended, "none.yaml: ", "no such file")
    refused(ended, "empty: ", "holds no")


@pytest.mark.parametrize("out", ["taken", "taken/inside"])
def test_an_out_folder_that_cannot_be_made_is_refused(bench, out):
    bench.card("card")
    (bench.root / "taken").write_text("a file", encoding="utf-8")
    ended = bench.inside("run", CARD, "--out", out)
    refused(ended, f"{out}: the output folder cannot be written: ")
    assert (bench.root / "taken").read_text(encoding="utf-8") == "a file"


def test_bad_paper_is_refused(bench):
    bench.card("card")
    refused(bench.inside("run", CARD, "--paper", "a3"), "--paper a3: wanted a4 or letter")


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("nonsense", "wanted dotted.path=value"),
        ("duty.test_presure=17 bar", "no sheet has a field"),
        ("duty.test_pressure=17", "has no unit"),
        ("duty.test_pressure=__import__('os').system('touch pwned')", "duty.test_pressure"),
        ("joints.fluid-cover.torque=!!python/name:os.system x", "joints.fluid-cover.torque"),
        ("job.job=../../outside", "not a usable name"),
        ("model=../../../etc/passwd", "model"),
    ],
)
def test_a_bad_setting_is_refused_and_named(bench, setting, words):
    bench.card("card")
    before = bench.files()
    refused(bench.inside("run", CARD, "--out", "out", "--set", setting), f"--set {setting}", words)
    assert bench.files() == before
    assert not bench.out.exists()
    assert not list(Path(bench.root).rglob("pwned"))


@pytest.mark.parametrize("arguments", [(), ("--help",), ("run", "--help"), ("lab", "--help")])
def test_help_is_given(bench, arguments):
    ended = bench.inside(*arguments)
    assert ended.returncode == (0 if arguments else 2)
    assert "Usage: " in ended.stdout + ended.stderr
    assert "Traceback" not in ended.stderr
