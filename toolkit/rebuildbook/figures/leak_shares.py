"""What each leak path takes of a pump's displacement: a bar for each, the largest first.

Leaks are dark, what the fluid itself takes is light; the size is told by length and by figure.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Literal

from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from rebuildbook.calculators.volumetric import Kind, Volumetric
from rebuildbook.figures.style import (
    FAINT,
    PAGE_MM,
    SMALL,
    SOFT,
    new_figure,
    page_axes,
    styled,
)
from rebuildbook.units import number

_LEFT, _RIGHT, _ROW = 36.0, 14.0, 4.2  # mm: names, figures, a bar and its room
_BARS, _NAME = 6, 24  # bars and characters of a name, for letters cost most
_NAMES = {"air": "air", "liquid compression": "compression"}


@styled()
def leak_bars(result: Volumetric) -> Figure:
    """Draw what is lost: name, bar, share.

    Losses of nothing are left out, and past six the smallest are drawn as one. Leaks are dark,
    what the fluid itself takes is light. Raises ValueError where nothing is lost.
    """
    rows = [row for row in _rows(result) if row.volume > 0.0]
    if not rows:
        raise ValueError("nothing is lost; there is no share to draw")
    height = _ROW * len(rows)
    axes = page_axes(new_figure(PAGE_MM * 0.75, height))
    room = PAGE_MM * 0.75 - _LEFT - _RIGHT
    most = max(row.share for row in rows)
    for place, row in enumerate(rows):
        middle = height - (place + 0.5) * _ROW
        long = room * row.share / most
        corner = (_LEFT, middle - 0.3 * _ROW)
        bar = Rectangle(
            corner, long, 0.6 * _ROW, facecolor=SOFT if row.kind == "leak" else FAINT,
            clip_on=False, gid=f"bar-{row.name}",
        )  # fmt: skip
        axes.add_patch(bar)
        name = _NAMES.get(row.kind) or textwrap.shorten(row.name, _NAME, placeholder="…")
        axes.text(_LEFT - 1.5, middle, name, size=SMALL, ha="right", va="center")
        share = f"{number(100.0 * row.share, 2)} %"
        axes.text(_LEFT + long + 1.5, middle, share, size=SMALL, va="center", gid="figures")
    figure = axes.get_figure()
    assert isinstance(figure, Figure)  # noqa: S101
    return figure


@dataclass(frozen=True, slots=True)
class _Row:
    name: str
    kind: Kind | Literal["several"]
    share: float
    volume: float


def _rows(result: Volumetric) -> list[_Row]:
    losses, most = result.losses, _BARS
    many = len(losses) > most
    shown, rest = (losses[: most - 1], losses[most - 1 :]) if many else (losses, ())
    rows = [_Row(one.name, one.kind, one.share, one.volume) for one in shown]
    if rest:
        kinds = {one.kind for one in rest}
        rows.append(
            _Row(
                f"{len(rest)} smaller losses",
                kinds.pop() if len(kinds) == 1 else "several",
                sum(one.share for one in rest),
                sum(one.volume for one in rest),
            )
        )  # fmt: skip
    return rows
