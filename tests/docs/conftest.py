"""The site, built once by the real command without a network, and the code blocks of all texts."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
TEXTS = [
    ROOT / "README.md",
    ROOT / "DEVELOPERS.md",
    *sorted((ROOT / "toolkit/rebuildbook/site/text").glob("*.md")),
]
WITHOUT_NETWORK = """
import socket, sys

def refuse(*arguments, **named):
    print("NETWORK", arguments, file=sys.stderr)
    raise OSError("no network in this process")

socket.socket.connect = socket.socket.connect_ex = socket.getaddrinfo = refuse
socket.create_connection = refuse
from rebuildbook.cli import main

sys.argv = ["rebuildbook", "docs", "--out", sys.argv[1]]
main()
"""


@dataclass(frozen=True)
class Block:
    """A fenced block of a text: where it is, its language, its text, the mark and words above."""

    page: str
    language: str
    text: str
    mark: str
    above: str

    @property
    def name(self) -> str:
        return f"{self.page}: {self.text.splitlines()[0]}"


def blocks_of(path: Path) -> Iterator[Block]:
    text = path.read_text(encoding="utf-8")
    fence = re.compile(r"(?:<!-- (\w+) -->\n)?^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
    for found in fence.finditer(text):
        above = text[: found.start()].rstrip().rsplit("\n\n", 1)[-1]
        yield Block(path.name, found[2], found[3], found[1] or "", above)


@pytest.fixture(scope="session")
def blocks() -> list[Block]:
    return [block for path in TEXTS for block in blocks_of(path)]


@dataclass(frozen=True)
class Tag:
    name: str
    attributes: dict[str, str]


class Page(HTMLParser):
    """A built page, read: its tags, and the text of its code blocks by language."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text
        self.tags: list[Tag] = []
        self.code: list[tuple[str, str]] = []
        self._pre = self._code = False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append(Tag(tag, {name: value or "" for name, value in attrs}))
        if tag == "pre":
            self._pre = True
        elif tag == "code" and self._pre:
            self._code = True
            self.code.append((dict(attrs).get("class") or "", ""))

    def handle_endtag(self, tag):
        if tag == "pre":
            self._pre = False
        elif tag == "code":
            self._code = False

    def handle_data(self, data):
        if self._code:
            language, text = self.code[-1]
            self.code[-1] = language, text + data

    @property
    def anchors(self) -> set[str]:
        return {tag.attributes["id"] for tag in self.tags if "id" in tag.attributes}


@dataclass(frozen=True)
class Site:
    """What the command left: the folder, how it ended, every page read."""

    folder: Path
    ended: subprocess.CompletedProcess[str]
    pages: dict[str, Page]


@pytest.fixture(scope="module")
def site(tmp_path_factory) -> Site:
    folder = tmp_path_factory.mktemp("docs") / "site"
    ended = subprocess.run(
        [sys.executable, "-c", WITHOUT_NETWORK, folder],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        timeout=300,
        check=False,
    )
    assert ended.returncode == 0, ended.stdout + ended.stderr
    pages = {path.name: Page(path.read_text("utf-8")) for path in folder.glob("*.html")}
    return Site(folder, ended, pages)
