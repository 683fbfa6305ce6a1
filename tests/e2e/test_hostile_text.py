"""Text of a card that looks like markup or code stands in every output as itself, and only so."""

import html.parser
import json
import re
import unicodedata

import pypdf
import pytest

SECTION = "application/vnd.rebuildbook.section+json"
VOID = {"br", "hr", "img", "input", "link", "meta", "wbr", "col"}


class Page(html.parser.HTMLParser):
    """Collects text content and everything that could act."""

    def __init__(self) -> None:
        super().__init__()
        self.text: list[str] = []
        self.acting: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag, attrs):
        if tag not in VOID:
            self.open.append(tag)
        if tag in {"script", "iframe", "object", "embed", "form", "base"}:
            self.acting.append(tag)
        for name, value in attrs:
            if name.startswith("on") or "javascript:" in (value or "").lower():
                self.acting.append(f"{tag} {name}={value}")

    def handle_startendtag(self, tag, attrs):
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        if tag in self.open:
            while self.open.pop() != tag:
                pass

    def handle_data(self, data):
        if "style" not in self.open:
            self.text.append(data)


def squeezed(text: str) -> str:
    """Without what setting a text in a narrow column changes: spaces, breaks, ligatures."""
    return re.sub(r"[\s\u00ad\u200b\u2010-]+", "", unicodedata.normalize("NFKC", text))


def leaves(value):
    if isinstance(value, dict):
        for child in value.values():
            yield from leaves(child)
    elif isinstance(value, list):
        for child in value:
            yield from leaves(child)
    elif isinstance(value, str):
        yield value


@pytest.fixture(scope="module")
def folder(fleet):
    return fleet.bench.out / "HX-1"


@pytest.fixture(scope="module")
def page(folder) -> Page:
    page = Page()
    page.feed((folder / "worksheet.html").read_text(encoding="utf-8"))
    return page


@pytest.fixture(scope="module")
def outputs(folder) -> list[dict]:
    notebook = json.loads((folder / "worksheet.ipynb").read_text(encoding="utf-8"))
    return [output["data"] for cell in notebook["cells"] for output in cell.get("outputs", [])]


def test_the_page_shows_every_text_as_itself(page, hostile):
    text = squeezed("".join(page.text))
    assert [field for field, words in hostile.items() if squeezed(words) not in text] == []


def test_the_paper_shows_every_text_as_itself(folder, hostile):
    pages = pypdf.PdfReader(folder / "worksheet.pdf").pages
    text = squeezed("".join(page.extract_text() for page in pages))
    assert [field for field, words in hostile.items() if squeezed(words) not in text] == []


def test_the_notebook_carries_every_text_as_itself(outputs, hostile):
    words = [text for data in outputs for text in leaves(data.get(SECTION, {}))]
    assert [
        field for field, given in hostile.items() if not any(given in text for text in words)
    ] == []


def test_the_results_carry_the_serial_as_itself(folder, hostile):
    results = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    assert results["serial"] == hostile["serial"]


def test_nothing_of_it_acts_in_the_page(page):
    assert page.acting == []


def test_nothing_of_it_acts_in_the_notebook(outputs):
    for data in outputs:
        part = Page()
        part.feed("".join(data.get("text/html", "")))
        assert part.acting == []


def test_nothing_of_it_ran(fleet):
    assert not list(fleet.bench.root.rglob("pwned"))


@pytest.fixture(scope="module")
def hostile(fleet) -> dict[str, str]:
    """The texts, read back from the card by a YAML reader that is not the toolkit's."""
    from ruamel.yaml import YAML

    card = YAML(typ="safe").load((fleet.bench.cards / "hostile.yaml").read_text(encoding="utf-8"))
    return {
        "serial": card["serial"],
        "line": card["line"],
        "why": card["why"],
        "remarks": card["remarks"],
        "fluid": card["fluid"]["name"],
        "hazard": card["fluid"]["hazards"][0],
        "what": card["deviations"][0]["what"],
        "accepted_by": card["deviations"][0]["accepted_by"],
        "role": card["sign_off"][0]["role"],
        "name": card["sign_off"][0]["name"],
    }
