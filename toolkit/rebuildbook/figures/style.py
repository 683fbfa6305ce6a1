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
from typing import Any, cast

import matplotlib
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from rebuildbook.figures.axes import BareAxes, PlotAxes, Sheet

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
    "svg.fonttype": "none",  # words stay words; the paper sets them in matplotlib's own font
    "svg.hashsalt": "rebuildbook",
    "text.color": INK,
    "text.parse_math": False,  # a name may hold a dollar sign
    "xtick.color": SOFT,
    "xtick.labelsize": SMALL,
    "ytick.color": SOFT,
    "ytick.labelsize": SMALL,
}

# what the root says once: the corners of lines, and fonts as wide as the one words are measured in
_ROOT = '<svg font-family="DejaVu Sans,Verdana,sans-serif" stroke-linejoin="round"'
_SHORTER = [  # what a tag says without need
    (re.compile(pattern), short)
    for pattern, short in (
        (r"^<svg", _ROOT),
        (r' version="1.1"| xmlns:xlink="[^"]*"| transform="rotate\(-?0 [^"]*"', ""),
        (r"xlink:href", "href"),
        (r' font-family: [^;"]*;?| stroke-dashoffset: 0;| text-anchor: start;', ""),
        (r"(?<=[:;,]) +", ""),
        (r"(?<=:)#(.)\1(.)\2(.)\3\b", r"#\1\2\3"),
        (r"\s*\b([MLQCz])\s+", r"\1"),
        (r"\s+(?=\")", ""),
    )
]
_FEWER = [  # groups that say nothing; lines in a row that look the same
    (re.compile(pattern), short)
    for pattern, short in (
        (r"<g>((?:(?!</?g\b).)*)</g>", r"\1"),
        (r'<path d="([^"]*)"([^>]*fill:none[^>]*)/><path d="([^"]*)"\2/>', r'<path d="\1\3"\2/>'),
    )
]
_CUT = "\0"  # between tags that are worked on as one text; XML has no such sign
_BETWEEN = re.compile(r">\s+<")
_FINE = re.compile(r"-?\d+\.\d{3,}")
_REFERS = re.compile(r'(href="|url\()#([^")]+)')
_OWN = re.compile(r' id="([^"]+)"')
_SPACES = re.compile("^ +|  +")  # a browser would close them up


@contextmanager
def styled() -> Iterator[None]:
    """Apply the common look to figures built inside; also usable as a decorator."""
    with matplotlib.rc_context(_SETTINGS):
        yield


def new_figure(width_mm: float, height_mm: float) -> Figure:
    """Open an empty figure of the given size in millimetres."""
    if not (width_mm > 0.0 and height_mm > 0.0):
        raise ValueError(f"a figure of {width_mm} by {height_mm} mm has no room")
    return Sheet(figsize=(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH))


def page_axes(figure: Figure) -> Axes:
    """Cover ``figure`` with bare axes measured in millimetres from its lower left corner."""
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), axes_class=BareAxes)
    width, height = figure.get_size_inches() * MM_PER_INCH
    axes.set_xlim(0.0, width)
    axes.set_ylim(0.0, height)
    return axes


def svg(figure: Figure, title: str = "") -> str:
    """Write ``figure`` as one ``<svg>`` element, the same bytes each time.

    ``title`` is what a screen reader says. Words stay text, a tenth of the weight of drawn letters:
    the paper sets them in the font they were measured in, a browser in that or one as wide. Names
    inside carry a mark of the figure's content, so that several figures can stand in one page.
    """
    for words in _words(figure):
        words.set_parse_math(False)  # also where a figure was begun in another look
    out = io.StringIO()
    with styled():
        figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    text = out.getvalue()
    text = re.sub(r"<metadata>.*?</metadata>|<defs>\s*<style.*?</defs>", "", text, flags=re.DOTALL)
    text = text[text.index("<svg") :]
    mark = hashlib.sha256(text.encode()).hexdigest()[:5]
    # every other piece is a tag; words between tags are escaped already
    pieces = re.split(r"(<[^>]+>)", _BETWEEN.sub("><", text))
    pieces[::2] = [_SPACES.sub(lambda found: "\u00a0" * len(found[0]), x) for x in pieces[::2]]
    pieces[1::2] = _tight(_own_names(_CUT.join(pieces[1::2]), mark)).split(_CUT)
    if title:
        pieces[1] = f'{pieces[1][:-1]} role="img"><title>{html.escape(title)}</title>'
    text = "".join(pieces)
    for pattern, short in _FEWER:
        while (fewer := pattern.sub(short, text)) != text:
            text = fewer
    return text.strip() + "\n"


def _words(figure: Figure) -> Iterator[Text]:
    """All words of a figure; `PlotAxes` make those of their ticks as they are drawn."""
    for axes in figure.axes:
        if isinstance(axes, PlotAxes):
            yield from axes.words()
        else:
            yield from cast("list[Text]", axes.findobj(Text))
    yield from figure.texts
    for legend in figure.legends:
        yield from legend.get_texts()


def _own_names(tags: str, mark: str) -> str:
    """Drop the names nothing refers to; number the others under a mark of the figure's content."""
    used = dict.fromkeys(found[2] for found in _REFERS.finditer(tags))
    short = {name: f"f{mark}-{place}" for place, name in enumerate(used)}
    tags = _OWN.sub(lambda f: f' id="{short[f[1]]}"' if f[1] in short else "", tags)
    return _REFERS.sub(lambda f: f"{f[1]}#{short[f[2]]}", tags)


def _tight(tags: str) -> str:
    """Round places to a hundredth of a point, and leave out of tags what says nothing."""
    tags = _FINE.sub(lambda found: f"{round(float(found[0]), 2):g}", tags)
    for pattern, short in _SHORTER:
        tags = pattern.sub(short, tags)
    return tags
