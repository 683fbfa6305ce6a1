"""The page shows every text as itself, asks for nothing, and runs nothing."""

import importlib.util
import re
from html.parser import HTMLParser
from pathlib import Path

import nbformat
import pytest

from rebuildbook.worksheet.document import section_document
from rebuildbook.worksheet.html import page_html, section_html

_SPEC = importlib.util.spec_from_file_location("hostile", Path(__file__).parent / "hostile.py")
hostile = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(hostile)


class Page(HTMLParser):
    """The elements, attributes and text of a page; text inside maths spans kept apart."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements, self.attributes, self.texts, self.comments = [], [], [], []
        self.maths, self._in_maths, self._in_style = [], False, False
        self.feed(page)
        self.close()
        self.text = squeezed("".join(self.texts))

    def handle_starttag(self, tag, attrs):
        self.elements.append(tag)
        self.attributes += [(tag, *attr) for attr in attrs]
        self._in_style = tag == "style"
        if "mathjax_process" in (dict(attrs).get("class") or "").split():
            self._in_maths = True

    def handle_endtag(self, tag):
        self._in_style = False
        if tag == "span":
            self._in_maths = False

    def handle_data(self, data):
        if self._in_maths:
            self.maths.append(data)
        elif not self._in_style:
            self.texts.append(data)

    def handle_comment(self, data):
        self.comments.append(data)


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


@pytest.fixture(scope="module")
def page():
    return Page(page_html(hostile.notebook()))


# title, caution ×2, note, lines title, 3 line names and their results and sources, findings, table
FIELDS = 30


@pytest.mark.parametrize("text", hostile.TEXTS)
def test_every_text_stands_on_the_page_as_itself(text, page):
    alone = Page(page_html(hostile.notebook([text])))
    assert alone.text.count(squeezed(text)) >= FIELDS
    assert squeezed(text) in page.text
    assert {value for tag, name, value in alone.attributes if name == "aria-label"} >= {text}
    plain = Page(page_html(hostile.notebook(["plain"])))
    assert alone.elements.count("b") == plain.elements.count("b")
    assert set(alone.elements) - {"wbr"} == set(plain.elements)
    assert alone.comments == []


@pytest.mark.parametrize("text", hostile.TEXTS)
def test_a_notebook_never_takes_a_text_for_maths(text):
    made = section_html(section_document(hostile.section(text), {}), "latex")
    seen = Page(made)
    assert seen.text.count(squeezed(text)) >= FIELDS
    plain = Page(section_html(section_document(hostile.section("plain"), {}), "latex"))
    assert seen.maths == plain.maths
    assert made.lstrip().startswith('<section class="rb tex2jax_ignore mathjax_ignore"')


def offline(page: str) -> None:
    seen = Page(page)
    assert not {"script", "link", "iframe", "object", "embed", "base"} & set(seen.elements)
    for _, name, value in seen.attributes:
        assert not name.startswith("on")
        if name in ("src", "href", "xlink:href", "srcset", "action"):
            assert value.startswith(("data:image/", "#")), (name, value)
    assert not re.search(r"url\(\s*['\"]?(?!#)", page)
    policy = [value for _, name, value in seen.attributes if value and "default-src" in value]
    assert policy == ["default-src 'none'; style-src 'unsafe-inline'; img-src data:"]


def test_a_demo_page_is_small_and_asks_for_nothing(demo):
    made = page_html(demo)
    offline(made)
    assert len(made.encode()) < 300_000
    assert made == page_html(demo)
    assert "built-in method" not in made


def output(kind, **fields):
    return nbformat.v4.new_output(kind, **fields)


def test_other_outputs_are_shown_without_running_anything():
    active = '<table onclick="x()"><script src="https://example.org/a.js"></script></table>'
    made = page_html(
        hostile.notebook(
            ["plain"],
            outputs=[
                output("stream", name="stdout", text="\x1b[31mred <b>\x1b[0m\n"),
                output("error", ename="ValueError", evalue="<i>", traceback=[]),
                output("display_data", data={"image/png": hostile.png()}),
                output("display_data", data={"image/svg+xml": hostile._SVG}),
                output("display_data", data={"text/html": active, "text/plain": "in words"}),
                output("display_data", data={"text/html": "<table><tr><td>7</td></tr></table>"}),
                output("execute_result", data={"text/plain": "<object at 1>"}),
            ],
        )
    )
    offline(made)
    text = Page(made).text
    for words in ("red<b>", "ValueError:<i>", "inwords", "<objectat1>"):
        assert words in text
    assert "<td>7</td>" in made
    assert "example.org" not in made
    assert "\x1b" not in made
    assert made.count('src="data:image/png;base64,') == 1
    assert made.count('src="data:image/svg+xml;base64,') == 1


def test_a_markdown_cell_is_set_and_its_links_are_written_out():
    book = hostile.notebook(["plain"])
    source = (
        "## Notes\n\nSee [the list](https://example.org/l) and ![drawing](http://example.org/d.png)."
        "\n\n<script>alert(2)</script>\n\n- one\n- two\n\n| a | b |\n|---|---|\n| 1 | 2 |\n"
    )
    book.cells.append(nbformat.v4.new_markdown_cell(source))
    made = page_html(book)
    offline(made)
    text = Page(made).text
    assert "thelist(https://example.org/l)and[drawing]." in text
    assert "<script>alert(2)</script>" in text
    assert "<h2>Notes</h2>" in made
    assert "<li>one</li>" in made


def test_a_notebook_that_shows_nothing_still_makes_a_page():
    offline(page_html(nbformat.v4.new_notebook()))
