"""History, corrections and the whole ledger, by the command: arguments, answers, files, codes."""

import csv
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pyarrow.parquet as pq
import pytest
from typer.testing import CliRunner

from rebuildbook.cli import app
from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger

DEMO = Path(__file__).resolve().parents[2] / "parameters"
SERIAL = "SP-0417"
JOBS = (("TW-2109", "2021-03-04"), ("TW-2342", "2023-06-12"), ("TW-2601", "2026-09-08"))
# the model sheet's bore: 80.00 mm new, 80.25 mm at its limit
BORES = (80.03, 80.55, 80.07)
BALLS = (1.7495, 1.7490, 1.7487)
FLOWS = (30.0, 28.5, 27.0)
COVER = ((33.0, 34.0, 35.0, 34.0), (32.0, 33.0, 34.0, 33.0), (33.0, 33.0, 33.0, 33.0))
INCH = 0.0254


def entry(job, day, kind, subject, number=None, given="", si=None, dimension="", text=""):
    origin = f"readings-{job}.xlsx: {kind} {subject} {number}"
    return Entry(
        SERIAL, job, kind, subject, number, given, si, dimension, "E-200", day, "bench 2", origin,
        text,
    )  # fmt: skip


def entries():
    yield entry(*JOBS[0], "measurement", "running-hours", None, "1900 h", 1900 * 3600.0, "time")
    for place, job in enumerate(JOBS):
        bore, ball, flow = BORES[place], BALLS[place], FLOWS[place]
        yield entry(*job, "measurement", "cylinder-bore", None, f"{bore} mm", bore / 1e3, "length")
        yield entry(*job, "measurement", "inlet-balls", None, f"{ball} in", ball * INCH, "length")
        for number, torque in enumerate(COVER[place], 1):
            given = f"{torque} N*m"
            yield entry(*job, "torque", "fluid-cover", number, given, torque, "torque")
        yield entry(*job, "test", "readings.flow", None, f"{flow} L/min", flow / 6e4, "flow")
        yield entry(*job, "finding", "seal.bore", text="query: nearly worn")
        level = "hold: set too high" if place == 1 else "clear: set"
        yield entry(*job, "finding", "relief.set", text=level)
    yield entry(*JOBS[2], "release", "shop lead", text="0" * 64)


@pytest.fixture
def book(tmp_path):
    ledger = Ledger(tmp_path / "ledger.sqlite")
    ledger.append([*entries(), Entry("WP-112", "TW-2602", "step", "strip", text="done")])
    return ledger


def rebuildbook(*arguments: object):
    result = CliRunner().invoke(app, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def told(book, *arguments, parameters=DEMO):
    """The history of the unit: its lines with single spaces, and the result."""
    result = rebuildbook(
        "history", SERIAL, "--ledger", book.path, "--parameters", parameters, *arguments
    )
    assert result.exit_code == 0, result.output
    return [" ".join(line.split()) for line in result.stdout.splitlines()], result


def refused(*arguments: object) -> str:
    result = rebuildbook(*arguments)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    lines = result.stderr.strip().splitlines()
    assert len(lines) == 1, result.stderr
    return lines[0]


def first_of(book, subject, job):
    return next(one.id for one in book.entries(job=job) if one.entry.subject == subject)


def correct(book, id_, value, more=()):
    """Options first, so that a value may begin with a minus."""
    options = ("--why", "misread", "--by", "I. Varga", "--ledger", book.path, *more)
    return ("correct", *options, "--", id_, value)


def test_jobs_stand_in_their_order_with_hours_findings_and_release(book, tmp_path):
    lines, result = told(book, "--out", tmp_path / "out")
    assert lines[0] == f"{SERIAL}: 3 jobs, 29 entries in {book.path}"
    at = lines.index("job day hours findings released")
    # the first job's hours are on record, the others' on the card of TW-2601 in the demo
    assert lines[at + 1 : at + 4] == [
        "TW-2109 2021-03-04 1900 h 1 query, 1 clear",
        "TW-2342 2023-06-12 4000 h 1 hold, 1 query",
        "TW-2601 2026-09-08 5900 h 1 query, 1 clear 2026-09-08 by bench 2",
    ]
    assert result.stderr == ""


def test_sizes_stand_against_each_other_and_against_the_limit(book, tmp_path):
    lines, _ = told(book, "--out", tmp_path / "out")
    ids = [first_of(book, "cylinder-bore", job) for job, _ in JOBS]
    at = lines.index("part job size change worn entry")
    # 0.03, 0.55 and 0.07 of the 0.25 mm that the bore may wear
    assert lines[at + 1 : at + 4] == [
        f"cylinder-bore TW-2109 80.03 mm 12 % {ids[0]}",
        f"TW-2342 80.55 mm +0.52 mm 220 % {ids[1]}",
        f"TW-2601 80.07 mm −0.48 mm 28 % {ids[2]}",
    ]
    assert any(line.startswith("TW-2342 1.749 in −0.0005 in ") for line in lines)
    assert not any(line.startswith("running-hours") for line in lines)


def test_torques_are_summed_up_by_joint_and_tests_told_by_the_first(book, tmp_path):
    lines, _ = told(book, "--out", tmp_path / "out")
    at = lines.index("joint job mean least most readings entries")
    assert re.fullmatch(r"fluid-cover TW-2109 34 N·m 33 N·m 35 N·m 4 \d+–\d+", lines[at + 1])
    assert lines[at + 2].startswith("TW-2342 33 N·m 32 N·m 34 N·m 4 ")
    at = lines.index("reading job value of the first entry")
    assert [line.rpartition(" ")[0] for line in lines[at + 1 : at + 4]] == [
        "readings.flow TW-2109 30.0 L/min 100 %",
        "TW-2342 28.5 L/min 95 %",
        "TW-2601 27.0 L/min 90 %",
    ]


def test_a_corrected_value_is_marked_with_the_old_one_and_why(book, tmp_path):
    id_ = first_of(book, "cylinder-bore", "TW-2342")
    result = rebuildbook(
        "correct", id_, "80.05 mm", "--why", "read on the wrong line", "--by", "I. Varga",
        "--ledger", book.path,
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    new, _ = book.head()
    assert result.stdout == (
        f"entry {new} takes the place of entry {id_}: {SERIAL}, job TW-2342, measurement "
        "cylinder-bore: 80.05 mm, was 80.55 mm\n"
        "  query: not judged again: no job card of it was found\n"
    )
    kept = book.get(new)
    assert (kept.entry.si, kept.entry.by, kept.entry.on) == (0.08005, "I. Varga", "2023-06-12")
    lines, _ = told(book, "--out", tmp_path / "out")
    assert f"TW-2342 80.05 mm * +0.02 mm 20 % {new}" in lines
    assert not any("80.55 mm" in line and "*" not in line and "by" not in line for line in lines)
    at = lines.index("entry job what was is why by")
    assert lines[at + 1] == (
        f"{id_} by {new} TW-2342 measurement cylinder-bore 80.55 mm 80.05 mm "
        "read on the wrong line I. Varga"
    )


def test_a_correction_may_be_in_another_unit_of_its_kind(book):
    id_ = first_of(book, "fluid-cover", "TW-2601")
    assert rebuildbook(*correct(book, id_, "25 ft-lb", ("--tool", "C-60"))).exit_code == 0
    kept = book.get(book.head()[0]).entry
    assert kept.si == pytest.approx(25 * 0.3048 * 4.4482216152605)  # definitions of ft and lbf
    assert (kept.given, kept.tool, kept.number) == ("25 ft-lb", "C-60", 1)


def test_a_text_is_corrected_by_a_text(book):
    id_ = first_of(book, "seal.bore", "TW-2601")
    assert rebuildbook(*correct(book, id_, "clear: measured again")).exit_code == 0
    assert book.get(book.head()[0]).entry.text == "clear: measured again"


@pytest.mark.parametrize(
    ("subject", "value", "more", "words"),
    [
        ("cylinder-bore", "80.05 N*m", (), "a length, '80.07 mm': '80.05 N*m' is not a length"),
        ("cylinder-bore", "80.05", (), "has no unit"),
        ("cylinder-bore", "80 to 81 mm", (), "is a range; wanted a single value"),
        ("cylinder-bore", "-80 mm", (), "is below zero"),
        ("cylinder-bore", "80.07 mm", (), "nothing differs from the entry"),
        ("cylinder-bore", "8e9999 mm", (), "too large"),
        ("cylinder-bore", "80.05 mm", ("--on", "yesterday"), "day 'yesterday' given"),
        ("cylinder-bore", "80.05 mm", ("--why", " "), "no reason is given"),
        ("cylinder-bore", "80.05 mm", ("--by", ""), "say who makes the correction"),
    ],
)
def test_a_correction_that_cannot_be_is_one_message(book, subject, value, more, words):
    before = book.head()
    id_ = first_of(book, subject, "TW-2601")
    assert words in refused(*correct(book, id_, value, more))
    assert book.head() == before


def test_gauge_and_absolute_are_not_exchanged(book):
    (kept,) = book.append(
        [Entry(SERIAL, "TW-2601", "test", "vacuum", None, "900 mbar abs", 90_000.0, "pressure")]
    )
    assert "does not say that it is absolute" in refused(*correct(book, kept.id, "0.9 bar"))
    assert "is a gauge pressure" in refused(*correct(book, kept.id, "0.9 barg"))
    assert rebuildbook(*correct(book, kept.id, "0.91 bara")).exit_code == 0


def test_an_entry_is_corrected_once_and_then_its_correction(book):
    id_ = first_of(book, "cylinder-bore", "TW-2342")
    assert rebuildbook(*correct(book, id_, "80.05 mm")).exit_code == 0
    new, _ = book.head()
    assert f"was corrected by entry {new}; correct that one" in refused(
        *correct(book, id_, "80.06 mm")
    )
    assert rebuildbook(*correct(book, new, "80.06 mm")).exit_code == 0
    assert "there is no entry 999; the last one is" in refused(*correct(book, 999, "1 mm"))


def test_figure_and_export_go_into_a_folder_of_their_own(book, tmp_path):
    out = tmp_path / "below" / "here"
    for form in ("csv", "parquet"):
        lines, _ = told(book, "--out", out, "--export", form)
        assert lines[-1] == f"history.{form}, history.png, history.svg in {out}"
        assert sorted(path.name for path in out.iterdir()) == sorted(
            [f"history.{form}", "history.png", "history.svg"]
        )
    assert [path.name for path in out.parent.iterdir()] == ["here"]
    assert (out / "history.png").read_bytes()[:4] == b"\x89PNG"
    drawn = (out / "history.svg").read_text(encoding="utf-8")
    assert drawn.startswith("<svg ")
    assert f"<title>History of {SERIAL}</title>" in drawn
    table = pq.read_table(out / "history.parquet").to_pylist()
    assert len(table) == 29
    assert {row["serial"] for row in table} == {SERIAL}


def test_the_default_folder_is_named_after_the_unit(book, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    lines, _ = told(book)
    assert lines[-1] == f"history.png, history.svg in outputs/history-{SERIAL}"


def test_a_folder_with_other_things_in_it_is_left_alone(book, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / "notes.txt").write_text("keep", encoding="utf-8")
    call = ("history", SERIAL, "--ledger", book.path, "--parameters", DEMO, "--out")
    assert "notes.txt is in it" in refused(*call, out)
    assert "is a file" in refused(*call, out / "notes.txt")
    assert [path.name for path in out.iterdir()] == ["notes.txt"]


def test_without_sheets_the_record_is_told_all_the_same(book, tmp_path):
    lines, result = told(book, "--out", tmp_path / "out", parameters=tmp_path / "none")
    assert any(re.fullmatch(r"TW-2342 80\.55 mm \+0\.52 mm \d+", line) for line in lines)
    assert "TW-2342 2023-06-12 1 hold, 1 query" in lines
    assert result.stderr == ""


def test_sheets_that_cannot_be_read_are_told_and_the_record_too(book, tmp_path):
    folder = tmp_path / "sheets"
    (folder / "jobs").mkdir(parents=True)
    card = f"kind: job\nserial: {SERIAL}\nmodel: gone\n"
    (folder / "jobs" / "one.yaml").write_text(card, encoding="utf-8")
    (folder / "jobs" / "two.yaml").write_text(f"serial: {SERIAL}: x", encoding="utf-8")
    lines, result = told(book, "--out", tmp_path / "out", parameters=folder)
    assert "two.yaml" in result.stderr and "gone.yaml" in result.stderr
    assert lines[0].startswith(f"{SERIAL}: 3 jobs")


def test_a_unit_without_quantities_draws_nothing_and_makes_no_folder(book, tmp_path):
    out = tmp_path / "out"
    result = rebuildbook(
        "history", "WP-112", "--ledger", book.path, "--parameters", DEMO, "--out", out
    )
    assert result.exit_code == 0
    assert result.stdout.splitlines()[-1] == "nothing to draw: no quantity is on record"
    assert not out.exists()


def test_an_unknown_unit_is_answered_with_the_nearest(book, tmp_path):
    call = ("--ledger", book.path, "--parameters", DEMO, "--out", tmp_path / "out")
    assert f"nothing is on record of 'sp-417'; did you mean {SERIAL}?" in refused(
        "history", "sp-417", *call
    )
    assert f"there are {SERIAL}, WP-112" in refused("history", "qqq", *call)
    assert "nothing is on record of '$[bold]'" in refused("history", "$[bold]", *call)
    assert not (tmp_path / "out").exists()


def test_a_ledger_that_is_not_there_is_told_and_not_made(tmp_path):
    gone = tmp_path / "ledger.sqlite"
    for call in (
        ("history", SERIAL), ("correct", 1, "1 mm", "--why", "w", "--by", "b"),
        ("ledger", "check"), ("ledger", "export", tmp_path / "all.csv"),
    ):  # fmt: skip
        assert f"{gone}: there is no ledger yet" in refused(*call, "--parameters", tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_no_ledger_is_one_message(tmp_path):
    path = tmp_path / "ledger.sqlite"
    path.write_text("words, not a database\n" * 99, encoding="utf-8")
    for call in (
        ("history", SERIAL), ("correct", 1, "1 mm", "--why", "w", "--by", "b"),
        ("ledger", "check"), ("ledger", "export", tmp_path / "all.csv"),
    ):  # fmt: skip
        assert "is not a ledger, nor any SQLite file" in refused(*call, "--ledger", path)


def test_the_whole_ledger_is_checked_and_written_out(book, tmp_path):
    last, digest = book.head()
    result = rebuildbook("ledger", "check", "--ledger", book.path)
    assert result.exit_code == 0
    assert result.stdout == (
        f"{book.path}: {last} entries of 2 units, all as put in\nlast hash {digest}\n"
    )
    path = tmp_path / "all.csv"
    assert rebuildbook("ledger", "export", path, "--ledger", book.path).exit_code == 0
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [int(row["id"]) for row in rows] == list(range(1, last + 1))
    assert rows[-1]["hash"] == digest
    assert "wanted a name that ends in" in refused(
        "ledger", "export", tmp_path / "all.doc", "--ledger", book.path
    )
    assert "cannot be written" in refused(
        "ledger", "export", tmp_path / "no" / "all.csv", "--ledger", book.path
    )


def test_a_ledger_changed_by_other_means_is_told_by_both(book, tmp_path):
    with closing(sqlite3.connect(book.path, isolation_level=None)) as connection:
        (guard,) = connection.execute(
            "SELECT sql FROM sqlite_master WHERE name = 'entries_stay'"
        ).fetchone()
        connection.execute("DROP TRIGGER entries_stay")
        connection.execute("UPDATE entries SET given = '80.00 mm', si = 0.08 WHERE id = 2")
        connection.execute(guard)
    assert "entry 2: is not as it was put in" in refused("ledger", "check", "--ledger", book.path)
    _, result = told(book, "--out", tmp_path / "out")
    assert "entry 2: is not as it was put in" in result.stderr
    assert "do not trust what follows" in result.stderr


def test_text_from_outside_is_shown_as_it_is(book, tmp_path):
    hostile = "[red]$x^{2}$ <b>&amp; ../{0} %s"
    book.append([
        Entry("../[bold]", hostile, "measurement", hostile, None, "5 mm", 0.005, "length"),
    ])  # fmt: skip
    result = rebuildbook(
        "history", "../[bold]", "--ledger", book.path, "--parameters", DEMO,
        "--out", tmp_path / "out",
    )  # fmt: skip
    assert result.exit_code == 0, result.output
    assert hostile in result.stdout
    drawn = (tmp_path / "out" / "history.svg").read_text(encoding="utf-8")
    assert "<b>" not in drawn


def test_the_unknown_form_is_refused(book):
    call = ("history", SERIAL, "--ledger", book.path, "--export", "xlsx")
    assert refused(*call) == "--export xlsx: wanted csv or parquet"


@pytest.mark.parametrize(
    "command", [("history",), ("correct",), ("ledger",), ("ledger", "check"), ("ledger", "export")]
)
def test_every_command_has_help_and_it_stays_light(command):
    script = (
        "import sys\nfrom rebuildbook.cli import app\n"
        f"try:\n    app([*{command!r}, '--help'])\nexcept SystemExit as ended:\n"
        "    code = ended.code\n"
        "heavy = {'numpy', 'pandas', 'pint', 'pyarrow', 'matplotlib', 'sqlite3'} & {*sys.modules}\n"
        "sys.exit(f'{code} {heavy}' if code or heavy else 0)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert "Usage: " in done.stdout
