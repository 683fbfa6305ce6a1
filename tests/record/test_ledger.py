"""The ledger: appended, never changed, corrected by new entries; a change by other means shows."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rebuildbook.record.entry import KINDS, Entry
from rebuildbook.record.ledger import Ledger, LedgerError

WHEN = datetime(2026, 9, 9, 12, 30, tzinfo=UTC)


def reading(number=1, newton_metres=24.0, **other):
    given = {
        "serial": "SP-0417", "job": "TW-2601", "kind": "torque", "subject": "fluid-cover",
        "number": number, "given": f"{newton_metres} N*m", "si": newton_metres,
        "dimension": "torque", "tool": "C-60", "on": "2026-09-08", "by": "bench 2",
        "came_from": f"readings.xlsx, torques, row {number + 4}",
    }  # fmt: skip
    return Entry(**{**given, **other})


@pytest.fixture
def ledger(tmp_path):
    return Ledger(tmp_path / "ledger.sqlite", now=lambda: WHEN)


def raw(ledger):
    return closing(sqlite3.connect(ledger.path, isolation_level=None))


def tampered(ledger, *statements):
    """Change the file as one who takes the guards out and puts them back afterwards."""
    with raw(ledger) as connection:
        guards = connection.execute(
            "SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall()
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            connection.execute(statement)
        for _, sql in guards:
            connection.execute(sql)
    return ledger.verify()


def test_what_goes_in_comes_out_with_its_number_and_time(ledger):
    entries = [reading(1), Entry("WP-112", "TW-2602", "finding", "seal.bore", text="hold: scored")]
    kept = ledger.append(entries)
    assert [one.entry for one in kept] == entries
    assert [one.id for one in kept] == [1, 2]
    assert {one.entered for one in kept} == {"2026-09-09T12:30:00.000+00:00"}
    assert ledger.entries() == kept
    assert ledger.get(2) == kept[1]
    assert ledger.get(3) is ledger.get(0) is ledger.get(2**70) is None
    assert ledger.head() == (2, kept[1].hash)
    assert ledger.verify() is None


def test_entries_are_found_by_unit_job_and_kind(ledger):
    rows = [
        reading(1), reading(2, serial="WP-112"), reading(3, job="TW-2699"),
        reading(4, kind="test", subject="flow"),
    ]  # fmt: skip
    ledger.append(rows)
    assert [one.id for one in ledger.entries(serial="SP-0417")] == [1, 3, 4]
    assert [one.id for one in ledger.entries(serial="SP-0417", job="TW-2601")] == [1, 4]
    assert [one.id for one in ledger.entries(kind="test")] == [4]
    assert ledger.entries(serial="sp-0417") == ()
    assert ledger.units() == ("SP-0417", "WP-112")


def test_a_ledger_that_is_not_there_is_empty_and_is_not_made_by_looking(ledger):
    assert ledger.entries() == ledger.units() == ()
    assert ledger.head() == (0, "")
    assert ledger.get(1) is ledger.verify() is None
    assert ledger.append([]) == ()
    with pytest.raises(ValueError, match="entry 1 is not in the ledger"):
        ledger.correct(1, reading(), "misread")
    assert not ledger.path.exists()


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET si = 30.0 WHERE id = 2",
        "DELETE FROM entries WHERE id = 2",
        "DELETE FROM entries",
        "INSERT OR REPLACE INTO entries SELECT 2, entered, serial, job, kind, subject, number, "
        "'30 N*m', 30.0, dimension, tool, \"on\", by, came_from, text, corrects, why, 'x' "
        "FROM entries WHERE id = 2",
        "INSERT OR REPLACE INTO entries SELECT 9, entered, serial, job, kind, subject, number, "
        "given, si, dimension, tool, \"on\", by, came_from, text, 1, 'other', 'x' "
        "FROM entries WHERE id = 3",
        "INSERT INTO entries SELECT 9, entered, 'WP-112', job, kind, subject, number, "
        "given, si, dimension, tool, \"on\", by, came_from, text, 2, 'other', 'x' "
        "FROM entries WHERE id = 2",
    ],
)
def test_the_file_itself_refuses_change_removal_and_replacement(ledger, statement):
    ledger.append([reading(1), reading(2)])
    ledger.correct(1, reading(1, 23.0), "misread")
    before = ledger.entries(superseded=True)
    with raw(ledger) as connection, pytest.raises(sqlite3.IntegrityError, match="correction"):
        connection.execute(statement)
    assert ledger.entries(superseded=True) == before
    assert ledger.verify() is None


@pytest.mark.parametrize(
    ("statement", "row"),
    [
        ("UPDATE entries SET si = 30.0 WHERE id = 3", 3),
        ("UPDATE entries SET given = '30 N*m' WHERE id = 1", 1),
        ("UPDATE entries SET number = NULL WHERE id = 2", 2),
        ("UPDATE entries SET text = CAST(x'ff' AS TEXT) WHERE id = 2", 2),
        ("UPDATE entries SET text = x'00ff' WHERE id = 2", 2),
        ("UPDATE entries SET entered = '2020-01-01' WHERE id = 4", 4),
        ("UPDATE entries SET hash = 'x' WHERE id = 4", 4),
        ("UPDATE entries SET \"by\" = 'bench 3' WHERE id = 5", 5),
        ("UPDATE entries SET why = 'so' WHERE id = 5", 5),
        ("DELETE FROM entries WHERE id = 3", 4),
        ("DELETE FROM entries WHERE id = 1", 2),
        ("DELETE FROM entries WHERE id >= 4", 4),
        ("DELETE FROM entries", 1),
        ("UPDATE entries SET id = 9 WHERE id = 4", 5),
    ],
)
def test_a_change_by_other_means_is_found_and_its_first_row_named(ledger, statement, row):
    ledger.append([reading(number) for number in range(1, 5)])
    ledger.correct(2, reading(2, 23.0), "misread")
    assert ledger.verify() is None
    assert tampered(ledger, statement).id == row


def test_a_row_slipped_in_or_two_exchanged_are_found(ledger):
    ledger.append([reading(number) for number in range(1, 5)])
    assert tampered(
        ledger,
        "UPDATE entries SET id = 99 WHERE id = 2",
        "UPDATE entries SET id = 2 WHERE id = 3",
        "UPDATE entries SET id = 3 WHERE id = 99",
        "UPDATE sqlite_sequence SET seq = 4",
    ).id == 2  # fmt: skip
    assert str(ledger.verify()).startswith("entry 2: is not as it was put in")
    other = Ledger(ledger.path.with_name("other.sqlite"))
    other.append([reading(1)])
    with raw(other) as connection:
        columns = "entered, serial, job, kind, subject, number, given, si, dimension, tool, "
        columns += '"on", "by", came_from, text, corrects, why'
        connection.execute(f"INSERT INTO entries SELECT 2, {columns}, 'x' FROM entries")  # noqa: S608
    assert other.verify().id == 2


def test_a_row_hashed_anew_shows_in_the_next(ledger):
    ledger.append([reading(1), reading(2)])
    forged = Ledger(ledger.path.with_name("forged.sqlite"), now=lambda: WHEN)
    hashes = [one.hash for one in forged.append([reading(1, 25.0)])]
    change = "UPDATE entries SET si = 25.0, given = '25.0 N*m', hash = '{}' WHERE id = 1"
    assert tampered(ledger, change.format(*hashes)).id == 2


def test_a_guard_taken_out_is_found_and_stops_appending(ledger):
    ledger.append([reading(1)])
    with raw(ledger) as connection:
        connection.execute("DROP TRIGGER entries_stay")
    misfit = ledger.verify()
    assert misfit.id is None
    assert str(misfit) == "entries_stay of its schema is missing"
    with pytest.raises(LedgerError, match="schema is missing; entries may have been changed"):
        ledger.append([reading(2)])
    assert len(ledger.entries()) == 1


def test_a_correction_is_a_new_entry_and_the_old_one_stays(ledger):
    ledger.append([reading(1), reading(2)])
    kept = ledger.correct(1, reading(1, 42.0, by="I. Varga"), "digits exchanged")
    assert (kept.id, kept.corrects, kept.why) == (3, 1, "digits exchanged")
    assert [one.id for one in ledger.entries()] == [2, 3]
    old = ledger.entries(superseded=True)[0]
    assert (old.entry, old.corrected_by) == (reading(1), 3)
    again = ledger.correct(3, reading(1, 41.0), "and again")
    assert [one.id for one in ledger.entries()] == [2, again.id]
    assert ledger.verify() is None


@pytest.mark.parametrize(
    ("id_", "entry", "why", "words"),
    [
        (7, reading(1, 42.0), "misread", "entry 7 is not in the ledger"),
        (-1, reading(1, 42.0), "misread", "entry -1 is not in the ledger"),
        (1, reading(1, 42.0), "misread", "was corrected by entry 2; correct that one"),
        (2, reading(1, 42.0), "  ", "no reason is given"),
        (2, reading(1, 42.0), "\ud800", "the reason .* is not Unicode"),
        (2, reading(1, 40.0), "misread", "nothing differs"),
        (2, reading(1, 40.0, by="other", came_from=""), "misread", "nothing differs"),
        (2, reading(1, 42.0, serial="SP-1"), "misread", "serial 'SP-1' given"),
        (2, reading(1, 42.0, job="TW-1"), "misread", "job 'TW-1' given"),
        (2, reading(1, 42.0, kind="test"), "misread", "kind 'test' given"),
        (2, reading(1, 42.0, subject="tie-rods"), "misread", "subject 'tie-rods' given"),
        (2, reading(1, 42.0, dimension="force"), "misread", "dimension 'force' given"),
    ],
)
def test_a_correction_that_does_not_belong_is_refused(ledger, id_, entry, why, words):
    ledger.append([reading(1)])
    ledger.correct(1, reading(1, 40.0), "misread")
    with pytest.raises(ValueError, match=words):
        ledger.correct(id_, entry, why)
    assert ledger.head()[0] == 2


def test_the_same_from_the_same_place_is_told_and_not_doubled(ledger):
    first = ledger.append([reading(1), reading(2)])
    again = ledger.append([reading(2), reading(3), reading(1)])
    assert [(one.id, one.known) for one in again] == [(2, True), (3, False), (1, True)]
    assert replace(again[2], known=False) == first[0]
    assert ledger.head()[0] == 3
    assert [one.id for one in ledger.append([reading(1)], again="keep")] == [4]


def test_the_same_twice_in_one_call_is_one_entry(ledger):
    kept = ledger.append([reading(1), reading(1)])
    assert [(one.id, one.known) for one in kept] == [(1, False), (1, True)]


def test_the_same_from_elsewhere_or_from_nowhere_is_another_entry(ledger):
    nowhere = reading(1, came_from="")
    ledger.append([reading(1), reading(1, came_from="wrench.csv, row 2"), nowhere, nowhere])
    assert ledger.head()[0] == 4


def test_a_reading_brought_in_again_after_its_correction_tells_so(ledger):
    ledger.append([reading(1)])
    ledger.correct(1, reading(1, 42.0), "digits exchanged")
    (kept,) = ledger.append([reading(1)])
    assert (kept.known, kept.corrected_by) == (True, 2)
    assert ledger.head()[0] == 2


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        (reading(si=float("nan")), "si nan"),
        (reading(si=float("inf")), "si inf"),
        (reading(si=None), "a quantity has all three"),
        (reading(dimension=""), "a quantity has all three"),
        (reading(given=""), "a quantity has all three"),
        (reading(kind="guess"), "kind 'guess' given; there are torque, "),
        (reading(serial=" "), "no serial is given"),
        (reading(job=""), "no job is given"),
        (reading(subject="\n"), "no subject is given"),
        (reading(on="9 Sept"), "day '9 Sept' given; wanted as 2026-09-30"),
        (reading(on="2026-02-30"), "day '2026-02-30' given"),
        (reading(on="20260230"), "day '20260230' given"),
        (reading(by="\udcff"), "not Unicode text"),
        (reading(text="a\0b"), r"text holds a control character \(U\+0000\)"),
        (reading(subject="\x1b[2J"), r"subject holds a control character \(U\+001B\)"),
        (reading(by=None), "by None given; text is wanted"),
        (replace(reading(), number=-1), "number -1 given"),
        (replace(reading(), number=1.5), "number 1.5 given"),
        (replace(reading(), number=2**40), "number 1099511627776 given"),
    ],
)
def test_what_no_ledger_could_keep_is_refused_with_all_beside_it(ledger, entry, words):
    with pytest.raises(ValueError, match=words):
        ledger.append([reading(5), entry])
    assert not ledger.path.exists()


LETTERS = st.characters(exclude_categories=["Cs", "Cc"]) | st.sampled_from("\n\r\t")
TEXT = st.text(LETTERS, max_size=30)
NAMES = TEXT.filter(str.strip)
SI = st.floats(allow_nan=False, allow_infinity=False)
QUANTITY = st.one_of(st.just(("", None, "")), st.tuples(NAMES, SI, NAMES))


@st.composite
def entries(draw):
    given_, si, dimension = draw(QUANTITY)
    return Entry(
        serial=draw(NAMES), job=draw(NAMES), kind=draw(st.sampled_from(KINDS)),
        subject=draw(NAMES), number=draw(st.none() | st.integers(0, 2**31 - 1)), given=given_,
        si=si, dimension=dimension, tool=draw(TEXT), on=draw(st.just("") | st.dates().map(str)),
        by=draw(TEXT), came_from=draw(TEXT), text=draw(TEXT),
    )  # fmt: skip


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(batch=st.lists(entries(), min_size=1, max_size=4))
def test_any_text_and_number_comes_back_as_it_went_in(tmp_path, batch):
    ledger = Ledger(tmp_path / "any.sqlite")
    ledger.path.unlink(missing_ok=True)
    ledger.append(batch, again="keep")
    assert [one.entry for one in ledger.entries()] == batch
    assert [repr(one.entry.si) for one in ledger.entries()] == [
        repr(one.si).replace("-0.0", "0.0") if one.si == 0 else repr(one.si) for one in batch
    ]
    assert ledger.verify() is None
    assert all(one.known or not one.entry.came_from for one in ledger.append(batch))


APPEND_MANY = """
import sys
from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger
_, path, writer = sys.argv
for batch in range(8):
    origin = f"{writer}.{batch}"
    Ledger(path).append([Entry("S", "J", "step", str(n), came_from=origin) for n in range(3)])
"""


def test_several_processes_append_at_once_and_nothing_is_lost(tmp_path):
    path = tmp_path / "ledger.sqlite"
    writers = [
        subprocess.Popen([sys.executable, "-c", APPEND_MANY, str(path), str(writer)])
        for writer in range(4)
    ]
    assert [writer.wait(60) for writer in writers] == [0] * 4
    ledger = Ledger(path)
    kept = ledger.entries()
    assert ledger.verify() is None
    origins = [one.entry.came_from for one in kept]
    assert {origin: origins.count(origin) for origin in origins} == {
        f"{who}.{batch}": 3 for who in range(4) for batch in range(8)
    }
    # a batch is never mixed with another's
    assert all(len(set(origins[at : at + 3])) == 1 for at in range(0, len(origins), 3))
