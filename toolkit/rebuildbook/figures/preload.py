"""Preload as a picture: how the trials spread between opening and yielding, and the joint diagram.

Both figures say everything in line style, hatching and words, so that they hold in grey and
80 mm wide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import NDArray

from rebuildbook.figures.pressure_ladder import spread
from rebuildbook.units import DIMENSIONS, factor, number, show, shown_unit

Floats = NDArray[np.float64]

_SIZE = 7.0  # points
_LINE_MM = 3.0  # from one line of text to the next
_LABELS_MM = 25.0  # kept right of the joint diagram
_INK, _MID, _PALE = "#1a1a1a", "#9aa3a9", "#d5dade"
_LETTER_MM = 1.32  # a letter, on the whole
_BARS = 60
_HEAD = 0.62  # room above the bars, as a part of their height
_MICROMETRE = 1e-6


@dataclass(frozen=True, slots=True)
class _LimitName:
    """A limit (N) and where its name stands: after or before its line, and in which row."""

    force: float
    words: str
    after: bool
    inward: bool
    row: int = 0


def preload_distribution(
    draws: Floats | Sequence[float],
    opens_at: float | None,
    yields_at: float | None,
    interval: tuple[float, float],
    unit: str,
    *,
    coverage: float = 0.95,
    width_mm: float = 80.0,
) -> Figure:
    """Draw the spread of the preload between the value that opens and the one that yields.

    ``draws`` trials (N), ``opens_at`` the preload below which the joint opens and ``yields_at``
    that above which the fastener yields (N; None where not known), ``interval`` with its
    ``coverage`` (N), ``unit`` a force unit, ``width_mm`` from 70. Trials past a limit are hatched.
    """
    values = np.asarray(draws, dtype=float)
    if values.size < 2 or not np.all(np.isfinite(values)):
        raise ValueError(f"{values.size} trials, all to be finite: there is no spread to draw")
    if opens_at is not None and yields_at is not None and opens_at >= yields_at:
        raise ValueError(
            f"opens below {opens_at:g} N, yields above {yields_at:g} N: no room between"
        )
    scale = _force_scale(unit)
    figure, axes = _page(width_mm, 56.0, right_mm=3.0)
    top = _bars(axes, values / scale, opens_at, yields_at, scale)
    ends = [v / scale for v in (opens_at, yields_at, *interval) if v is not None]
    low, high = min(*ends, float(values.min()) / scale), max(*ends, float(values.max()) / scale)
    margin = 0.05 * (high - low)
    axes.set_xlim(low - margin, high + margin)
    names = _limit_names(axes, opens_at, yields_at, unit)
    rows = max((name.row for name in names), default=0)
    axes.set_ylim(0.0, (1.0 + _HEAD + 0.28 * rows) * top)
    _bracket(axes, interval, unit, top, coverage)
    _draw_limits(axes, values, names, unit)
    axes.set_xlabel(f"Preload, {shown_unit(unit)}", fontsize=_SIZE, color=_INK)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    return figure


def joint_diagram(
    preload: float,
    fastener_stiffness: float,
    member_stiffness: float,
    external_load: float,
    unit: str,
    *,
    width_mm: float = 80.0,
) -> Figure:
    """Draw force over stretch: the fastener's line, the parts' line, and a load between them.

    ``preload`` and ``external_load`` per fastener (N, the load pulling apart), stiffnesses (N/m),
    ``unit`` a force unit, ``width_mm`` from 70. A load that opens the joint is drawn past the
    foot of the parts' line, where the fastener carries it alone.
    """
    springs = (fastener_stiffness, member_stiffness)
    _check_joint(preload, springs, external_load)
    scale = _force_scale(unit)
    is_open = external_load * springs[1] / sum(springs) >= preload
    fastener = external_load if is_open else preload + external_load * springs[0] / sum(springs)
    clamp = max(fastener - external_load, 0.0)
    rest, stretch = preload / springs[0], fastener / springs[0]
    foot = rest + preload / springs[1]
    figure, axes = _page(width_mm, 60.0, right_mm=_LABELS_MM)
    axes.set_xlim(0.0, 1.06 * max(foot, stretch) / _MICROMETRE)
    axes.set_ylim(0.0, 1.12 * fastener / scale)
    _joint_lines(axes, (rest, foot, stretch), (preload / scale, fastener / scale))
    forces = {"preload": preload}
    if external_load > 0.0:
        _load_arrow(axes, stretch, (clamp / scale, fastener / scale))
        forces |= {"fastener": fastener, "open" if is_open else "clamp left": clamp}
    _name_forces(axes, forces, (stretch, external_load), unit)
    axes.set_xlabel("Stretch and squeeze, µm", fontsize=_SIZE, color=_INK)
    axes.set_ylabel(f"Force, {shown_unit(unit)}", fontsize=_SIZE, color=_INK, labelpad=1.0)
    return figure


def _check_joint(preload: float, springs: tuple[float, float], external_load: float) -> None:
    for name, value in zip(("preload", "fastener", "parts"), (preload, *springs), strict=True):
        if not 0.0 < value < math.inf:
            raise ValueError(f"{name}: {value:g} is no force or stiffness above zero")
    if not 0.0 <= external_load < math.inf:
        raise ValueError(f"external load is {external_load:g} N; draw a load that pulls apart")


def _force_scale(unit: str) -> float:
    kind = DIMENSIONS["force"]
    if unit not in (*kind.metric, *kind.us):
        raise ValueError(f"{unit!r} is no force unit; take one of {(*kind.metric, *kind.us)}")
    return factor(unit)[0]


def _page(width_mm: float, height_mm: float, right_mm: float) -> tuple[Figure, Axes]:
    """Make a page with margins in millimetres, so that text keeps its room at any width."""
    if not 70.0 <= width_mm <= 250.0:
        raise ValueError(f"a width of {width_mm:g} mm; give 70 to 250 mm")
    left, foot = (3.0 if right_mm < _LABELS_MM else 13.0), 10.0
    figure = Figure(figsize=(width_mm / 25.4, height_mm / 25.4), facecolor="white")
    size = (width_mm - left - right_mm, height_mm - foot - 2.5)
    axes = figure.add_axes(
        (left / width_mm, foot / height_mm, size[0] / width_mm, size[1] / height_mm)
    )
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    for side in ("bottom", "left"):
        axes.spines[side].set(color=_INK, linewidth=0.8)
    axes.tick_params(labelsize=_SIZE - 0.5, colors=_INK, width=0.6, length=2.5, pad=1.5)
    return figure, axes


def _millimetres(axes: Axes) -> tuple[float, float]:
    """Width and height of the axes on paper."""
    box, page = axes.get_position(), axes.get_figure(root=True)
    assert page is not None  # noqa: S101  (made with the figure)
    width, height = page.get_size_inches() * 25.4
    return float(box.width * width), float(box.height * height)


def _bars(
    axes: Axes, values: Floats, opens_at: float | None, yields_at: float | None, scale: float
) -> float:
    """Draw the trials as bars, those past a limit hatched; gives the highest bar.

    A limit inside the spread is an edge between two bars, so that the hatching ends on it.
    """
    edges = np.histogram_bin_edges(values, _BARS)
    limits = [v / scale for v in (opens_at, yields_at) if v is not None]
    inside = [v for v in limits if edges[0] < v < edges[-1]]
    edges = np.unique(np.concatenate([edges, inside]))
    counts, _ = np.histogram(values, edges)
    heights = counts / np.diff(edges)
    middles = (edges[:-1] + edges[1:]) / 2.0
    past = np.zeros(middles.size, dtype=bool)
    if opens_at is not None:
        past |= middles < opens_at / scale
    if yields_at is not None:
        past |= middles > yields_at / scale
    styles: tuple[tuple[Any, dict[str, Any]], ...] = (
        (~past, {"facecolor": _PALE, "edgecolor": _PALE}),
        (past, {"facecolor": "white", "edgecolor": _INK, "hatch": "//////"}),
    )
    for chosen, style in styles:
        axes.stairs(np.where(chosen, heights, 0.0), edges, fill=True, linewidth=0.0, **style)
    axes.stairs(heights, edges, color=_INK, linewidth=0.7, baseline=None)
    return float(heights.max())


def _bracket(
    axes: Axes, interval: tuple[float, float], unit: str, top: float, coverage: float
) -> None:
    """Draw the coverage interval as a line with end ticks over the bars, its values above."""
    scale = _force_scale(unit)
    low, high = (bound / scale for bound in interval)
    level, tick = 1.10 * top, 0.03 * top
    axes.plot([low, high], [level, level], color=_INK, linewidth=1.0, solid_capstyle="butt")
    for end in (low, high):
        axes.plot([end, end], [level - tick, level + tick], color=_INK, linewidth=1.0)
    text = f"{coverage:.0%}".replace("%", "\u202f%")
    text = f"{text} lie from {number(low)} to {show(high * scale, unit)}"
    _write_inside(axes, (low + high) / 2.0, level + 1.3 * tick, text)


def _write_inside(axes: Axes, middle: float, height: float, text: str) -> None:
    """Write about ``middle``, moved as far as it takes to stay between the ends of the axis."""
    left, right = axes.get_xlim()
    half = 0.5 * len(text) * _LETTER_MM * (right - left) / _millimetres(axes)[0]
    middle = min(max(middle, left + half), right - half)
    axes.text(
        middle, height, text, size=_SIZE, ha="center", va="bottom", color=_INK, gid="interval",
        zorder=5, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4},
    )  # fmt: skip


def _limit_names(
    axes: Axes, opens_at: float | None, yields_at: float | None, unit: str
) -> list[_LimitName]:
    """Choose where each limit's name stands: inward, outward where crowded, else in two rows."""
    left, right = axes.get_xlim()
    width = _millimetres(axes)[0]
    scale = _force_scale(unit)
    mm = width / (right - left)
    opens = None if opens_at is None else (opens_at / scale - left) * mm
    yields = None if yields_at is None else (yields_at / scale - left) * mm
    words = [show(force, unit) for force in (opens_at, yields_at) if force is not None]
    name_mm = 2.0 + _LETTER_MM * max(len(f"yields above {word}") for word in ["", *words])
    crowded = opens is not None and yields is not None and yields - opens < 2.0 * name_mm
    names = []
    if opens_at is not None and opens is not None:
        inward = opens < name_mm or (not crowded and width - opens >= name_mm)
        names.append(_LimitName(opens_at, "opens below", after=inward, inward=inward))
    if yields_at is not None and yields is not None:
        inward = width - yields < name_mm or (not crowded and yields >= name_mm)
        names.append(_LimitName(yields_at, "yields above", after=not inward, inward=inward))
    if crowded and any(name.inward for name in names):
        names[1] = replace(names[1], row=1)
    return names


def _draw_limits(axes: Axes, values: Floats, names: Sequence[_LimitName], unit: str) -> None:
    """Draw the limits, each with its name and the share of trials past it."""
    left, right = axes.get_xlim()
    _, top = axes.get_ylim()
    wide, tall = _millimetres(axes)
    for name in names:
        at = name.force / _force_scale(unit)
        head = top - name.row * 2.4 * _LINE_MM * top / tall
        opens = name.words.startswith("opens")
        past = np.count_nonzero(values < name.force if opens else values > name.force)
        dash = (0, (5, 2)) if opens else "-"
        axes.plot([at, at], [0.0, head], color=_INK, linewidth=1.8, linestyle=dash, gid="limit")
        axes.text(
            at + (1.0 if name.after else -1.0) * (right - left) / wide, head,
            f"{name.words} {show(name.force, unit)}\n{_share(past / values.size)}",
            size=_SIZE, ha="left" if name.after else "right", va="top", color=_INK,
            linespacing=1.15, gid="limit-name",
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.5},
        )  # fmt: skip


def _share(past: float) -> str:
    if past == 0.0:
        return "in no trial"
    return f"in {number(100.0 * past, 2)}\u202f% of trials"


def _joint_lines(
    axes: Axes, stretches: tuple[float, float, float], forces: tuple[float, float]
) -> None:
    """Draw the two lines of the joint; the fastener's runs on to where the load takes it."""
    rest, foot, loaded = (stretch / _MICROMETRE for stretch in stretches)
    preload, fastener = forces
    end = max((rest, preload), (loaded, fastener))
    axes.fill_between([0.0, rest, foot], [0.0, preload, 0.0], color=_PALE, linewidth=0.0)
    axes.plot([0.0, end[0]], [0.0, end[1]], color=_INK, linewidth=1.8)
    axes.plot([rest, foot], [preload, 0.0], color=_INK, linewidth=1.8, linestyle=(0, (4, 1.5)))
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    wide, tall = _millimetres(axes)
    for name, along, start, rise in (
        ("fastener", 0.45, (0.0, 0.0), (rest, preload)),
        ("parts", 0.70, (rest, preload), (foot - rest, -preload)),
    ):
        run, climb = rise[0] * wide / right, rise[1] * tall / top
        length = math.hypot(run, climb)
        axes.text(
            start[0] + along * rise[0] - 0.8 * climb / length * right / wide,
            start[1] + along * rise[1] + 0.8 * run / length * top / tall,
            name, size=_SIZE, color=_INK, ha="center", va="bottom", gid="line-name",
            rotation=math.degrees(math.atan2(climb, run)), rotation_mode="anchor",
        )  # fmt: skip


def _load_arrow(axes: Axes, stretch: float, ends: tuple[float, float]) -> None:
    at = stretch / _MICROMETRE
    axes.annotate(
        "", (at, ends[1]), (at, ends[0]), zorder=5,
        arrowprops={
            "arrowstyle": "<|-|>", "linewidth": 1.2, "color": _INK, "shrinkA": 0.0, "shrinkB": 0.0,
            "mutation_scale": 6.0,
        },
    )  # fmt: skip
    axes.plot([at], [ends[1]], marker="o", markersize=3.0, color=_INK, zorder=6)
    axes.plot([at], [ends[0]], marker="o", markersize=3.0, color=_INK, zorder=6, clip_on=False)


def _name_forces(
    axes: Axes, forces: dict[str, float], load: tuple[float, float], unit: str
) -> None:
    """Name the forces right of the diagram; ``load`` is where on the stretch it acts, and its size.

    Dotted lines lead from each name to its height, or to the middle of the load's arrow.
    """
    scale = _force_scale(unit)
    at, size = load
    named = [(force / scale, 0.0, name, force) for name, force in forces.items()]
    if size > 0.0:
        middle = (max(forces.values()) + min(forces.values())) / 2.0
        named.append((middle / scale, at / _MICROMETRE, "load", size))
    named.sort(key=lambda row: row[0])
    _, right = axes.get_xlim()
    wide, tall = _millimetres(axes)
    per_mm, step = axes.get_ylim()[1] / tall, right / wide
    room = 2.0 * _LINE_MM + 0.8
    wanted = [height / per_mm for height, _, _, _ in named]
    middles = spread(wanted, [room] * len(named), -2.0, tall + 2.0)
    dotted: dict[str, Any] = {"linewidth": 0.5, "dashes": (1.5, 1.2), "clip_on": False}
    for (height, start, name, force), place in zip(named, middles, strict=True):
        label = place * per_mm
        axes.plot([start, right], [height, height], color=_MID, zorder=1, **dotted)
        bend = [right, right + 1.5 * step, right + 4.0 * step, right + 5.0 * step]
        axes.plot(bend, [height, height, label, label], color=_INK, **dotted)
        for line, text in enumerate((name, show(force, unit))):
            axes.text(
                right + 5.8 * step, label + (0.5 - line) * _LINE_MM * per_mm, text, size=_SIZE,
                va="center_baseline", ha="left", color=_INK, gid="force-name",
            )  # fmt: skip
