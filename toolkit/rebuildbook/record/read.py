"""Read a file of readings, whatever it is, and judge all of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from rebuildbook.record.bench import Bench
from rebuildbook.record.form_rows import readings_of_test, subject_in_test
from rebuildbook.record.judge import Taken, judge
from rebuildbook.record.kept import Kept
from rebuildbook.record.raw import Found
from rebuildbook.record.read_csv import read_csv
from rebuildbook.record.read_spreadsheet import read_spreadsheet
from rebuildbook.record.read_yaml import read_yaml
from rebuildbook.record.remarks import Remark
from rebuildbook.sheets import Problem, SheetError
from rebuildbook.sheets.columns import ColumnMap

_MAPPED = {".csv", ".tsv", ".txt"}
_YAML = {".yaml", ".yml"}


@dataclass(slots=True)
class FileRead:
    """What became of one file.

    ``taken`` are new readings, ``known`` counts those that the record has already, ``told`` is
    what else is to be said; where there are ``problems`` nothing is taken.
    """

    path: Path
    taken: list[Taken] = field(default_factory=list)
    known: int = 0
    told: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def read_file(
    path: Path,
    bench: Bench,
    *,
    columns: ColumnMap | None = None,
    today: date | None = None,
    kept: Sequence[Kept] = (),
) -> FileRead:
    """Read and judge one file, against the plan and against what the record has (``kept``)."""
    try:
        found = _found(path, bench, columns)
    except SheetError as error:
        return FileRead(path, problems=list(error.problems))
    # what could not be read hides rows from the judge, so each speaks for itself
    intake = judge(found.raws, bench, today or date.today())
    problems = [*found.problems, *intake.problems]
    if problems:
        return FileRead(path, told=found.told, problems=problems)
    if not found.raws:
        message = "holds no reading; nothing was filled in"
        return FileRead(path, told=found.told, problems=[Problem(str(path), None, "", "", message)])
    return _against(FileRead(path, intake.taken, told=found.told), kept)


def _found(path: Path, bench: Bench, columns: ColumnMap | None) -> Found:
    ending = path.suffix.lower()
    if ending == ".xlsx":
        return read_spreadsheet(path, bench)
    if ending in _YAML:
        return read_yaml(path, bench)
    if ending not in _MAPPED:
        message = "is no file of readings; wanted .xlsx, .yaml or .csv"
        raise SheetError([Problem(str(path), None, "", path.suffix, message)])
    if columns is None:
        message = "needs a column map: --map FILE, or --map NAME of the shop sheet's wrench_files"
        raise SheetError([Problem(str(path), None, "", "", message)])
    found = read_csv(path, columns)
    tests = [reading.name for reading in readings_of_test(bench.case)]
    found.raws = [
        replace(raw, subject=subject_in_test(raw.subject, tests)) if raw.kind == "test" else raw
        for raw in found.raws
    ]
    return found


def _against(file: FileRead, kept: Sequence[Kept]) -> FileRead:
    """Leave out what is on record already; a reading that was changed in the file is a correction.

    The same place of the same file is the same reading, whatever is said of it by now.
    """
    new = []
    for one in file.taken:
        of_it = [row for row in kept if _subject(row) == _subject_of(one)]
        at_place = [row for row in of_it if row.entry.came_from == one.entry.came_from]
        if any(_same(row, one) for row in at_place):
            file.known += 1
            continue
        standing = [row for row in of_it if row.corrected_by is None]
        if at_place and standing:
            file.problems.append(_changed(at_place[-1], standing[-1], one))
        elif standing and one.raw.kind not in {"deviation", "signature"}:
            old = standing[-1]
            text = f"on record already as entry {old.id}: {old.entry.given}"
            new.append(one.remarked([Remark("query", text)]))
        else:
            new.append(one)
    file.taken = [] if file.problems else new
    return file


def _subject(row: Kept) -> tuple[str, str, int | None]:
    return row.entry.kind, row.entry.subject, row.entry.number


def _subject_of(one: Taken) -> tuple[str, str, int | None]:
    return one.entry.kind, one.entry.subject, one.entry.number


def _same(row: Kept, one: Taken) -> bool:
    old, new = row.entry, one.entry
    if new.given:
        return (old.given, old.tool, old.on, old.by) == (new.given, new.tool, new.on, new.by)
    note = one.raw.note
    return (old.on, old.by) == (new.on, new.by) and old.text.startswith(note)


def _changed(old: Kept, standing: Kept, one: Taken) -> Problem:
    entry = old.entry
    was = ", ".join(text for text in (entry.given, entry.tool, entry.on, entry.by) if text)
    message = (
        f"was read from here before as entry {old.id} ({was}) and has changed since; a change is "
        f"a correction of its own, that names entry {standing.id}: rebuildbook correct"
    )
    return one.raw.place.problem("reading", one.entry.given or one.raw.note, message)
