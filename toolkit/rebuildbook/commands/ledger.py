"""``rebuildbook ledger``: whether the ledger is as it was written, and all of it in a table."""

from __future__ import annotations

from pathlib import Path

from rebuildbook.commands import Refused
from rebuildbook.record.ledger import Ledger, LedgerError


def check_ledger(path: Path) -> str:
    """Say that the ledger is whole and where it ends; raises Refused with the first misfit."""
    book = _there(path)
    try:
        misfit = book.verify()
        last, digest = book.head()
        units = len(book.units())
    except LedgerError as error:
        raise Refused(str(error)) from None
    if misfit:
        raise Refused(f"{path}: {misfit}")
    if not last:
        return f"{path}: no entries yet"
    told = f"{path}: {last} entries of {units} unit{'s' if units != 1 else ''}, all as put in"
    return f"{told}\nlast hash {digest}"


def export_ledger(path: Path, to: Path) -> str:
    """Write every entry, corrected ones too, as CSV or Parquet; raises Refused."""
    from rebuildbook.record.export import export  # noqa: PLC0415  (check goes without pyarrow)

    try:
        kept = _there(path).entries(superseded=True)
        export(kept, to)
    except LedgerError as error:
        raise Refused(str(error)) from None
    except ValueError as problem:
        raise Refused(str(problem)) from None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise Refused(f"{to}: cannot be written: {reason}") from None
    return f"{len(kept)} entries in {to}"


def _there(path: Path) -> Ledger:
    if not path.exists():
        raise Refused(f"{path}: there is no ledger yet; name another with --ledger")
    return Ledger(path)
