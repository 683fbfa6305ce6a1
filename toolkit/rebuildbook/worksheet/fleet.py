"""The fleet sheet: many jobs side by side, how they stand, what is due, what comes back."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from rebuildbook.record.whole_file import write_whole
from rebuildbook.worksheet.document import Sheet
from rebuildbook.worksheet.fleet_book import fleet_book
from rebuildbook.worksheet.fleet_due import due
from rebuildbook.worksheet.fleet_known import KnownSheets, read_known
from rebuildbook.worksheet.fleet_margins import worst_margins
from rebuildbook.worksheet.fleet_read import FleetData, read_fleet
from rebuildbook.worksheet.fleet_repeats import repeated
from rebuildbook.worksheet.fleet_state import standing
from rebuildbook.worksheet.fleet_stores import stores
from rebuildbook.worksheet.fleet_table import FleetTable, counted, few
from rebuildbook.worksheet.fleet_tools import tools
from rebuildbook.worksheet.fleet_torque import torques
from rebuildbook.worksheet.model import LEVELS, Block, Note, Section

TITLE = "Fleet sheet"


class Fleet(Sheet):
    """All sections over many jobs, computed once and shown one by one, and their tables."""

    def __init__(
        self, data: FleetData, paper: str = "", known: Mapping[str, Any] | None = None
    ) -> None:
        self.data = data
        self.known = known or {}  # sheets as they were read, for the next time
        self.paper = paper or (data.jobs[-1].case.shop.paper if data.jobs else "a4")
        sections: list[Section] = []
        self.tables: list[FleetTable] = []
        for build in (standing, due, repeated, tools, stores, torques, worst_margins):
            section, *tables = build(data)
            sections.append(section)
            self.tables += tables
        first = _findings_first(sections)
        self.sections = {section.id: section for section in (first, *sections)}

    @property
    def head(self) -> dict[str, str]:
        """What the page's head and foot carry."""
        jobs = self.data.jobs
        marks = sorted({digest for job in jobs for _, digest in job.case.files.values()})
        shops = dict.fromkeys(job.case.shop.title for job in jobs)
        models = dict.fromkeys(job.case.model.title for job in jobs)
        return {
            "title": TITLE,
            "job": counted(len(jobs), "job"),
            "serial": f"all of {counted(len(self.data.last), 'unit')}",
            "model": few(list(models), 3) if len(models) <= 3 else counted(len(models), "model"),
            "shop": few(list(shops), 3),
            "date": self.data.on.isoformat(),
            "inputs": hashlib.sha256("".join(marks).encode()).hexdigest()[:12],
            "paper": self.paper,
        }

    def save(self, stem: str) -> None:
        """Write the tables as ``<stem>.xlsx`` and ``<stem>.json``, each whole or not at all.

        Also ``<stem>.cards.json``, the cards as they were read, for the next time.
        """
        write_whole(Path(f"{stem}.xlsx"), fleet_book(self.tables), over=True)
        text = json.dumps([_plain(table) for table in self.tables], ensure_ascii=False)
        write_whole(Path(f"{stem}.json"), text.encode(), over=True)
        known = json.dumps(self.known, ensure_ascii=False, separators=(",", ":"))
        write_whole(Path(f"{stem}.cards.json"), known.encode(), over=True)


def open_fleet(
    cards: Iterable[str | Path],
    outputs: str | Path,
    ledger: str = "",
    on: str = "",
    paper: str = "",
    known: str = "",
) -> Fleet:
    """Read cards, outputs and ledger and make the fleet sheet, as of the day ``on`` (ISO).

    ``ledger`` is empty for the one of each card's parameters folder, ``on`` for today. ``known``
    is the file of cards that the last sheet left: those that did not change need not be parsed
    again. Cards that cannot be read are left out and told. Raises LedgerError, and ValueError for
    what is no day.
    """
    day = date.fromisoformat(on) if on else None
    store = KnownSheets(read_known(Path(known)) if known else None)
    return Fleet(read_fleet(cards, Path(outputs), ledger, day, store), paper, store.values)


def _findings_first(sections: Iterable[Section]) -> Section:
    found = [finding for section in sections for finding in section.findings()]
    grave = [one for level in LEVELS[:2] for one in found if one.level == level]
    holds = sum(one.level == "hold" for one in grave)
    words = (
        f"{counted(holds, 'hold')}, {counted(len(grave) - holds, 'query', 'queries')}, "
        f"{len(found) - len(grave)} clear, over the whole fleet."
    )
    blocks: list[Block] = [Note(words), *grave]
    return Section("findings", "Findings", tuple(blocks))


def _plain(table: FleetTable) -> dict[str, Any]:
    """A table as other programs read it: dates in ISO form, units beside the headings."""
    return {
        "name": table.name,
        "title": table.title,
        "columns": [{"title": one.title, "unit": one.unit} for one in table.columns],
        "rows": [
            [cell.isoformat() if isinstance(cell, date) else cell for cell in row]
            for row in table.rows
        ],
    }
