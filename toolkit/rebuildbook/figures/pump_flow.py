"""The flow of a pump over one cycle: what each chamber gives, their sum, and the mean.

Drawn for paper: legible 80 mm wide and in grey. Chambers have a number and a dash of their own;
the hatched humps are what an accumulator takes up. The scale begins at zero, so that a pulse looks
as large as it is.
"""

from __future__ import annotations

import textwrap
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from rebuildbook.calculators.pump_flow import CycleFlow, Pulsation
from rebuildbook.calculators.stroke_motion import Floats
from rebuildbook.figures import style
from rebuildbook.units import DIMENSIONS, number, shown_unit, to_unit

PLOT_MM = 46.0  # height of the plot
LEFT_MM, RIGHT_MM = 12.0, 20.0  # the scale, and the labels of mean, peak and trough
SHORT_MM = 34.0  # height of the figure without words
SCALE_MM = 8.5  # under the plot, for the phase
KEY_LINE_MM = 3.2
TITLE_MM = 6.0
AWAY_MM = 1.5  # from the plot to those labels
LABEL_MM = 3.0  # from one label beside the plot to the next
CHARACTER_MM = 1.32  # of a line in the key, on the average
EDGE = 0.025  # of the width a number keeps from the ends of the plot


@style.styled()
def pump_flow(
    cycle: CycleFlow,
    pulse: Pulsation | None = None,
    unit: str = "L/min",
    *,
    width_mm: float = style.COLUMN_MM,
    title: str = "",
) -> Figure:
    """Draw ``cycle`` with the parts of its chambers, its mean, and the volume above the mean.

    ``pulse`` adds to the key what an accumulator must take up. ``unit`` is a flow unit such as
    "L/min" or "gal/min"; ``width_mm`` is the column's or the page's. A cycle of 720 steps is fine
    enough; more only make a larger file. Raises ValueError for a unit that is no flow, a pump at
    rest, or a cycle of fewer than two points.
    """
    kind = DIMENSIONS["flow"]
    if unit not in (*kind.metric, *kind.us):
        raise ValueError(f"{unit!r} is no flow unit; take one of {(*kind.metric, *kind.us)}")
    if cycle.phase.size < 2 or not cycle.mean > 0.0:
        raise ValueError("the pump is at rest or its cycle has no points; there is nothing to draw")
    key = _key(cycle, pulse, width_mm)
    head = TITLE_MM if title else 2.0
    foot = SCALE_MM + KEY_LINE_MM * len(key) + 1.0
    height = foot + PLOT_MM + head
    figure = style.new_figure(width_mm, height)
    wide = width_mm - LEFT_MM - RIGHT_MM
    axes = figure.add_axes((LEFT_MM / width_mm, foot / height, wide / width_mm, PLOT_MM / height))
    scale = to_unit(1.0, unit)
    _frame(axes, cycle, scale, unit)
    _draw_total(axes, cycle, scale)
    _draw_parts(axes, cycle, scale)
    _name_levels(axes, cycle, scale, 1.0 + AWAY_MM / wide)
    for line, text in enumerate(key):
        at = 1.0 + KEY_LINE_MM * (len(key) - line)
        figure.text(2.0 / width_mm, at / height, text, size=style.SMALL, va="top", gid="key")
    if title:
        figure.text(
            2.0 / width_mm, 1.0 - 1.5 / height, title, size=style.TEXT, weight="bold", va="top"
        )
    return figure


@style.styled()
def delivery(cycle: CycleFlow, unit: str = "L/min", *, width_mm: float = style.COLUMN_MM) -> Figure:
    """The same in short: heavy their sum, thin each chamber, dashed the mean; hardly a letter.

    The caption names the unit and the lines. Raises ValueError for a pump at rest.
    """
    if cycle.phase.size < 2 or not cycle.mean > 0.0:
        raise ValueError("the pump is at rest or its cycle has no points; there is nothing to draw")
    figure = style.new_figure(width_mm, SHORT_MM)
    left, low = 8.0, 5.0
    axes = figure.add_axes(
        (
            left / width_mm,
            low / SHORT_MM,
            1.0 - (left + 2.0) / width_mm,
            1.0 - (low + 2.0) / SHORT_MM,
        )
    )
    scale = to_unit(1.0, unit)
    axes.set_axis_off()
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, 1.04 * scale * float(cycle.total.max()))
    _short_lines(axes, cycle, scale)
    _short_numbers(axes, scale * cycle.mean, scale * float(cycle.total.max()))
    return figure


def _short_lines(axes: Axes, cycle: CycleFlow, scale: float) -> None:
    top, mean = scale * float(cycle.total.max()), scale * cycle.mean
    rule: Any = {"color": style.SOFT, "lw": style.THIN, "clip_on": False}
    axes.plot((0.0, 1.0), (0.0, 0.0), **rule)
    axes.plot((0.0, 0.0), (0.0, top), **rule)
    thin: Any = {"color": style.ACCENT, "lw": style.THIN, "clip_on": False, "gid": "part"}
    for flow in cycle.parts if overlap(cycle) else ():
        given = np.where(flow > 0.0, scale * flow, np.nan)
        axes.plot(cycle.phase[::4], given[::4], **thin)
    heavy: Any = {"color": style.INK, "lw": style.HEAVY, "clip_on": False, "gid": "total"}
    axes.plot(cycle.phase, scale * cycle.total, **heavy)
    dashed: Any = {"color": style.INK, "lw": style.THIN, "ls": (0, (8, 3)), "clip_on": False}
    axes.plot((0.0, 1.0), (mean, mean), gid="mean", **dashed)


def _short_numbers(axes: Axes, mean: float, top: float) -> None:
    for at, text in ((0.0, "0"), (0.5, "½"), (1.0, "1")):
        axes.text(at, -0.02 * top, text, size=style.SMALL, ha="center", va="top")
    close = top - mean < 0.12 * top  # the two numbers would stand on each other
    for height in (mean,) if close else (mean, top):
        axes.text(-0.012, height, number(height), size=style.SMALL, ha="right", va="center")


def overlap(cycle: CycleFlow) -> bool:
    """Whether two chambers ever give flow at once; else the sum shows each of them."""
    return bool((np.count_nonzero(cycle.parts > 0.0, axis=0) > 1).any())


def _frame(axes: Axes, cycle: CycleFlow, scale: float, unit: str) -> None:
    axes.set_xlim(0.0, 1.0)
    axes.set_ylim(0.0, 1.12 * scale * float(cycle.total.max()))
    axes.set_xticks([0.0, 0.25, 0.5, 0.75, 1.0], ["0", "¼", "½", "¾", "1"])
    axes.set_xlabel("part of a cycle", labelpad=2)
    word = "delivered" if cycle.side == "delivered" else "drawn in"
    axes.set_ylabel(f"flow {word}, {shown_unit(unit)}", labelpad=3)
    axes.tick_params(length=2, pad=2)


def _draw_total(axes: Axes, cycle: CycleFlow, scale: float) -> None:
    mean, total = scale * cycle.mean, scale * cycle.total
    axes.fill_between(
        cycle.phase, mean, total, where=(total > mean).tolist(), interpolate=True,
        facecolor=style.FILL, edgecolor=style.RULE, hatch="////", linewidth=0.0, gid="above",
    )  # fmt: skip
    axes.plot(cycle.phase, total, color=style.INK, linewidth=style.HEAVY, gid="total", zorder=3)
    axes.axhline(
        mean, color=style.INK, linewidth=style.THIN, linestyle=(0, (8, 3)), gid="mean", zorder=4
    )


def _draw_parts(axes: Axes, cycle: CycleFlow, scale: float) -> None:
    """A thin dashed line for each chamber where it gives flow, its number in a ring on its peak.

    Behind the sum: where one chamber alone gives flow, the ring names the heavy line.
    """
    if len(cycle.parts) < 2:
        return  # the one chamber is the total
    for place, flow in enumerate(cycle.parts):
        look: Any = style.DASHES[1:][place % (len(style.DASHES) - 1)]
        color = style.SERIES[1:][place % (len(style.SERIES) - 1)]
        given = np.where(flow > 0.0, scale * flow, np.nan)
        axes.plot(
            cycle.phase, given, color=color, linewidth=style.LINE, linestyle=look,
            gid=f"part-{place + 1}", zorder=2.5,
        )  # fmt: skip
        x = float(np.clip(_peak_phase(cycle.phase, flow), EDGE, 1.0 - EDGE))
        axes.text(
            x, scale * float(flow.max()), str(place + 1), size=style.SMALL, ha="center",
            va="center", zorder=6, gid="number",
            bbox={"boxstyle": "circle,pad=0.18", "facecolor": style.PAPER, "edgecolor": color,
                  "linewidth": style.THIN},
        )  # fmt: skip


def _peak_phase(phase: Floats, flow: Floats) -> float:
    """Middle of the first stretch at the peak: an air motor's flow is flat there."""
    high = np.flatnonzero(flow >= flow.max() * (1.0 - 1e-9))
    breaks = np.flatnonzero(np.diff(high) > 1)
    last = high[breaks[0]] if breaks.size else high[-1]
    return float((phase[high[0]] + phase[last]) / 2.0)


def _name_levels(axes: Axes, cycle: CycleFlow, scale: float, beside: float) -> None:
    """Mean, peak and trough beside the plot, moved apart where they lie close."""
    apart = LABEL_MM / PLOT_MM * axes.get_ylim()[1]
    mean = scale * cycle.mean
    peak, trough = scale * float(cycle.total.max()), scale * float(cycle.total.min())
    levels = {
        "peak": (peak, max(peak, mean + apart)),
        "mean": (mean, mean),
        "trough": (trough, min(trough, mean - apart)),
    }
    if peak - trough < 1e-3 * mean:
        levels = {"mean": levels["mean"]}
    for word, (value, height) in levels.items():
        axes.annotate(
            f"{word} {number(value)}", (1.0, value), (beside, height),
            xycoords=("axes fraction", "data"), textcoords=("axes fraction", "data"),
            size=style.SMALL, va="center", ha="left", gid="level",
            weight="bold" if word == "mean" else "normal",
            arrowprops={"arrowstyle": "-", "color": style.SOFT, "linewidth": style.HAIR,
                        "shrinkA": 0.5, "shrinkB": 0.0},
        )  # fmt: skip


def _key(cycle: CycleFlow, pulse: Pulsation | None, width_mm: float) -> list[str]:
    """What the lines are, wrapped to the width."""
    sentences = ["Hatched: above the mean."]
    if pulse is not None:
        share = 100.0 * pulse.swing
        told = f"{number(share, 2)} %" if share >= 0.1 else "less than 0.1 %"
        sentences.append(f"An accumulator takes up {told} of a cycle's volume.")
    sentences = [" ".join(sentences)]
    if len(cycle.parts) > 1:
        sentences.insert(0, f"Heavy: all together. {_names(cycle.names)}.")
    characters = int((width_mm - 4.0) / CHARACTER_MM)
    return [line for text in sentences for line in textwrap.wrap(text, characters)]


def _names(names: tuple[str, ...]) -> str:
    """The chambers behind the numbers; a name that is only counted stands once."""
    stems = {name.removesuffix(f" {place + 1}") for place, name in enumerate(names)}
    if len(stems) == 1:
        return f"In a ring: number of the {stems.pop()}"
    return ", ".join(f"{place + 1} {name}" for place, name in enumerate(names))
