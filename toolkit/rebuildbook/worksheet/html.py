"""The worksheet as one page that opens offline: no script, no request, maths as MathML."""

from __future__ import annotations

import base64
import functools
import re
from collections.abc import Iterator
from html import escape
from importlib import resources
from typing import Any, Literal

import jinja2
import mistune
from markupsafe import Markup

from rebuildbook.worksheet.document import (
    SECTION_MIME,
    Document,
    briefs,
    flat_numbers,
    printable,
    sections_of,
)
from rebuildbook.worksheet.formula import set_formula, set_symbol

Maths = Literal["latex", "mathml"]
_HEAD = ("job", "serial", "model", "shop", "date", "inputs", "title")
# what would run, or ask for something outside the page, if another cell's HTML were let in
_ACTIVE = re.compile(
    r"<\s*/?\s*(script|iframe|object|embed|link|base|meta|form|frame|svg|math|style)\b"
    r"|\bon\w+\s*=|javascript:|(src|href|action|srcset|poster|background)\s*=|url\s*\(",
    re.IGNORECASE,
)
_STYLE = re.compile(r"<style[^>]*>.*?</style>", re.DOTALL | re.IGNORECASE)
SIGNS = {"hold": "■", "query": "◇", "clear": "✓"}


@functools.cache
def _templates() -> jinja2.Environment:
    made = jinja2.Environment(
        loader=jinja2.PackageLoader("rebuildbook.worksheet"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=jinja2.StrictUndefined,
    )
    made.filters["soft"] = _soft
    return made


def _soft(words: str) -> Markup:
    """Let long unbroken words break, without changing the text that is read or copied."""
    return Markup(" ").join(
        Markup("<wbr>").join(_pieces(word)) if len(word) > 20 else word for word in words.split(" ")
    )


def _pieces(word: str) -> Iterator[str]:
    """A long word in pieces: after signs that join words, else every eight letters."""
    for part in re.findall(r"[^._/:,;=-]*[._/:,;=-]+|[^._/:,;=-]+", word):
        size = 8 if len(part) > 20 else len(part)
        yield from (part[i : i + size] for i in range(0, len(part), size))


@functools.cache
def _style(name: str) -> Markup:
    folder = resources.files("rebuildbook.worksheet") / "templates"
    return Markup((folder / name).read_text(encoding="utf-8"))  # noqa: S704  (our own file)


def section_html(section: Document, maths: Maths) -> str:
    """One section as HTML, its maths as LaTeX (for a notebook) or MathML (for a page)."""

    def wrap(inside: str) -> Markup:
        if maths == "latex":
            shell = '<span class="eq tex2jax_process mathjax_process">$\\displaystyle {}$</span>'
        else:
            shell = "<math>{}</math>"
        # the setters escape every text they are given
        return Markup(shell.format(inside))  # noqa: S704

    equals = "=" if maths == "latex" else "<mo>=</mo>"

    def equation(line: Document) -> Markup:
        symbol = set_symbol(line["symbol"], maths) if line["symbol"] else ""
        return wrap(symbol + equals + set_formula(line["formula"], maths))

    def numbers(line: Document) -> Markup:
        return wrap(equals + set_formula(line["formula"], maths, briefs(line)))

    template = _templates().get_template("section.html.j2")
    return template.render(
        section=section,
        style=_style("section.css") if maths == "latex" and section["id"] == "findings" else "",
        signs=SIGNS,
        symbol=lambda name: wrap(set_symbol(name, maths)),
        equation=equation,
        numbers=numbers,
        flat=flat_numbers,
        svg=Markup,  # drawn by our own figures
    )


def page_html(notebook: Any) -> str:
    """The whole page of an executed notebook."""
    head: Document = next((section["head"] for section in sections_of(notebook)), {})
    stamp = notebook.metadata.get("rebuildbook", {})
    template = _templates().get_template("page.html.j2")
    return template.render(
        head=dict.fromkeys(_HEAD, "") | {"paper": "a4"} | head,
        css=_style("section.css") + _style("page.css"),
        parts=list(_parts(notebook)),
        version=stamp.get("version", ""),
        made=stamp.get("made", ""),
    )


def _parts(notebook: Any) -> Iterator[Markup]:
    """What each cell shows; the page's own head stands for the title of the notebook."""
    for index, cell in enumerate(notebook.cells):
        if cell.cell_type == "markdown" and index > 0:
            yield Markup('<section class="rb">{}</section>').format(
                Markup(_markdown()(cell.source))  # noqa: S704  (mistune escapes)
            )
        for output in cell.get("outputs", []):
            yield _output(output)


@functools.cache
def _markdown() -> Any:
    return mistune.create_markdown(renderer=_Offline(escape=True), plugins=["table"])


class _Offline(mistune.HTMLRenderer):
    """Markdown without links that leave the page: their address is written out instead."""

    def link(self, text: str, url: str, title: str | None = None) -> str:
        """A link as its words and its address."""
        return text if url in text else f"{text} ({escape(url)})"

    def image(self, text: str, url: str, title: str | None = None) -> str:
        """A picture as the words that stand for it."""
        return f"[{text}]"


def _output(output: Any) -> Markup:
    kind = output["output_type"]
    if kind == "stream":
        return _plain(output["text"])
    if kind == "error":
        return _plain(f"{output['ename']}: {output['evalue']}")
    data = output["data"]
    if SECTION_MIME in data:
        return Markup(section_html(data[SECTION_MIME], "mathml"))  # noqa: S704
    for mime in ("image/svg+xml", "image/png", "image/jpeg"):
        if mime in data:
            return _image(mime, data[mime])
    if "text/html" in data:
        shown = _STYLE.sub("", data["text/html"])
        if not _ACTIVE.search(shown):
            return Markup(shown)  # noqa: S704  (a table, or what else its author displays)
    return _plain(data.get("text/plain", ""))


def _plain(text: str) -> Markup:
    return Markup("<pre>{}</pre>").format(printable(text))


def _image(mime: str, data: str) -> Markup:
    if mime == "image/svg+xml":
        data = base64.b64encode(data.encode()).decode()
    source = f"data:{mime};base64,{escape(data.strip())}"
    return Markup('<img alt="figure" src="{}">').format(source)
