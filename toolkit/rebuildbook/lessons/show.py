"""What a lesson shows in the notebook: plain text, and the same as HTML that stays readable grey.

All text is escaped; a state is told by a sign and a word, never by colour alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from matplotlib.figure import Figure

from rebuildbook.figures.style import svg
from rebuildbook.worksheet.document import printable

_BOX = (
    "border:1px solid #777;border-left:{edge}px solid {ink};padding:.5em .9em;margin:.4em 0;"
    "max-width:46em;line-height:1.45"
)
_CELL = "text-align:left;vertical-align:top;padding:.15em 1.2em .15em 0"


@dataclass(frozen=True, slots=True)
class Shown:
    """A box in the notebook: heading, paragraphs, list, table; ``strong`` has a black edge."""

    heading: str = ""
    paragraphs: Sequence[str] = ()
    items: Sequence[tuple[str, str]] = ()
    rows: Sequence[Sequence[str]] = ()
    strong: bool = False

    def __repr__(self) -> str:
        lines = [self.heading, *self.paragraphs]
        lines += [f"  {label}  {text}" for label, text in self.items]
        lines += ["  ".join(row) for row in self.rows]
        return printable("\n".join(line for line in lines if line))

    def _repr_html_(self) -> str:
        ink, edge = ("#000", 6) if self.strong else ("#777", 4)
        style = _BOX.format(ink=ink, edge=edge)
        parts = (
            [f"<p style='margin:.2em 0'><b>{_safe(self.heading)}</b></p>"] if self.heading else []
        )
        parts += [f"<p style='margin:.35em 0'>{_safe(text)}</p>" for text in self.paragraphs]
        if self.items:
            parts.append(_table(self.items, head=False))
        if self.rows:
            parts.append(_table(self.rows, head=True))
        return f"<div style='{style}'>{''.join(parts)}</div>"


def _table(rows: Sequence[Sequence[str]], *, head: bool) -> str:
    made = []
    for place, row in enumerate(rows):
        tag = "th" if head and place == 0 else "td"
        cells = "".join(f"<{tag} style='{_CELL}'>{_safe(cell)}</{tag}>" for cell in row)
        made.append(f"<tr style='background:none'>{cells}</tr>")
    return f"<table style='margin:.35em 0;border-collapse:collapse'>{''.join(made)}</table>"


def _safe(text: str) -> str:
    return escape(printable(text)).replace("\n", "<br>")


@dataclass(frozen=True, slots=True)
class Drawn:
    """A figure in the notebook, with what it shows in words below it."""

    picture: str
    words: str

    def __repr__(self) -> str:
        return printable(self.words)

    def _repr_html_(self) -> str:
        return (
            f"<div style='background:#fff;max-width:46em'>{self.picture}</div>"
            f"<p style='max-width:46em'>{_safe(self.words)}</p>"
        )


def drawn(figure: Figure, words: str) -> Drawn:
    """Show a figure of ours; ``words`` say the same for who cannot see it."""
    return Drawn(svg(figure, words), words)
