"""The entries as a table in a file: CSV for a spreadsheet, Parquet with its types."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

from rebuildbook.record.kept import ENTRY_COLUMNS, Kept, fields_of
from rebuildbook.record.whole_file import whole

_TYPES = {"id": pa.int64(), "number": pa.int64(), "si": pa.float64(), "corrects": pa.int64(),
          "corrected_by": pa.int64()}  # fmt: skip
TABLE_COLUMNS = ("id", "entered", *ENTRY_COLUMNS, "corrects", "corrected_by", "why", "hash")
SCHEMA = pa.schema([pa.field(name, _TYPES.get(name, pa.string())) for name in TABLE_COLUMNS])
ENDINGS = (".csv", ".parquet")


def export(kept: Iterable[Kept], path: Path) -> None:
    """Write the entries to ``path``, in the form that its ending says, all or nothing.

    The columns are always the same: those of an entry with its id, the time it was put in, what
    it corrects and is corrected by, why, and its hash. ``si`` is in the SI unit of ``dimension``.
    What is not given is an empty cell. Raises ValueError for another ending.
    """
    writers: dict[str, Callable[[list[tuple[Any, ...]], Path], None]] = {
        ".csv": _write_csv,
        ".parquet": _write_parquet,
    }
    writer = writers.get(path.suffix.lower())
    if writer is None:
        raise ValueError(f"{path}: wanted a name that ends in {' or '.join(ENDINGS)}")
    rows = [row_of(one) for one in kept]
    with whole(path, over=True) as made:
        writer(rows, made)


def row_of(kept: Kept) -> tuple[Any, ...]:
    """One entry in the order of the table's columns."""
    corrected = (kept.corrects, kept.corrected_by)
    return (kept.id, kept.entered, *fields_of(kept.entry), *corrected, kept.why, kept.hash)


def _write_csv(rows: list[tuple[Any, ...]], path: Path) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(TABLE_COLUMNS)
        writer.writerows(rows)


def _write_parquet(rows: list[tuple[Any, ...]], path: Path) -> None:
    columns = zip(*rows, strict=True) if rows else [()] * len(TABLE_COLUMNS)
    arrays = [
        pa.array(list(column), field.type) for column, field in zip(columns, SCHEMA, strict=True)
    ]
    pq.write_table(pa.table(arrays, schema=SCHEMA), path)
