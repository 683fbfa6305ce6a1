"""Reference tables: CSV files beside this module, every row with its source."""

from __future__ import annotations

import csv
import functools
from importlib import resources


@functools.cache
def rows(table: str) -> tuple[dict[str, str], ...]:
    """Give the rows of ``table`` (the CSV's name without its ending).

    Units stand in the column names ("proof_strength_MPa"); the last column is ``source``.
    """
    text = (resources.files(__package__) / f"{table}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def row(table: str, **keys: str) -> dict[str, str]:
    """Give the one row of ``table`` whose columns equal ``keys``.

    Raises LookupError naming the values the first key column offers.
    """
    for found in rows(table):
        if all(found[column] == value for column, value in keys.items()):
            return found
    column = next(iter(keys))
    offered = ", ".join(dict.fromkeys(found[column] for found in rows(table)))
    wanted = ", ".join(f"{name} {value}" for name, value in keys.items())
    raise LookupError(f"no {wanted} in the table {table}; it has {offered}")
