"""Find sheets in a folder, and tell of which kind one is without checking it."""

from __future__ import annotations

import contextlib
import re
from pathlib import Path

from rebuildbook.sheets.source import SheetError, read_source

_KIND = re.compile(r"kind:\s*([\w-]+)\s*(#.*)?$", re.MULTILINE)


def sheets_in(folder: Path) -> list[Path]:
    """Give the YAML files below ``folder``, in the order of their names."""
    return sorted(
        path
        for ending in ("*.yaml", "*.yml")
        for path in folder.rglob(ending)
        if not any(part.startswith(".") for part in path.relative_to(folder).parts)
    )


def kind_of(path: Path) -> str:
    """What kind of sheet a file is; "job" where it cannot be read: loading it says why."""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        # where it says so plainly, thousands of cards need not be parsed to learn it
        if (told := _KIND.match(_body(path.read_text(encoding="utf-8")))) is not None:
            return told[1]
    try:
        return str(read_source(path).data.get("kind"))
    except SheetError:
        return "job"


def _body(text: str) -> str:
    """A sheet from its first line on that is no comment."""
    lines = text.splitlines()
    first = next((n for n, line in enumerate(lines) if line.strip() and line[0] != "#"), 0)
    return "\n".join(lines[first:])
