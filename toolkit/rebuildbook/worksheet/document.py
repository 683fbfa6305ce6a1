"""Sections as plain documents: what a notebook's output carries, and the results file.

The page, the paper and the results file are all made from these, so nothing can differ between
them.
"""

from __future__ import annotations

import hashlib
import json
import re
from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from rebuildbook.sheets import Case
from rebuildbook.units import DIMENSIONS, to_unit
from rebuildbook.worksheet.formula import set_formula
from rebuildbook.worksheet.model import (
    Block,
    Caution,
    Finding,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Series,
    Table,
    Value,
)

SECTION_MIME = "application/vnd.rebuildbook.section+json"
SCHEMA_VERSION = 1
Document = dict[str, Any]
_ANSI = re.compile(r"\x1b\[[0-9;]*[A-Za-z]")


def value_document(value: Value) -> Document:
    """A value with its number in the shop's unit, in SI, and as it is shown."""
    return {
        "value": _clean(to_unit(value.si, value.unit)),
        "unit": value.unit,
        "si": _clean(value.si),
        "si_unit": DIMENSIONS[value.dimension].si,
        "dimension": value.dimension,
        "shown": value.shown,
        "brief": value.brief,
        "other": value.other,
    }


def _clean(number: float) -> float:
    """Fifteen figures: what two processors may disagree about in the last bit is not kept."""
    return float(f"{number:.15g}")


def line_document(line: Line) -> Document:
    """A line with its formula, inputs and sources."""
    made: Document = {
        "id": line.id,
        "name": line.name,
        "symbol": line.symbol,
        "formula": line.formula,
        "inputs": {symbol: value_document(value) for symbol, value in line.inputs.items()},
        "method": line.method,
        "data": line.data,
    }
    if isinstance(line.value, Value):
        made["value"] = value_document(line.value)
    else:
        made["text"] = line.value
    return made


def finding_document(finding: Finding) -> Document:
    """A finding, field by field."""
    return {name: getattr(finding, name) for name in Finding.__dataclass_fields__}


def block_document(block: Block) -> Document:
    """One block, tagged with what it is."""
    match block:
        case Caution(text) | Note(text):
            return {"block": type(block).__name__.lower(), "text": text}
        case Lines(title, lines):
            return {"block": "lines", "title": title, "lines": [line_document(x) for x in lines]}
        case Series(rows):
            return _series_document(rows)
        case Table():
            return {
                "block": "table",
                "title": block.title,
                "header": list(block.header),
                "rows": [list(row) for row in block.rows],
                "note": block.note,
                **({"pen": True} if block.pen else {}),
            }
        case Finding():
            return {"block": "finding", **finding_document(block)}
        case Picture():
            return {
                "block": "picture",
                "id": block.id,
                "caption": block.caption,
                "alt": block.alt,
                "svg": block.draw(),
            }


def _series_document(rows: tuple[tuple[str, Line], ...]) -> Document:
    """A series: what its lines share stands once, ``data`` too where it is the same for all."""
    first = rows[0][1]
    shared = {line.data for _, line in rows}
    return {
        "block": "series",
        "name": first.name,
        "symbol": first.symbol,
        "formula": first.formula,
        "method": first.method,
        "data": first.data if len(shared) == 1 else "",
        "rows": [{"of": of, "line": line_document(line)} for of, line in rows],
    }


def section_document(section: Section, head: Mapping[str, str]) -> Document:
    """A section with the head of its worksheet."""
    return {
        "id": section.id,
        "title": section.title,
        "head": dict(head),
        "blocks": [block_document(block) for block in section.blocks],
        **({"new_page": True} if section.new_page else {}),
    }


class Shown:
    """A section on its way into a notebook's output."""

    def __init__(self, document: Document) -> None:
        self.document = document

    def _repr_mimebundle_(self, **_: object) -> dict[str, Any]:
        from rebuildbook.worksheet.html import section_html  # noqa: PLC0415  (html reads documents)

        return {
            SECTION_MIME: self.document,
            "text/html": section_html(self.document, "latex"),
            "text/plain": plain_text(self.document),
        }


def show_section(section: Section, head: Mapping[str, str]) -> Shown:
    """Make a section ready for display in a notebook."""
    return Shown(section_document(section, head))


class Sheet(ABC):
    """Sections in their order, shown one by one under a common ``head``, that of page and paper."""

    sections: dict[str, Section]

    @property
    @abstractmethod
    def head(self) -> dict[str, str]:
        """What the page's head and foot carry."""

    def show(self, section: str) -> Shown:
        """Give one section for display in a notebook; raises LookupError naming those there are."""
        if section not in self.sections:
            raise LookupError(f"no section {section!r}; there are {', '.join(self.sections)}")
        return show_section(self.sections[section], self.head)


class JobSheet(Sheet):
    """A sheet of one job: ``case`` is what it stands on, ``paper`` what it is set for."""

    case: Case
    paper: str

    @property
    def head(self) -> dict[str, str]:
        """What the page's head and foot carry."""
        job, model = self.case.job, self.case.model
        return {
            "job": job.job,
            "serial": job.serial,
            "model": model.title,
            "shop": self.case.shop.title,
            "date": (job.work_date or job.opened).isoformat(),
            "inputs": "-".join(digest[:6] for _, digest in self.case.files.values()),
            "paper": self.paper,
        }


def plain_text(document: Document) -> str:
    """A section as readable text, for consoles."""
    rows = [document["title"].upper()]
    for block in document["blocks"]:
        match block["block"]:
            case "finding":
                rows.append(f"[{block['level'].upper()}] {block['title']}: {block['compared']}")
            case "lines":
                rows.append(block["title"])
                rows += [f"  {line['name']}: {_result(line)}" for line in block["lines"]]
            case "series":
                rows.append(block["name"])
                rows += [f"  {row['of']}: {_result(row['line'])}" for row in block["rows"]]
            case "caution" | "note":
                rows.append(block["text"])
            case "table":
                rows.append(block["title"])
                rows += ["  " + " | ".join(row) for row in block["rows"]]
    return "\n".join(rows)


def _result(line: Document) -> str:
    return str(line["text"] if "text" in line else line["value"]["shown"])


def briefs(line: Document) -> dict[str, str]:
    """The numbers of a line's formula, by symbol, as they are put into it."""
    return {symbol: value["brief"] for symbol, value in line["inputs"].items()}


def flat_numbers(line: Document) -> str:
    """A line's formula with its numbers, on one line of plain text."""
    return "= " + set_formula(line["formula"], "plain", briefs(line))


def printable(text: str) -> str:
    """Text without terminal colours and control characters."""
    return "".join(c for c in _ANSI.sub("", text) if c >= " " or c in "\n\t")


def sections_of(notebook: Any) -> Iterator[Document]:
    """Every section that an executed notebook shows, in order."""
    for cell in notebook.cells:
        for output in cell.get("outputs", []):
            found = output.get("data", {}).get(SECTION_MIME)
            if found is not None:
                yield found


def results_of(notebook: Any) -> Document:
    """The results document of an executed notebook: every line and finding, no figures.

    Findings are given in the section that makes them; the summary's copies are left out.
    """
    sections = list(sections_of(notebook))
    head = dict(sections[0]["head"]) if sections else {}
    made = [_results_section(section) for section in sections if section["id"] != "findings"]
    return {
        "schema": SCHEMA_VERSION,
        **{key: head.get(key, "") for key in ("job", "serial", "model", "shop", "date", "inputs")},
        "made": notebook.metadata.get("rebuildbook", {}).get("made", ""),
        "version": notebook.metadata.get("rebuildbook", {}).get("version", ""),
        "digest": _digest(made),
        "sections": made,
    }


def digest_of(sections: Iterable[Section]) -> str:
    """The hash that the results document of these sections carries; no figure is drawn for it."""
    return _digest(
        {
            "id": section.id,
            "title": section.title,
            "lines": [line_document(line) for line in section.lines()],
            "findings": [finding_document(finding) for finding in section.findings()],
        }
        for section in sections
    )


def _digest(made: Iterable[Document]) -> str:
    """Hash over lines and findings; those of the release stand on the hash and are not in it."""
    counted = [section for section in made if section["id"] != "release"]
    return hashlib.sha256(json.dumps(counted, sort_keys=True).encode()).hexdigest()


def _lines_of(block: Document) -> list[Document]:
    if block["block"] == "series":
        return [row["line"] for row in block["rows"]]
    return list(block["lines"]) if block["block"] == "lines" else []


def _results_section(section: Document) -> Document:
    lines = [line for block in section["blocks"] for line in _lines_of(block)]
    findings = [
        {key: value for key, value in block.items() if key != "block"}
        for block in section["blocks"]
        if block["block"] == "finding"
    ]
    return {
        "id": section["id"], "title": section["title"], "lines": lines, "findings": findings
    }  # fmt: skip
