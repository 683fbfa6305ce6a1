"""The search index: a script beside the pages, as a page opened from a folder may fetch nothing."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

_HEADINGS = {"h1", "h2", "h3"}
_LEFT_OUT = {"math", "script", "style", "nav"}


@dataclass(slots=True)
class Piece:
    """What stands under one heading, or beside one name of a list."""

    anchor: str
    title: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)


class _Reader(HTMLParser):
    """Reads the pieces of a page's main part."""

    def __init__(self) -> None:
        super().__init__()
        self.pieces: list[Piece] = []
        self._main = False
        self._heading = False
        self._out = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "main":
            self._main = True
        elif tag in _LEFT_OUT:
            self._out += 1
        elif self._main and (tag in _HEADINGS or (tag == "dt" and dict(attrs).get("id"))):
            self.pieces.append(Piece(dict(attrs).get("id") or ""))
            self._heading = True

    def handle_endtag(self, tag: str) -> None:
        if tag == "main":
            self._main = False
        elif tag in _LEFT_OUT:
            self._out -= 1
        elif tag in _HEADINGS or tag == "dt":
            self._heading = False

    def handle_data(self, data: str) -> None:
        if self._main and not self._out and self.pieces:
            piece = self.pieces[-1]
            (piece.title if self._heading else piece.words).append(data)


def pieces_of(page: str) -> list[Piece]:
    """Give the pieces of a page, heading by heading."""
    reader = _Reader()
    reader.feed(page)
    return reader.pieces


def write_index(site: Path, files: Iterable[str]) -> None:
    """Write ``search-index.js`` for the pages of a site."""
    rows = [row for file in files for row in _rows(site / file)]
    text = json.dumps(rows, ensure_ascii=False, separators=(",", ":"))
    (site / "search-index.js").write_text(f"window.searchIndex={text};\n", encoding="utf-8")


def _rows(path: Path) -> Iterator[tuple[str, str, str, str]]:
    """Address, page, heading and words of each piece."""
    pieces = pieces_of(path.read_text(encoding="utf-8"))
    page = _plain(pieces[0].title) if pieces else path.stem
    for place, piece in enumerate(pieces):
        address = f"{path.name}#{piece.anchor}" if place and piece.anchor else path.name
        yield address, page, _plain(piece.title), _plain(piece.words)


def _plain(words: Iterable[str]) -> str:
    return " ".join("".join(words).split())
