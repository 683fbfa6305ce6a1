"""What every figure is held to: no words over others, none off the paper."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

Legible = Callable[..., None]


def _boxes(figure: Figure, texts: Iterable[Text], *, arrows: bool = True):
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    renderer = canvas.get_renderer()
    found = [
        (
            text.get_text(),
            text.get_window_extent(renderer) if arrows else Text.get_window_extent(text, renderer),
        )
        for text in texts
    ]
    assert found
    return found, canvas.get_width_height()


@pytest.fixture(scope="session")
def legible() -> Legible:
    """Check that words, with their arrows or without, stand apart to a pixel and on the paper."""

    def check(figure: Figure, texts: Iterable[Text], *, arrows: bool = True) -> None:
        boxes, (wide, high) = _boxes(figure, texts, arrows=arrows)
        for words, box in boxes:
            assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= wide + 1 and box.y1 <= high + 1, words
        for (words, one), (others, other) in itertools.combinations(boxes, 2):
            apart = (
                one.x1 <= other.x0 + 0.5 or other.x1 <= one.x0 + 0.5
                or one.y1 <= other.y0 + 1.0 or other.y1 <= one.y0 + 1.0
            )  # fmt: skip
            assert apart, (words, others)

    return check


@pytest.fixture(scope="session")
def drawing_legible() -> Legible:
    """Check the words of a drawing: on the paper, and their letters, if not their lines, apart."""

    def check(figure: Figure, texts: Iterable[Text]) -> None:
        boxes, (width, height) = _boxes(figure, texts)
        for words, box in boxes:
            assert box.x0 >= 0, words
            assert box.y0 >= 0, words
            assert box.x1 <= width, words
            assert box.y1 <= height, words
        for (first, one), (second, other) in itertools.combinations(boxes, 2):
            # boxes hold the font's full height; lines of the key may touch, not cover
            across = min(one.x1, other.x1) - max(one.x0, other.x0)
            up = min(one.y1, other.y1) - max(one.y0, other.y0)
            assert across <= 0 or up <= 0.3 * min(one.height, other.height), (first, second)

    return check
