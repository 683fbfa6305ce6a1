"""Axes that make no more than they show: a worksheet has a dozen figures, and ticks cost the most.

Matplotlib's own axes make a tick when they are set up, once more for each list of ticks that a
setting touches, and copy the first tick's looks to every other. Here a tick is made when it is
drawn, with the settings of its axis, and a bare page has none. What is drawn is the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import matplotlib
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.axis import Tick, XAxis, YAxis
from matplotlib.figure import Figure
from matplotlib.text import Text

_LISTS = ("majorTicks", "minorTicks")


def _look(axis: str, which: str) -> dict[str, Any]:
    """Looks of ticks as they are set now: one that is drawn later may find other settings."""
    now: Any = matplotlib.rcParams
    name, colour = f"{axis}tick.{which}", now[f"{axis}tick.labelcolor"]
    return {
        "length": now[f"{name}.size"],
        "width": now[f"{name}.width"],
        "pad": now[f"{name}.pad"],
        "color": now[f"{axis}tick.color"],
        "labelsize": now[f"{axis}tick.labelsize"],
        "labelcolor": now[f"{axis}tick.color"] if colour == "inherit" else colour,
        "grid_color": now["grid.color"],
        "grid_linestyle": now["grid.linestyle"],
        "grid_linewidth": now["grid.linewidth"],
    }


class _Late:
    """Mixed into an axis: its ticks are made when they are drawn, and are made ready then."""

    def set_tick_params(self: Any, *args: Any, **settings: Any) -> None:
        """Keep the settings for the ticks to come; those there are take them at once."""
        with_none = [name for name in _LISTS if name not in self.__dict__]
        self.__dict__.update((name, []) for name in with_none)
        super().set_tick_params(*args, **settings)  # type: ignore[misc]
        for name in with_none:
            self.__dict__.pop(name, None)

    def set_clip_path(self: Any, path: Any, transform: Any = None) -> None:
        """Clip the axis and the ticks there are; a tick to come asks for the axes' own patch."""
        Artist.set_clip_path(self, path, transform)
        for name in _LISTS:
            for tick in self.__dict__.get(name, ()):
                tick.set_clip_path(path, transform)

    def _get_tick(self: Any, major: bool) -> Tick:
        tick: Tick = super()._get_tick(major)  # type: ignore[misc]
        tick.set_clip_path(self.axes.patch)
        return tick

    def _copy_tick_props(self, src: Tick, dest: Tick) -> None:
        """Leave a new tick as it is: it has been made with the settings of its axis."""


class _LateX(_Late, XAxis):
    pass


class _LateY(_Late, YAxis):
    pass


class PlotAxes(Axes):
    """Axes with ticks that are alike along each axis, in the look they were set up in."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **settings)
        for axis in ("x", "y"):
            for which in ("major", "minor"):
                self.tick_params(axis, which=which, **_look(axis, which))

    def _init_axis(self) -> None:
        self.xaxis = _LateX(self, clear=False)
        self.yaxis = _LateY(self, clear=False)
        for names, axis in ((("bottom", "top"), self.xaxis), (("left", "right"), self.yaxis)):
            for name in names:
                self.spines[name].register_axis(axis)

    def words(self) -> Iterator[Text]:
        """All words there are by now; ticks that are not made yet have none."""
        yield from self.texts
        yield from (self.title, self._left_title, self._right_title)  # type: ignore[attr-defined]
        for axis in (self.xaxis, self.yaxis):
            yield from (axis.label, axis.offsetText)
            for name in _LISTS:
                for tick in axis.__dict__.get(name, ()):
                    yield from (tick.label1, tick.label2)
        legend = self.get_legend()
        if legend is not None:
            yield from legend.get_texts()


class BareAxes(PlotAxes):
    """Axes without ticks and spines, whose limits are set and not sought: a page to draw on."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **settings)
        self.set_axis_off()

    def _update_patch_limits(self, patch: Any) -> None:
        """Look for no limits: they are given."""

    def _update_line_limits(self, line: Any) -> None:
        """Look for no limits: they are given."""

    def _update_collection_limits(self, collection: Any) -> None:
        """Look for no limits: they are given."""


class Sheet(Figure):
    """A figure whose axes are such ones."""

    def add_axes(self, *args: Any, **settings: Any) -> Any:
        """Add axes in a box of shares of the figure; see matplotlib's own."""
        return super().add_axes(*args, **{"axes_class": PlotAxes, **settings})
