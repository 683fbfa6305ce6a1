"""One look for all figures: legible greasy, in grey, at the width of a column.

Figures are built on matplotlib's objects, never on its global state, inside `styled`; they
leave as SVG through `svg`, which gives the same bytes for the same figure.
"""

from __future__ import annotations

import hashlib
import html
import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure

COLUMN_MM = 80.0
PAGE_MM = 170.0
MM_PER_INCH = 25.4

INK = "#1a1a1a"
SOFT = "#555555"
RULE = "#9a9a9a"
FAINT = "#c8c8c8"
FILL = "#ececec"
PAPER = "#ffffff"

# Okabe and Ito's colour-blind-safe set, the three that also differ in lightness
ACCENT = "#0072b2"
WARM = "#d55e00"
LIGHT = "#e69f00"
SERIES = (INK, ACCENT, WARM, LIGHT, SOFT)
DASHES = ("-", "--", "-.", ":", (0, (6, 1.5, 1, 1.5, 1, 1.5)))
HATCHES = ("", "////", "....", "xxxx", "----")

HAIR = 0.4
THIN = 0.7
LINE = 1.2
HEAVY = 2.0

TINY = 5.0
SMALL = 6.5
TEXT = 7.5

_SETTINGS: Any = {  # matplotlib's types would have every key spelled out
    "axes.edgecolor": SOFT,
    "axes.grid": True,
    "axes.labelcolor": INK,
    "axes.labelsize": TEXT,
    "axes.linewidth": THIN,
    "axes.spines.right": False,
    "axes.spines.top": False,
    "axes.titlesize": TEXT,
    "axes.titleweight": "bold",
    "axes.unicode_minus": True,
    "figure.dpi": 150.0,
    "figure.facecolor": PAPER,
    "font.family": ["DejaVu Sans"],
    "font.size": TEXT,
    "grid.color": FAINT,
    "grid.linewidth": HAIR,
    "hatch.color": SOFT,
    "hatch.linewidth": HAIR,
    "legend.fontsize": SMALL,
    "legend.frameon": False,
    "lines.linewidth": LINE,
    "svg.fonttype": "path",  # drawn letters: neither browser nor typesetter need own the font
    "svg.hashsalt": "rebuildbook",
    "text.color": INK,
    "xtick.color": SOFT,
    "xtick.labelsize": SMALL,
    "ytick.color": SOFT,
    "ytick.labelsize": SMALL,
}


@contextmanager
def styled() -> Iterator[None]:
    """Apply the common look to figures built inside; also usable as a decorator."""
    with matplotlib.rc_context(_SETTINGS):
        yield


def new_figure(width_mm: float, height_mm: float) -> Figure:
    """Open an empty figure of the given size in millimetres."""
    if not (width_mm > 0.0 and height_mm > 0.0):
        raise ValueError(f"a figure of {width_mm} by {height_mm} mm has no room")
    return Figure(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH))


def page_axes(figure: Figure) -> Axes:
    """Cover ``figure`` with bare axes measured in millimetres from its lower left corner."""
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    width, height = figure.get_size_inches() * MM_PER_INCH
    axes.set_xlim(0.0, width)
    axes.set_ylim(0.0, height)
    axes.set_axis_off()
    return axes


def svg(figure: Figure, title: str = "") -> str:
    """Write ``figure`` as one ``<svg>`` element, the same bytes each time.

    ``title`` is what a screen reader says. Letters are drawn as outlines, so the element looks
    the same in a browser, opened offline, and set in a PDF. Names inside carry a mark of the
    figure's content, so that several figures can stand in one page.
    """
    out = io.StringIO()
    with styled():
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    text = re.sub(r"<!--.*?-->\s*", "", text, flags=re.DOTALL)
    text = _compact(_own_names(text))
    if title:
        opening, rest = text.split(">", 1)
        text = f'{opening} role="img"><title>{html.escape(title)}</title>{rest}'
    return text.strip() + "\n"


def _own_names(text: str) -> str:
    """Drop the names nothing refers to; number the others under a mark of the figure's content."""
    mark = hashlib.sha256(text.encode()).hexdigest()[:5]
    used = dict.fromkeys(re.findall(r'(?:href="|url\()#([^")]+)', text))
    short = {name: f"f{mark}-{place}" for place, name in enumerate(used)}
    text = re.sub(
        r' id="([^"]+)"',
        lambda found: f' id="{short[found[1]]}"' if found[1] in short else "",
        text,
    )
    return re.sub(r'(href="|url\()#([^")]+)', lambda found: f"{found[1]}#{short[found[2]]}", text)


def _compact(text: str) -> str:
    """Round outlines to about a hundredth of a point; leave out groups and spaces without use."""
    text = re.sub(
        r' d="([^"]+)" transform="scale\(0\.015625\)"',  # a letter, 6400 units to its size
        lambda found: f' d="{_outline(found[1], 0.125, 0)}" transform="scale(0.125)"',
        text,
    )
    text = re.sub(r' d="([^"]+)"', lambda found: f' d="{_outline(found[1], 1.0, 2)}"', text)
    text = text.replace(' xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    text = text.replace("xlink:href=", "href=")
    text = re.sub(
        r'(<use href="[^"]+") transform="translate\(([-.\d]+)(?: 0)?\)"/>',  # a letter in a word
        lambda found: f'{found[1]} x="{round(float(found[2]))}"/>',
        text,
    )
    text = re.sub(r' transform="([^"]+)"', lambda found: f' transform="{_short(found[1])}"', text)
    text = re.sub(
        r'(?<=<use )(href="[^"]+")((?: [xy]="[-.\d]+")+)',
        lambda found: found[1] + re.sub(r"-?\d+\.\d+", _two_digits, found[2]),
        text,
    )
    text = re.sub(r' style="([^"]+)"', lambda found: f' style="{_tight(found[1])}"', text)
    text = re.sub(r">\s+<", "><", text)
    while True:
        shorter = re.sub(r"<g>((?:<(?:path|use)[^>]*/>)*)</g>", r"\1", text)
        if shorter == text:
            return text
        text = shorter


def _short(transform: str) -> str:
    """Round the places of a transformation, but not its scale."""
    return re.sub(
        r"translate\(([^)]+)\)",
        lambda found: "translate(" + re.sub(r"-?\d+\.\d+", _two_digits, found[1]) + ")",
        transform,
    )


def _two_digits(found: re.Match[str]) -> str:
    return f"{round(float(found[0]), 2):g}"


def _tight(style: str) -> str:
    return re.sub(r"([:;,]) +", r"\1", style)


def _outline(path: str, scale: float, digits: int) -> str:
    def written(found: re.Match[str]) -> str:
        return f"{round(float(found[0]) * scale, digits):g}"

    return re.sub(r"\s*([A-Za-z])\s*", r"\1", re.sub(r"-?\d+(?:\.\d+)?", written, path)).strip()
