"""A spreadsheet file is a packed folder: look at the packing before anything is unpacked."""

from __future__ import annotations

import zipfile
from pathlib import Path

from rebuildbook.sheets import Problem, SheetError

LARGEST_FILE = 5_000_000  # bytes; a filled form is some 20 kB
LARGEST_UNPACKED = 20_000_000
MOST_PARTS = 300
_DOCTYPE = b"<!doctype"


def check_archive(path: Path) -> bytes:
    """Give the bytes of a spreadsheet that is safe to open; raises SheetError for any other."""
    name = str(path)

    def refuse(message: str) -> SheetError:
        return SheetError([Problem(name, None, "", "", message)])

    try:
        if path.is_dir():
            raise refuse("is a folder; wanted a spreadsheet")
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise refuse(f"cannot be read: {(error.strerror or str(error)).lower()}") from None
    if len(raw) > LARGEST_FILE:
        size = path.stat().st_size / 1e6
        raise refuse(f"is {size:.1f} MB; a form has at most {LARGEST_FILE / 1e6:.0f} MB")
    try:
        with zipfile.ZipFile(path) as parts:
            _check_parts(parts, refuse)
    except (zipfile.BadZipFile, EOFError, RuntimeError):  # the last: a way of packing not known
        raise refuse("is no spreadsheet (.xlsx); save it as one, or as CSV") from None
    return raw


def _check_parts(parts: zipfile.ZipFile, refuse: object) -> None:
    assert callable(refuse)  # noqa: S101
    infos = parts.infolist()
    if len(infos) > MOST_PARTS or sum(info.file_size for info in infos) > LARGEST_UNPACKED:
        limit = f"{LARGEST_UNPACKED / 1e6:.0f} MB"
        raise refuse(f"unpacks to more than {limit} or {MOST_PARTS} parts; a form does not")
    left = LARGEST_UNPACKED
    for info in infos:
        if info.filename.lower().endswith("vbaproject.bin"):
            raise refuse("holds macros; save it without (.xlsx)")
        with parts.open(info) as part:
            # what a header says of a part's size may be a lie
            text = part.read(left + 1)
        left -= len(text)
        if left < 0:
            raise refuse(f"unpacks to more than {LARGEST_UNPACKED / 1e6:.0f} MB; a form does not")
        if _DOCTYPE in text[:2000].lower():
            raise refuse("declares a document type of its own; a form does not")
