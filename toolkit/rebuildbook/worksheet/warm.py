"""Load what a worksheet needs, so that processes forked afterwards begin with it."""

from __future__ import annotations

import importlib
import pkgutil

from rebuildbook import figures, worksheet


def warm() -> None:
    """Import every section and figure, and find the fonts that figures are drawn with."""
    for package in (worksheet, figures):
        for module in pkgutil.iter_modules(package.__path__, f"{package.__name__}."):
            importlib.import_module(module.name)
    from matplotlib.figure import Figure  # noqa: PLC0415

    from rebuildbook.figures.style import svg  # noqa: PLC0415

    figure = Figure(figsize=(1.0, 1.0))
    figure.text(0.5, 0.5, "a")
    svg(figure)
