"""The entries as a table: the same columns in CSV and Parquet, whatever is in them."""

import csv

import pyarrow.parquet as pq
import pytest

from rebuildbook.record.entry import Entry
from rebuildbook.record.export import TABLE_COLUMNS, export
from rebuildbook.record.ledger import Ledger


def reading(newton_metres, text=""):
    given = f"{newton_metres} N*m"
    return Entry("U", "J", "torque", "cover", 1, given, newton_metres, "torque", text=text)


@pytest.fixture
def ledger(tmp_path):
    return Ledger(tmp_path / "ledger.sqlite")


@pytest.mark.parametrize("ending", [".csv", ".parquet"])
def test_an_export_holds_every_entry_in_columns_that_stay_the_same(ledger, tmp_path, ending):
    ledger.append([reading(24.0, text='say "when", =1+1\nthen'), Entry("S", "J", "step", "泵")])
    ledger.correct(1, reading(42.0), "digits exchanged")
    path = tmp_path / f"all{ending}"
    for _ in range(2):
        export(ledger.entries(superseded=True), path)
        written = path.read_bytes()
    export(ledger.entries(superseded=True), path)
    assert path.read_bytes() == written
    if ending == ".csv":
        with path.open(encoding="utf-8", newline="") as file:
            head, *rows = csv.reader(file)
        rows = [dict(zip(head, row, strict=True)) for row in rows]
        assert (rows[0]["si"], rows[1]["si"], rows[1]["number"]) == ("24.0", "", "")
        assert (rows[0]["corrected_by"], rows[2]["corrects"]) == ("3", "1")
    else:
        table = pq.read_table(path)
        head, rows = table.column_names, table.to_pylist()
        assert (rows[0]["si"], rows[1]["si"], rows[1]["number"]) == (24.0, None, None)
        assert (rows[0]["corrected_by"], rows[2]["corrects"]) == (3, 1)
    assert tuple(head) == TABLE_COLUMNS
    assert rows[0]["text"] == 'say "when", =1+1\nthen'
    assert [row["subject"] for row in rows] == ["cover", "泵", "cover"]
    assert sorted(one.name for one in tmp_path.iterdir()) == [path.name, "ledger.sqlite"]


def test_an_export_of_nothing_has_its_columns_and_another_ending_is_refused(tmp_path):
    for ending in (".csv", ".parquet"):
        export([], tmp_path / f"none{ending}")
    assert (tmp_path / "none.csv").read_text("utf-8") == ",".join(TABLE_COLUMNS) + "\n"
    assert tuple(pq.read_table(tmp_path / "none.parquet").column_names) == TABLE_COLUMNS
    with pytest.raises(ValueError, match=r"\.csv or \.parquet"):
        export([], tmp_path / "none.xlsx")
