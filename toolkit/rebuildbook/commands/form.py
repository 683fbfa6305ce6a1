"""``rebuildbook form``: a spreadsheet to fill in at the bench."""

from __future__ import annotations

from pathlib import Path

from rebuildbook.commands import Refused
from rebuildbook.commands.bench import bench_of
from rebuildbook.commands.cards import plain_case
from rebuildbook.record.form import form_of
from rebuildbook.record.form_rows import form_rows
from rebuildbook.record.whole_file import write_whole
from rebuildbook.sheets import SheetError


def write_form(card: Path, out: Path | None) -> str:
    """Write a job's form; raises Refused for a bad card, or a place that cannot be written."""
    try:
        bench = bench_of(plain_case(card))
    except SheetError as error:
        raise Refused(str(error)) from None
    path = out or Path(f"readings-{bench.case.job.job}.xlsx")
    if path.suffix.lower() != ".xlsx":
        raise Refused(f"--out {path}: wanted a name that ends in .xlsx")
    try:
        write_whole(path, form_of(bench))
    except FileExistsError:
        message = f"{path} is there already, perhaps filled in; it is not overwritten: give --out"
        raise Refused(message) from None
    except OSError as error:
        raise Refused(f"{path}: cannot be written: {(error.strerror or '').lower()}") from None
    kinds = [row.kind for row in form_rows(bench)]
    torques, sizes, tests = (kinds.count(kind) for kind in ("torque", "measurement", "test"))
    wanted = f"{torques} torques, {sizes} sizes, {tests} readings of the test"
    return f"{path} written: {wanted}; fill it in, then: rebuildbook read {card} {path}"
