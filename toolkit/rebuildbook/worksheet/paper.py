"""The worksheet on paper: a PDF set by Typst from the same documents as the page.

Text travels as JSON data and is never read as markup; only our own formulas are.
"""

from __future__ import annotations

import base64
import json
import re
import tempfile
from collections.abc import Iterator
from importlib import resources
from pathlib import Path
from typing import Any

import matplotlib as mpl
import mistune
import typst

from rebuildbook.worksheet.document import SECTION_MIME, Document, sections_of
from rebuildbook.worksheet.formula import set_formula, set_symbol

_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "px": 25.4 / 96, "": 25.4 / 96}


def page_pdf(notebook: Any) -> bytes:
    """Set an executed notebook as a PDF; the same notebook gives the same bytes."""
    head: Document = next((section["head"] for section in sections_of(notebook)), {})
    keys = ("job", "serial", "model", "shop", "date", "inputs", "paper")
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
        return {"title": "", "blocks": [{"block": "pre", "text": output["text"]}]}
    if kind == "error":
        words = f"{output['ename']}: {output['evalue']}"
        return {"title": "", "blocks": [{"block": "pre", "text": words}]}
    data = output["data"]
    if SECTION_MIME in data:
        section = data[SECTION_MIME]
        blocks = [_block(block, images) for block in section["blocks"]]
        return {"title": section["title"], "blocks": blocks}
    for mime, ending in (("image/svg+xml", "svg"), ("image/png", "png"), ("image/jpeg", "jpg")):
        if mime in data:
            raw = data[mime].encode() if ending == "svg" else base64.b64decode(data[mime])
            name = images.add(raw, ending)
            image = {"block": "image", "file": name, "width": 0, "caption": ""}
            return {"title": "", "blocks": [image]}
    return {"title": "", "blocks": [{"block": "pre", "text": data.get("text/plain", "")}]}


def _block(block: Document, images: _Images) -> Document:
    match block["block"]:
        case "lines":
            return {**block, "lines": [_line(line) for line in block["lines"]]}
        case "table":
            return {**block, "widths": _widths(block)}
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
    numbers = {symbol: value["brief"] for symbol, value in line["inputs"].items()}
    formula = line["formula"]
    value = line.get("value")
    return {
        "name": line["name"],
        "symbol": set_symbol(line["symbol"], "typst") if line["symbol"] else "",
        "formula": set_formula(formula, "typst") if formula else "",
        "numbers": set_formula(formula, "typst", numbers) if formula else "",
        "source": " · ".join(filter(None, (line["method"], line["data"]))),
        "told": value is None,
        "result": value["shown"] if value else line["text"],
        "other": value["other"] if value else "",
    }


def _widths(table: Document) -> list[float]:
    """Shares of the width: by the longest cell, within bounds, so that no column starves."""
    columns = zip(*([table["header"]] + table["rows"]), strict=True)
    widths = []
    for cells in columns:
        longest = max(len(cell) for cell in cells)
        empty = all(cell == "" for cell in cells[1:])
        word = max((len(word) for cell in cells for word in cell.split()), default=0)
        widths.append(float(min(max(longest, word + 1, 9 if empty else 3, 4), 38)))
    return widths


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
        elif words:
            yield {"block": "note", "text": words}


def _words(token: Document) -> str:
    if "raw" in token:
        return str(token["raw"])
    return "".join(_words(child) for child in token.get("children", []))
