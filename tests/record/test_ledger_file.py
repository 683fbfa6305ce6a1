"""The ledger's file: full disks, other programs, other files; one clear error, nothing lost."""

import os
import pickle
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest

from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger, LedgerError


def reading(number=1, text="", came_from="readings.xlsx, torques"):
    return Entry(
        "SP-0417", "TW-2601", "torque", "fluid-cover", number, "24 N*m", 24.0, "torque",
        came_from=came_from, text=text,
    )  # fmt: skip


@pytest.fixture
def ledger(tmp_path):
    return Ledger(tmp_path / "ledger.sqlite")


def raw(ledger):
    return closing(sqlite3.connect(ledger.path, isolation_level=None))


def test_a_ledger_in_use_is_waited_for_and_then_told(ledger):
    ledger.append([reading(1)])
    impatient = Ledger(ledger.path, wait=0.05)
    with raw(ledger) as other:
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(LedgerError, match="in use by another program"):
            impatient.append([reading(2)])
        with pytest.raises(LedgerError, match="in use by another program"):
            impatient.entries()
        other.execute("ROLLBACK")
    assert impatient.append([reading(2)])[0].id == 2


def limited(monkeypatch, pages):
    """Let the file have no more pages, which to SQLite is a full disk."""
    connect = sqlite3.connect

    def small(*arguments, **options):
        connection = connect(*arguments, **options)
        connection.execute(f"PRAGMA max_page_count = {pages}")
        return connection

    monkeypatch.setattr(sqlite3, "connect", small)


def test_a_full_disk_is_told_and_what_was_kept_stays(ledger, monkeypatch):
    kept = ledger.append([reading(1)])
    with monkeypatch.context() as patch:
        limited(patch, 12)
        many = [reading(number, text="x" * 2000) for number in range(2, 60)]
        with pytest.raises(LedgerError, match=r"ledger\.sqlite: the disk is full; nothing was"):
            ledger.append(many)
        assert ledger.entries() == kept
    assert ledger.verify() is None
    assert ledger.append([reading(2)])[0].id == 2


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() != 0, reason="root may mount")
def test_a_disk_that_is_really_full(tmp_path):
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=160k", "tmpfs", tmp_path],
        capture_output=True,
        check=False,
    )
    if mounted.returncode:
        pytest.skip("no small disk can be mounted here")
    try:
        ledger, acknowledged = Ledger(tmp_path / "ledger.sqlite"), []
        with pytest.raises(LedgerError, match="the disk is full; nothing was written"):
            for batch in range(100):
                entries = [
                    reading(n, text="x" * 500, came_from=f"{batch}.{n}") for n in range(1, 9)
                ]
                acknowledged += ledger.append(entries)
        assert acknowledged
        assert list(ledger.entries()) == acknowledged
        assert ledger.verify() is None
    finally:
        subprocess.run(["umount", tmp_path], check=True)


READ_ONLY = """
import os, sys
from pathlib import Path
from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger, LedgerError
if os.geteuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
ledger = Ledger(Path(sys.argv[1]))
print(len(ledger.entries()))
try:
    ledger.append([Entry("S", "J", "step", "one")])
except LedgerError as error:
    print(error.reason)
"""


def test_a_file_that_may_only_be_read_is_read_and_not_appended_to(tmp_path):
    shared = tmp_path / "shared"
    shared.mkdir()
    ledger = Ledger(shared / "ledger.sqlite")
    ledger.append([reading(1)])
    ledger.path.chmod(0o444)
    shared.chmod(0o555)
    openable = [folder for folder in tmp_path.parents if folder.stat().st_mode & 0o001 == 0]
    for folder in (tmp_path, *openable):
        folder.chmod(folder.stat().st_mode | 0o001)
    try:
        done = subprocess.run(
            [sys.executable, "-c", READ_ONLY, str(ledger.path)],
            capture_output=True,
            text=True,
            check=False,
        )
    finally:
        shared.chmod(0o755)
        for folder in openable:
            folder.chmod(folder.stat().st_mode & ~0o001)
    assert done.stderr == ""
    assert done.stdout.splitlines() == ["1", "may not be written to; nothing was written"]


def test_a_file_of_another_kind_is_refused_and_left_alone(tmp_path):
    text = tmp_path / "text.sqlite"
    text.write_text("not a database, only words that go on for a while\n" * 9, encoding="utf-8")
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as connection:
        connection.execute("CREATE TABLE entries (id INTEGER)")
        connection.commit()
    marked = tmp_path / "marked.sqlite"
    with closing(sqlite3.connect(marked)) as connection:
        connection.execute("PRAGMA application_id = 7")
    before = {path: path.read_bytes() for path in (text, other, marked)}
    for path, words in (
        (text, "is not a ledger, nor any SQLite file"),
        (other, "is a SQLite file of another program"),
        (marked, "is a SQLite file of another program"),
        (tmp_path, "is a folder"),
    ):
        for use in (Ledger(path).entries, Ledger(path).verify, lambda at=path: put(at)):
            with pytest.raises(LedgerError, match=words) as raised:
                use()
            assert str(raised.value).startswith(f"{path}: ")
    assert {path: path.read_bytes() for path in before} == before


def put(path):
    Ledger(path).append([reading(1)])


def test_a_folder_that_is_not_there_is_named(tmp_path):
    with pytest.raises(LedgerError, match=r"cannot be opened: there is no folder .*none"):
        put(tmp_path / "none" / "ledger.sqlite")


def test_a_newer_ledger_is_refused_and_left_alone(ledger):
    ledger.append([reading(1)])
    with raw(ledger) as connection:
        connection.execute("PRAGMA user_version = 2")
    before = ledger.path.read_bytes()
    for use in (ledger.entries, ledger.verify, lambda: put(ledger.path)):
        with pytest.raises(LedgerError, match="written by a newer rebuildbook"):
            use()
    assert ledger.path.read_bytes() == before


def test_a_damaged_file_is_told(ledger):
    ledger.append([reading(number, text="x" * 300) for number in range(1, 100)])
    whole = ledger.path.read_bytes()
    ledger.path.write_bytes(whole[: 4096 * 2] + b"\x5a" * 4096 + whole[4096 * 3 :])
    try:
        misfit = ledger.verify()
    except LedgerError as error:
        assert "is damaged" in error.reason  # either way of telling will do
    else:
        assert misfit is not None


def test_an_empty_file_is_an_empty_ledger(ledger):
    ledger.path.touch()
    assert ledger.entries() == ()
    assert ledger.append([reading(1)])[0].id == 1


def test_a_ledger_whose_name_holds_any_letters(tmp_path):
    ledger = Ledger(tmp_path / "Ünit 泵 #1?mode=ro%41.sqlite")
    ledger.append([reading(1)])
    assert [path.name for path in tmp_path.iterdir()] == [ledger.path.name]


def test_the_commit_is_on_the_disk_before_it_is_told(ledger, monkeypatch):
    ledger.append([reading(1)])
    seen = []
    connect = sqlite3.connect

    def watched(*arguments, **options):
        connection = connect(*arguments, **options)
        connection.set_trace_callback(seen.append)
        return connection

    monkeypatch.setattr(sqlite3, "connect", watched)
    ledger.append([reading(2)])
    assert seen.index("PRAGMA synchronous = EXTRA") < seen.index("BEGIN IMMEDIATE")
    assert seen[-1] == "COMMIT"
    monkeypatch.undo()
    with raw(ledger) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_the_ledger_loads_nothing_heavy():
    script = (
        "import sys, rebuildbook.record.ledger\n"
        "heavy = {'numpy', 'pandas', 'pint', 'pyarrow', 'pydantic', 'ruamel'} & set(sys.modules)\n"
        "sys.exit(str(heavy) if heavy else 0)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0


def test_the_error_names_file_and_reason_and_crosses_processes():
    raised = LedgerError(Path("a.sqlite"), "is damaged")
    error = pickle.loads(pickle.dumps(raised))  # noqa: S301  (our own bytes)
    assert (error.path, error.reason, str(error)) == (
        Path("a.sqlite"), "is damaged", "a.sqlite: is damaged",
    )  # fmt: skip
