"""What the pages show of the demo: its sheets as plain data, and its worksheets."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

from rebuildbook.worksheet.as_built import open_as_built
from rebuildbook.worksheet.build import open_worksheet
from rebuildbook.worksheet.document import JobSheet, finding_document, line_document
from rebuildbook.worksheet.traveller import open_traveller


def sheets_of(kind: str, parameters: Path) -> list[Any]:
    """Give the demo's sheets of one kind as plain data, then the examples made for the pages."""
    own = resources.files("rebuildbook.site") / "examples"
    reader = YAML(typ="safe")
    found = list(_demo(parameters))
    if (own / f"{kind}.yaml").is_file():
        found.append(reader.load((own / f"{kind}.yaml").read_text(encoding="utf-8")))
    more = reader.load((own / "more.yaml").read_text(encoding="utf-8"))
    return [*(one for one in found if one.get("kind") == kind), *more.get(kind, [])]


@functools.cache
def _demo(parameters: Path) -> tuple[Any, ...]:
    return tuple(YAML(typ="safe").load(path) for path in sorted(parameters.rglob("*.yaml")))


def worksheets(parameters: Path) -> Iterator[JobSheet]:
    """Every sheet that can be made of the demo's cards; the worksheets come first."""
    cards = sorted((parameters / "jobs").glob("*.yaml"))
    of_model = {}
    for card in cards:
        made = open_worksheet(card)
        of_model[made.case.model.name] = card
        yield made
    for card in of_model.values():  # one card of each model has all that these add
        yield open_traveller(card)
        yield open_as_built(card)


def results_of_sheet(sheet: JobSheet) -> dict[str, Any]:
    """What ``results.json`` has of a sheet, without drawing its figures."""
    return {
        "schema": 1,
        **{name: sheet.head[name] for name in ("job", "serial", "model", "shop", "date", "inputs")},
        "sections": [
            {
                "id": section.id,
                "title": section.title,
                "lines": [line_document(line) for line in section.lines()],
                "findings": [finding_document(finding) for finding in section.findings()],
            }
            for section in sheet.sections.values()
        ],
    }
