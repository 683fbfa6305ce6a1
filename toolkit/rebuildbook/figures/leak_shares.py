"""What each leak path takes of a pump's displacement: a bar for each, the largest first.

The kind of a loss is told by hatch and by word, its size by length and by figure.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Patch, Rectangle
from matplotlib.ticker import MaxNLocator

from rebuildbook.calculators.volumetric import Kind, Loss, Volumetric
from rebuildbook.figures.style import (
    FAINT,
    FILL,
    INK,
    MM_PER_INCH,
    PAGE_MM,
    PAPER,
    SMALL,
    SOFT,
    TEXT,
    THIN,
    TINY,
    new_figure,
    page_axes,
    styled,
)
from rebuildbook.units import number, show

LEFT, WORDS, BOTTOM = 48.0, 60.0, 12.0  # mm: names, figures behind the bars, axis
ROW = 7.0  # mm, a bar and its room
HEAD = 14.0  # mm over the bars for summary and key
TITLE = 6.0
MOST_BARS = 16
_CHARACTERS = 28  # of a name that fit beside the bars
_SHORT_LEFT, _SHORT_RIGHT, _SHORT_ROW = 36.0, 14.0, 4.2  # mm, of the short form
_SHORT_BARS, _SHORT_NAME = 6, 24  # bars and characters of a name, for letters cost most
_SHORT_NAMES = {"air": "air", "liquid compression": "compression"}

LOOKS: dict[Kind | Literal["several"], tuple[str, str, str]] = {  # fill, hatch, word
    "leak": (FAINT, "", "leak"),
    "liquid compression": (PAPER, "////", "compression"),
    "air": (PAPER, "....", "air"),
    "back-flow": (FILL, "xxxx", "back-flow"),
    "several": (PAPER, "", "several kinds"),
}


@styled()
def leak_shares(result: Volumetric, flow_unit: str = "L/min", title: str = "") -> Figure:
    """Draw every loss of ``result`` as a share of the displacement, ranked.

    Behind each bar stand its share of the displacement, its share of all losses and its mean flow
    in ``flow_unit``; under each name the stroke on which it leaks. Past sixteen losses the smallest
    are drawn as one.

    Raises ValueError where nothing is lost.
    """
    if not any(loss.volume for loss in result.losses):
        raise ValueError("nothing is lost; there is no share to draw")
    rows = _rows(result)
    head = HEAD + (TITLE if title else 0.0)
    height = head + ROW * len(rows) + BOTTOM
    figure = new_figure(PAGE_MM, height)
    axes = figure.add_axes(
        (
            LEFT / PAGE_MM,
            BOTTOM / height,
            (PAGE_MM - LEFT - WORDS) / PAGE_MM,
            ROW * len(rows) / height,
        )
    )
    _bars(axes, result, rows, flow_unit)
    _head(figure, result, flow_unit, title)
    _key(figure, rows, head - 7.0)
    return figure


@styled()
def leak_bars(result: Volumetric) -> Figure:
    """Draw what is lost in the short form that a page has room for: name, bar, share.

    Losses of nothing are left out, and past six the smallest are drawn as one. Leaks are dark,
    what the fluid itself takes is light. Raises ValueError where nothing is lost.
    """
    rows = [row for row in _rows(result, _SHORT_BARS) if row.volume > 0.0]
    if not rows:
        raise ValueError("nothing is lost; there is no share to draw")
    height = _SHORT_ROW * len(rows)
    axes = page_axes(new_figure(PAGE_MM * 0.75, height))
    room = PAGE_MM * 0.75 - _SHORT_LEFT - _SHORT_RIGHT
    most = max(row.share for row in rows)
    for place, row in enumerate(rows):
        middle = height - (place + 0.5) * _SHORT_ROW
        long = room * row.share / most
        corner = (_SHORT_LEFT, middle - 0.3 * _SHORT_ROW)
        bar = Rectangle(
            corner, long, 0.6 * _SHORT_ROW, facecolor=SOFT if row.kind == "leak" else FAINT,
            clip_on=False, gid=f"bar-{row.name}",
        )  # fmt: skip
        axes.add_patch(bar)
        name = _SHORT_NAMES.get(row.kind) or textwrap.shorten(
            row.name, _SHORT_NAME, placeholder="…"
        )
        axes.text(_SHORT_LEFT - 1.5, middle, name, size=SMALL, ha="right", va="center")
        share = f"{number(100.0 * row.share, 2)} %"
        axes.text(_SHORT_LEFT + long + 1.5, middle, share, size=SMALL, va="center", gid="figures")
    figure = axes.get_figure()
    assert isinstance(figure, Figure)  # noqa: S101
    return figure


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    when: str
    kind: Kind | Literal["several"]
    share: float
    of_losses: float
    volume: float


def _rows(result: Volumetric, most: int = MOST_BARS) -> list[_Row]:
    losses = result.losses
    many = len(losses) > most
    shown, rest = (losses[: most - 1], losses[most - 1 :]) if many else (losses, ())
    rows = [
        _Row(one.name, _when(one), one.kind, one.share, one.of_losses, one.volume) for one in shown
    ]
    if rest:
        kinds = {one.kind for one in rest}
        rows.append(
            _Row(
                f"{len(rest)} smaller losses", "together",
                kinds.pop() if len(kinds) == 1 else "several",
                sum(one.share for one in rest), sum(one.of_losses for one in rest),
                sum(one.volume for one in rest),
            )
        )  # fmt: skip
    return rows


def _when(loss: Loss) -> str:
    if loss.stroke is None:
        return ""
    words = {"both strokes": "on both strokes", "any": "all the time"}
    return words.get(loss.stroke, f"on the {loss.stroke}")


def _bars(axes: Axes, result: Volumetric, rows: list[_Row], flow_unit: str) -> None:
    for place, row in enumerate(rows):
        fill, hatch, _ = LOOKS[row.kind]
        axes.barh(
            place, 100.0 * row.share, 0.62, color=fill, hatch=hatch, edgecolor=INK, linewidth=THIN,
            zorder=2, gid=f"bar-{row.name}",
        )  # fmt: skip
        words = f"{100.0 * row.share:.2f} %  ·  {100.0 * row.of_losses:.0f} % of losses"
        words += f"  ·  {show(row.volume * result.rate, flow_unit)}"
        _beside(axes, 1.02, place, words, SMALL, "figures")
        name = textwrap.shorten(row.name, _CHARACTERS, placeholder=" …")
        _beside(axes, -0.02, place - (0.16 if row.when else 0.0), name, TEXT, "name")
        if row.when:
            _beside(axes, -0.02, place + 0.28, row.when, TINY, "stroke")
    axes.set_ylim(len(rows) - 0.5, -0.5)
    lowest = min(0.0, *(row.share for row in rows))
    axes.set_xlim(105.0 * lowest, 105.0 * max(row.share for row in rows))
    axes.xaxis.set_major_locator(MaxNLocator(5))
    axes.set_yticks([])
    axes.grid(visible=False, axis="y")
    axes.set_axisbelow(True)
    axes.set_xlabel("lost, % of the displacement", labelpad=2)


def _beside(axes: Axes, x: float, place: float, words: str, size: float, gid: str) -> None:
    axes.text(
        x, place, words, size=size, color=SOFT if gid == "stroke" else INK, va="center", gid=gid,
        ha="right" if x < 0.0 else "left", transform=axes.get_yaxis_transform(),
    )  # fmt: skip


def _head(figure: Figure, result: Volumetric, flow_unit: str, title: str) -> None:
    height = figure.get_figheight() * MM_PER_INCH
    top = height - 2.0
    if title:
        figure.text(2.0 / PAGE_MM, top / height, title, size=TEXT + 1.0, weight="bold", va="top")
        top -= TITLE
    if result.delivers:
        words = (
            f"Delivers {100.0 * result.efficiency:.1f} % of its displacement, "
            f"{show(result.flow, flow_unit)}; slip {show(result.slip_flow, flow_unit)}"
        )
    else:
        lost = (result.displacement - result.balance) / result.displacement
        words = f"Does not reach this pressure: {number(100.0 * lost)} % would be lost"
    figure.text(2.0 / PAGE_MM, top / height, words, size=TEXT, va="top", gid="summary")


def _key(figure: Figure, rows: list[_Row], down: float) -> None:
    kinds = dict.fromkeys(row.kind for row in rows)
    handles = [
        Patch(facecolor=LOOKS[k][0], hatch=LOOKS[k][1], edgecolor=INK, label=LOOKS[k][2])
        for k in kinds
    ]
    height = figure.get_figheight() * MM_PER_INCH
    figure.legend(
        handles=handles, loc="upper left", ncols=len(handles), handlelength=2.2, borderpad=0.0,
        borderaxespad=0.0, bbox_to_anchor=(2.0 / PAGE_MM, 1.0 - down / height),
    )  # fmt: skip
