"""A notebook with every kind of block, its texts all such as could be taken for markup."""

import base64
import io

import nbformat

from rebuildbook.worksheet.document import SECTION_MIME, section_document
from rebuildbook.worksheet.html import section_html
from rebuildbook.worksheet.model import (
    Caution,
    Finding,
    Line,
    Lines,
    Note,
    Picture,
    Section,
    Table,
    Value,
)

TEXTS = (
    "<script>alert(1)</script>",
    '**bold** $x^2$ \\input{a} #eval("1") @ref <b>',
    "{{7*7}} {% raw %}",
    "$E=mc^2$",
    "\"quotes\" & 'apostrophes' \\ `",
    "unbroken" * 25,
    "Ωμέγα Кириллица àéîõü ß ł",
    "end ]]> of",
    "end --> of <!-- a",
    "&lt;b&gt; &amp;",
    "= heading - list /* not a comment */ // nor this",
)
HEAD_KEYS = ("job", "serial", "model", "shop", "date", "inputs")


def png() -> str:
    from PIL import Image

    made = io.BytesIO()
    Image.new("RGB", (8, 8), "black").save(made, "png")
    return base64.b64encode(made.getvalue()).decode()


def section(text: str, name: str = "findings") -> Section:
    """Every block with ``text`` in each field that people fill in."""
    force, side = Value(1000.0, "force", "N"), Value(0.5, "length", "mm", given=text)
    finding = {"compared": text, "margin": text, "action": text, "source": text}
    lines = (
        Line(f"{name}.a", text, Value(2000.0, "pressure", "Pa"), "p_w", "F/(A_f*0.5)",
             {"F": force, "A_f": Value(1.0, "area", "m^2")}, text, text),
        Line(f"{name}.b", text, side, "L", data=text),
        Line(f"{name}.c", text, text, method=text),
    )  # fmt: skip
    return Section(
        name,
        text,
        (
            Caution(text),
            Caution(text),
            Note(text),
            Lines(text, lines),
            Finding("x.hold", "hold", text, **finding),
            Finding("x.query", "query", text, **finding),
            Finding("x.clear", "clear", text, **finding),
            Finding("x.bare", "clear", text, text),
            Table(text, (text, "", "Done"), ((text, "", ""), ("", "1", text)), text),
            Picture("x", text, text, lambda: _SVG),
            Table(text, ("", ""), (("", ""),)),
        ),
    )


_SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="200pt" height="90pt" viewBox="0 0 200 90">'
    '<rect width="50" height="20"/></svg>'
)


def notebook(texts=TEXTS, paper="a4", outputs=()):
    """A notebook as an executed one stands, with one section for each text."""
    made = nbformat.v4.new_notebook()
    made.metadata["rebuildbook"] = {"made": "2026-09-08T06:00:00+00:00", "version": "0.1.0"}
    made.cells.append(nbformat.v4.new_markdown_cell("# Rebuild worksheet"))
    for number, text in enumerate(texts):
        head = dict.fromkeys(HEAD_KEYS, text) | {"paper": paper}
        name = "findings" if number == 0 else f"part-{number}"
        document = section_document(section(text, name), head)
        data = {SECTION_MIME: document, "text/html": section_html(document, "latex")}
        cell = nbformat.v4.new_code_cell("show()")
        cell.outputs.append(nbformat.v4.new_output("display_data", data))
        made.cells.append(cell)
    if outputs:
        made.cells.append(nbformat.v4.new_code_cell("more()", outputs=list(outputs)))
    return made
