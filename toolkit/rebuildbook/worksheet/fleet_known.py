"""Sheets that were read for the last fleet sheet: a thousand cards need not be parsed again.

The plain values of a sheet are known by the hash of its file, and are checked again like those of
any other; reading the YAML is what takes the time.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rebuildbook.sheets import Case, SheetError, load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.sheets.source import LARGEST_FILE, Source


class KnownSheets(SheetStore):
    """A store of sheets that begins with the values of the last time, by the hash of the file."""

    def __init__(self, known: Mapping[str, Any] | None = None) -> None:
        super().__init__()
        self._known = known or {}

    def source(self, path: Path) -> Source:
        """Give the plain values of a sheet, as a copy that settings may change."""
        if path not in self._sources and self._known:
            digest = _digest(path)
            data = self._known.get(digest)
            if isinstance(data, dict):
                self._sources[path] = Source(str(path), digest, data)
        return super().source(path)

    @property
    def values(self) -> dict[str, Any]:
        """The plain values of every sheet that was read, by the hash of its file."""
        return {source.digest: source.data for source in self._sources.values()}

    def case(self, card: Path) -> Case:
        """Load a job card; what is wrong with one is told from its file, with its lines."""
        try:
            return load_case(card, (), self)
        except SheetError:
            return load_case(card)


def read_known(path: Path) -> dict[str, Any]:
    """Read what was known the last time; nothing where it cannot be used."""
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def _digest(path: Path) -> str:
    try:
        with path.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError:
        return ""
    return hashlib.sha256(raw).hexdigest()
