"""A sweep on paper: lines of the worksheet over one changed value, and where findings stand.

Hold, query and clear are told by hatch and by word; nothing hangs on colour.
"""

from __future__ import annotations

import itertools
import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator
from numpy.typing import NDArray

from rebuildbook.figures.style import (
    FAINT,
    FILL,
    INK,
    MM_PER_INCH,
    PAGE_MM,
    PAPER,
    RULE,
    SMALL,
    SOFT,
    TEXT,
    THIN,
    TINY,
    new_figure,
    styled,
)
from rebuildbook.units import shown_unit
from rebuildbook.units.show import grouped

MOST_CURVES = 6
MOST_STRIPS = 8
MOST_BOUNDS = 12  # changes of level that are ruled through the panels
MOST_TICKS = 12  # names along an axis of words

LEFT, RIGHT = 17.0, 4.0  # mm, beside the panels
HEAD = 10.0  # mm above the first panel, for title and note
NAME = 5.5  # mm over a panel for its name
ROW = 5.0  # mm, height of one strip
STRIP_NAME = 4.2  # mm over each strip for its name
FOOT = 11.0  # mm under the last strip for the axis
LABEL = 95  # letters of a label of the axis on one line
GAP = 3.0  # mm between panels and strips

# face and hatch
LOOKS: dict[str, tuple[str, str]] = {
    "hold": (FAINT, "xxxx"),
    "query": (FILL, "////"),
    "clear": (PAPER, ""),
    "": (PAPER, "...."),
    "error": (PAPER, "||||"),
}
WORDS = {"": "not raised", "error": "not worked out"}


@dataclass(frozen=True, slots=True)
class Scale:
    """What is swept: its name, its unit and its values, numbers or words."""

    name: str
    unit: str
    values: tuple[float, ...] | tuple[str, ...]

    @property
    def words(self) -> bool:
        """Whether the values are words, set side by side in the order given."""
        return isinstance(self.values[0], str)

    @property
    def label(self) -> str:
        """Name and unit."""
        return named(self.name, self.unit)

    @property
    def places(self) -> NDArray[np.float64]:
        """Where the values stand along the axis."""
        values = range(len(self.values)) if self.words else self.values
        return np.array(values, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Curve:
    """One line of the worksheet over the points; NaN where a point does not have it."""

    id: str
    name: str
    unit: str
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """One finding over the points: hold, query, clear, "" where not raised, or error."""

    name: str
    levels: tuple[str, ...]


def named(name: str, unit: str) -> str:
    """A name with its unit behind it.

    >>> named("torque", "N*m"), named("ratio", "")
    ('torque, N·m', 'ratio')
    """
    return f"{name}, {shown_unit(unit)}" if unit else name


@styled()
def sweep_curves(
    scale: Scale,
    curves: Sequence[Curve],
    strips: Sequence[Strip],
    *,
    title: str = "",
    note: str = "",
) -> Figure:
    """Draw up to six lines over the swept value, one above the other, and the findings below.

    ``note`` says what else was changed. Raises ValueError for nothing to draw, or for more than
    fits.
    """
    if not curves and not strips:
        raise ValueError("no lines and no findings are given; there is nothing to draw")
    if len(curves) > MOST_CURVES or len(strips) > MOST_STRIPS:
        most = f"{MOST_CURVES} lines and {MOST_STRIPS} findings"
        raise ValueError(f"{len(curves)} lines and {len(strips)} findings given; at most {most}")
    panel = {1: 60.0, 2: 44.0, 3: 34.0}.get(len(curves), 26.0)
    below = _foot(scale) + len(strips) * (ROW + STRIP_NAME) + (GAP if strips else 0.0)
    height = HEAD + len(curves) * (panel + NAME) + below
    figure = new_figure(PAGE_MM, height)
    write_title(figure, title, note, LEFT)
    top = height - HEAD
    axes: list[Axes] = []
    for curve in curves:
        top -= NAME + panel
        axes.append(_axes(figure, top, panel, height))
        _draw_curve(axes[-1], scale, curve)
    top -= GAP if strips and curves else 0.0
    for strip in strips:
        top -= STRIP_NAME + ROW
        axes.append(_axes(figure, top, ROW, height))
        _draw_strip(axes[-1], scale, strip)
    _draw_bounds(axes[: len(curves)], scale, strips)
    for each in axes:
        each.set_xlim(*limits(scale))
        last = each is axes[-1]
        each.tick_params(axis="x", labelbottom=last, length=2 if last else 0)
    _name_ticks(axes[-1], scale)
    axes[-1].set_xlabel(folded(scale.label, LABEL), labelpad=2)
    return figure


def write_title(figure: Figure, title: str, note: str, left: float) -> None:
    """Set title and note over a figure, from ``left`` mm; a long note is cut."""
    width, height = figure.get_size_inches() * MM_PER_INCH
    figure.text(left / width, 1 - 1.6 / height, title, size=9, weight="bold", va="top")
    letters = math.floor((width - left - RIGHT) / (0.62 * SMALL / 72 * MM_PER_INCH))
    note = note if len(note) <= letters else note[: letters - 1] + "…"
    figure.text(left / width, 1 - 6.2 / height, note, size=SMALL, va="top", color=SOFT)


def _draw_bounds(panels: Sequence[Axes], scale: Scale, strips: Sequence[Strip]) -> None:
    """Where findings change their level, through every panel; left out where there are many."""
    bounds = {bound for strip in strips for bound in _bounds(scale, strip)}
    for axes in panels if len(bounds) <= MOST_BOUNDS else ():
        for bound in sorted(bounds):
            axes.axvline(bound, color=RULE, linewidth=THIN, linestyle=(0, (4, 2)), zorder=1)


def folded(label: str, letters: int) -> str:
    """Break a long label of an axis."""
    return "\n".join(textwrap.wrap(label, letters))


def _foot(scale: Scale) -> float:
    foot = FOOT + 3.2 * folded(scale.label, LABEL).count("\n")
    if not scale.words:
        return foot
    lines = [_folded(str(value), len(scale.values)).count("\n") for value in scale.values]
    return foot + 3.0 * max(lines)


def _axes(figure: Figure, low: float, high: float, height: float) -> Axes:
    wide = PAGE_MM - LEFT - RIGHT
    axes = figure.add_axes((LEFT / PAGE_MM, low / height, wide / PAGE_MM, high / height))
    axes.tick_params(length=2, width=0.6, labelcolor=INK, pad=2)
    return axes


def limits(scale: Scale) -> tuple[float, float]:
    """Where the axis begins and ends: at the swept ends, or half a step beside words."""
    places = scale.places
    if scale.words:
        return -0.5, len(places) - 0.5
    return float(places.min()), float(places.max())


def _draw_curve(axes: Axes, scale: Scale, curve: Curve) -> None:
    values = np.array(curve.values, dtype=float)
    few = len(values) <= 25
    look = "" if scale.words else "-"
    axes.plot(
        scale.places, values, linestyle=look or "none", marker="o" if few else "", color=INK,
        markersize=4.5 if scale.words else 3.2, markerfacecolor=PAPER, markeredgewidth=THIN,
        gid=curve.id, clip_on=False, zorder=3,
    )  # fmt: skip
    axes.yaxis.set_major_locator(MaxNLocator(4))
    axes.yaxis.set_major_formatter(FuncFormatter(figures))
    axes.set_ylabel(shown_unit(curve.unit) if curve.unit else "", labelpad=3)
    there = values[np.isfinite(values)]
    if there.size and np.ptp(there) <= 1e-9 * max(abs(there.max()), 1e-300):
        middle = float(there[0])
        axes.set_ylim(middle - 0.1 * abs(middle) - 1e-12, middle + 0.1 * abs(middle) + 1e-12)
    else:
        axes.margins(y=0.08)
    _head(axes, curve.name, curve.id)


def figures(value: float, _place: int = 0) -> str:
    """A tick as the worksheets write numbers: thousands apart, a true minus."""
    text = f"{abs(value):.6g}"
    sign = "−" if value < 0 and float(text) else ""
    return sign + (text if "e" in text else grouped(text))


def _head(axes: Axes, name: str, id_: str) -> None:
    """Name of a panel on the left, id on the right; a name that would run into the id is cut."""
    room = PAGE_MM - LEFT - RIGHT - 0.62 * SMALL / 72 * MM_PER_INCH * len(id_) - 4.0
    letters = math.floor(room / word_width("x", TEXT))
    name = name if len(name) <= letters else name[: letters - 1] + "…"
    for text, place, side, size, weight, color in (
        (name, 0.0, "left", TEXT, "bold", INK),
        (id_, 1.0, "right", SMALL, "normal", SOFT),
    ):
        axes.annotate(
            text, (place, 1.0), (0.0, 3.0), xycoords="axes fraction",
            textcoords="offset points", va="bottom", ha=side, size=size, weight=weight,
            color=color,
        )  # fmt: skip


def edges(scale: Scale) -> list[float]:
    """Where one point gives over to the next: half-way between, and the ends of the axis."""
    places = scale.places
    low, high = limits(scale)
    return [low, *((places[:-1] + places[1:]) / 2).tolist(), high]


def stretches(scale: Scale, strip: Strip) -> list[tuple[str, float, float]]:
    """Each level of a strip with where it begins and ends on the axis."""
    cut = edges(scale)
    found: list[tuple[str, float, float]] = []
    place = 0
    for level, group in itertools.groupby(strip.levels):
        size = len(list(group))
        found.append((level, cut[place], cut[place + size]))
        place += size
    return found


def _bounds(scale: Scale, strip: Strip) -> list[float]:
    return [] if scale.words else [begin for _, begin, _ in stretches(scale, strip)[1:]]


def _draw_strip(axes: Axes, scale: Scale, strip: Strip) -> None:
    low, high = limits(scale)
    per_mm = (high - low) / (PAGE_MM - LEFT - RIGHT)
    for level, begin, end in stretches(scale, strip):
        face, hatch = LOOKS[level]
        box = Rectangle(
            (begin, 0.0), end - begin, 1.0, facecolor=face, hatch=hatch, edgecolor=SOFT,
            linewidth=THIN, clip_on=False, gid=f"level-{level or 'none'}",
        )  # fmt: skip
        axes.add_patch(box)
        word, size = fitted(WORDS.get(level, level), (end - begin) / per_mm)
        if word:
            axes.text(
                (begin + end) / 2, 0.46, word, size=size, weight="bold", ha="center", va="center",
                bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8}, zorder=4,
            )  # fmt: skip
    axes.set_ylim(0.0, 1.0)
    axes.set_yticks([])
    axes.grid(visible=False)
    axes.spines[["left", "bottom"]].set_visible(False)
    axes.annotate(
        strip.name, (0.0, 1.0), (0.0, 1.5), xycoords="axes fraction", textcoords="offset points",
        size=SMALL, va="bottom", ha="left",
    )  # fmt: skip


def fitted(word: str, room: float) -> tuple[str, float]:
    """A word and its size for a stretch of ``room`` mm: smaller, then its first letter, then none.

    >>> fitted("query", 30.0)[0], fitted("query", 4.5)[0], fitted("query", 1.0)[0]
    ('query', 'Q', '')
    """
    for size in (SMALL, TINY):
        if room >= word_width(word, size) + 1.2:
            return word, size
    return (word[:1].upper() if room >= 3.0 else ""), SMALL


def word_width(word: str, size: float = SMALL) -> float:
    """Room that a bold word takes, mm, a little more than it needs."""
    return 0.72 * size / 72 * MM_PER_INCH * len(word)


def _folded(word: str, count: int) -> str:
    room = (PAGE_MM - LEFT - RIGHT) / min(count, MOST_TICKS)
    letters = max(6, math.floor(room / (0.62 * SMALL / 72 * MM_PER_INCH)))
    lines = textwrap.wrap(word, letters, break_long_words=False, break_on_hyphens=True)
    return "\n".join(lines[:4] + (["…"] if len(lines) > 4 else []))


def _name_ticks(axes: Axes, scale: Scale) -> None:
    if not scale.words:
        axes.xaxis.set_major_locator(MaxNLocator(10))
        axes.xaxis.set_major_formatter(FuncFormatter(figures))
        return
    count = len(scale.values)
    every = math.ceil(count / MOST_TICKS)
    names = [_folded(str(value), count) for value in scale.values]
    axes.set_xticks(range(0, count, every), names[::every])
