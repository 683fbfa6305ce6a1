"""The worksheet on paper: a PDF set by Typst from the same documents as the page.

Text travels as JSON data and is never read as markup; only our own formulas are.
"""

from __future__ import annotations

import base64
import itertools
import json
import re
import tempfile
from collections.abc import Iterable, Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import matplotlib as mpl
import mistune
import typst

from rebuildbook.worksheet.document import (
    SECTION_MIME,
    Document,
    briefs,
    flat_numbers,
    printable,
    sections_of,
)
from rebuildbook.worksheet.formula import set_formula, set_symbol

_PAGE = 182.0  # mm, between the margins
_NARROW = 95.0  # mm, the widest figure that is set beside something
_BESIDE = 52.0  # mm, the width a figure is given beside a table
_WIDE = 72.0  # mm, the same beside findings
_LETTER = 1.82  # mm, a letter of the body on average
_INSET = 1.9  # letters, the space inside a cell at both sides
_SHORT = 15  # letters, up to which a cell is kept on one line
_LONG = 26  # letters, beyond which a word may break
_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "px": 25.4 / 96, "": 25.4 / 96}


def page_pdf(notebook: Any) -> bytes:
    """Set an executed notebook as a PDF; the same notebook gives the same bytes."""
    head: Document = next((section["head"] for section in sections_of(notebook)), {})
    keys = ("job", "serial", "model", "shop", "date", "inputs", "paper", "title")
    stamp = notebook.metadata.get("rebuildbook", {})
    with tempfile.TemporaryDirectory(prefix="rebuildbook-") as folder:
        place = Path(folder)
        sheet = {
            "head": {key: head.get(key, "") for key in keys},
            "stamp": f"rebuildbook {stamp.get('version', '')} · {stamp.get('made', '')}",
            "parts": list(_parts(notebook, place)),
        }
        (place / "sheet.json").write_text(json.dumps(sheet, ensure_ascii=False), encoding="utf-8")
        template = resources.files("rebuildbook.worksheet") / "templates" / "worksheet.typ"
        (place / "sheet.typ").write_text(template.read_text(encoding="utf-8"), encoding="utf-8")
        fonts = Path(mpl.get_data_path()) / "fonts" / "ttf"
        made: bytes = typst.compile(
            str(place / "sheet.typ"),
            root=str(place),
            font_paths=[str(fonts)],
            ignore_system_fonts=True,
            timestamp=0,
            pdf_tags=False,  # they are over half of the file; the page is what screen readers read
        )
        return made


def _parts(notebook: Any, place: Path) -> Iterator[Document]:
    images = _Images(place)
    for index, cell in enumerate(notebook.cells):
        if cell.cell_type == "markdown" and index > 0:
            yield {"title": "", "blocks": list(_markdown(cell.source))}
        for output in cell.get("outputs", []):
            yield _output(output, images)


class _Images:
    """Writes images beside the template and hands out their names."""

    def __init__(self, place: Path) -> None:
        self.place = place
        self.count = 0

    def add(self, data: bytes, ending: str) -> str:
        self.count += 1
        name = f"figure-{self.count}.{ending}"
        (self.place / name).write_bytes(data)
        return name


def _output(output: Any, images: _Images) -> Document:
    kind = output["output_type"]
    if kind == "stream":
        return _plain(output["text"])
    if kind == "error":
        return _plain(f"{output['ename']}: {output['evalue']}")
    data = output["data"]
    if SECTION_MIME in data:
        section = data[SECTION_MIME]
        blocks = [_block(block, images) for block in section["blocks"]]
        return {
            "title": section["title"],
            "blocks": list(_kept(list(_beside(_gathered(blocks))))),
            "new_page": section.get("new_page", False),
        }
    for mime, ending in (("image/svg+xml", "svg"), ("image/png", "png"), ("image/jpeg", "jpg")):
        if mime in data:
            raw = data[mime].encode() if ending == "svg" else base64.b64decode(data[mime])
            name = images.add(raw, ending)
            image = {"block": "image", "file": name, "width": 0, "caption": ""}
            return {"title": "", "blocks": [image]}
    return _plain(data.get("text/plain", ""))


def _plain(text: str) -> Document:
    return {"title": "", "blocks": [{"block": "pre", "text": printable(text)}]}


def _gathered(blocks: list[Document]) -> Iterator[Document]:
    """Put clear findings that follow one another, and cautions likewise, into one list each."""

    def kind_of(block: Document) -> str:
        if block["block"] == "caution":
            return "cautions"
        return "clears" if block.get("level") == "clear" else ""

    for kind, run in itertools.groupby(blocks, kind_of):
        if kind:
            yield {"block": kind, "items": list(run)}
        else:
            yield from run


def _beside(blocks: Iterable[Document]) -> Iterator[Document]:
    """Set a narrow figure beside the table before it, or beside the clear findings after it."""
    made: list[Document] = []
    for block in blocks:
        last: Document = made[-1] if made else {"block": ""}
        if block["block"] == "image" and last["block"] == "table" and block["width"] <= _NARROW:
            widths = _widths(last, _PAGE - min(block["width"], _BESIDE) - 5)
            made[-1] = {"block": "beside", "left": {**last, "widths": widths}, "right": block}
            made[-1]["room"] = _BESIDE
        elif block["block"] == "clears" and last["block"] == "image" and last["width"] <= _NARROW:
            made[-1] = {"block": "beside", "left": block, "right": last, "room": _WIDE}
        else:
            made.append(block)
    yield from made


def _kept(blocks: list[Document]) -> Iterator[Document]:
    """Keep a short table for the pen, as a line to sign, on the page of the table before it."""
    for block, after in zip(blocks, [*blocks[1:], {"block": ""}], strict=True):
        short = after["block"] == "table" and after.get("pen") and len(after["rows"]) <= 2
        yield {**block, "sticky": True} if short else block


def _block(block: Document, images: _Images) -> Document:
    match block["block"]:
        case "lines":
            return {**block, "lines": [_line(line) for line in block["lines"]]}
        case "series":
            return _series(block)
        case "table":
            return {**block, "widths": _widths(block, _PAGE)}
        case "picture":
            name = images.add(block["svg"].encode(), "svg")
            return {
                "block": "image",
                "file": name,
                "width": _width(block["svg"]),
                "caption": block["caption"],
            }
    return block


def _line(line: Document) -> Document:
    formula = line["formula"]
    return {
        **_said(line),
        **_result(line),
        "numbers": set_formula(formula, "typst", briefs(line)) if formula else "",
    }


def _said(line: Document) -> Document:
    """Name, formula and source: of a line, or once for a whole series."""
    formula = line["formula"]
    return {
        "name": line["name"],
        "symbol": set_symbol(line["symbol"], "typst") if line["symbol"] else "",
        "formula": set_formula(formula, "typst") if formula else "",
        "source": " · ".join(filter(None, (line["method"], line["data"]))),
    }


def _result(line: Document) -> Document:
    value = line.get("value")
    return {
        "told": value is None,
        "result": value["shown"] if value else line["text"],
        "other": value["other"] if value else "",
    }


def _series(block: Document) -> Document:
    return {
        "block": "series",
        **_said(block),
        "rows": [
            {
                **_result(row["line"]),
                "of": row["of"],
                "numbers": flat_numbers(row["line"]) if block["formula"] else "",
                "source": "" if block["data"] else row["line"]["data"],
            }
            for row in block["rows"]
        ],
    }


def _widths(table: Document, room: float) -> list[float]:
    """Shares of the width: columns of words give way first, so that no number has to break."""
    wanted, least = [], []
    for head, *cells in zip(table["header"], *table["rows"], strict=True):
        longest = max((_length(cell) for cell in cells), default=0.0)
        word = max((_length(word) for cell in [head, *cells] for word in cell.split()), default=0.0)
        blank = 0 if all(cells) else 9 if table.get("pen") else 5
        wanted.append(max(longest, _length(head), blank) + _INSET)
        least.append(max(min(word, _LONG), longest if longest <= _SHORT else 0, blank) + _INSET)
    over, give = sum(wanted) - room / _LETTER, sum(wanted) - sum(least)
    if over <= 0 or give <= 0:
        return wanted
    part = min(1.0, over / give)
    return [want - (want - low) * part for want, low in zip(wanted, least, strict=True)]


def _length(text: str) -> float:
    """About how many letters wide a text is set: stops are narrow, figures wide."""
    return sum(0.57 if c in " .,·-()il" else 1.1 if c.isdigit() else 1.0 for c in text)


def _width(svg: str) -> float:
    """The drawn width of an SVG in millimetres; 0 where it does not say."""
    found = re.search(r'<svg[^>]*\bwidth="([\d.]+)(mm|cm|in|pt|px)?"', svg)
    return float(found[1]) * _MM[found[2] or ""] if found else 0.0


def _markdown(source: str) -> Iterator[Document]:
    """Headings and paragraphs of a markdown cell, as plain text."""
    for token in mistune.create_markdown(renderer=None)(source):
        if not isinstance(token, dict):
            continue
        words = _words(token)
        if token["type"] == "heading":
            yield {"block": "heading", "level": min(token["attrs"]["level"], 2), "text": words}
        elif token["type"] == "block_code":
            yield {"block": "pre", "text": token["raw"]}
        elif token["type"] == "list":
            for item in token["children"]:
                yield {"block": "note", "text": f"– {_words(item)}"}
        elif words:
            yield {"block": "note", "text": words}


def _words(token: Document) -> str:
    if "raw" in token:
        return str(token["raw"])
    if token["type"] in ("softbreak", "linebreak"):
        return " "
    words = "".join(_words(child) for child in token.get("children", []))
    if token["type"] == "link" and token["attrs"]["url"] not in words:
        return f"{words} ({token['attrs']['url']})"
    return words
