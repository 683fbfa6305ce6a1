"""A figure leaves as SVG that is small, says what was written, and draws what was drawn."""

import re
from xml.etree import ElementTree

import numpy as np
import pytest

from rebuildbook.figures import style

_NAMESPACE = "{http://www.w3.org/2000/svg}"


@style.styled()
def drawn(words=(), lines=(), **how):
    """A figure with words on bare paper, and lines."""
    figure = style.new_figure(style.COLUMN_MM, 40.0)
    axes = style.page_axes(figure)
    for place, text in enumerate(words):
        axes.text(5.0, 5.0 + 6.0 * place, text, **how)
    for line in lines:
        axes.plot(*zip(*line, strict=True), color=style.INK)
    return figure


def read(figure, title=""):
    return ElementTree.fromstring(style.svg(figure, title))  # noqa: S314  (our own text)


@pytest.mark.parametrize(
    "text",
    [
        "<b>bold</b> & 'more'",
        'one id="x" href="#y" url(#z) style="fill: #aabbcc"',
        "<!-- hidden --> <metadata>m</metadata> <g></g>",
        r"$\foo$ and $5",
        "M 1 2 L 3 4 and 1.23456",
        "}:; text-anchor: start; xlink:href",
    ],
)
def test_words_are_shown_as_they_were_written(text):
    made = read(drawn([text]))
    assert [found.text for found in made.iter(f"{_NAMESPACE}text")] == [text]


def test_spaces_that_set_words_apart_are_kept():
    made = read(drawn(["  29.92 mm", "a  b"]))
    seen = [found.text for found in made.iter(f"{_NAMESPACE}text")]
    assert seen == ["\u00a0\u00a029.92 mm", "a\u00a0\u00a0b"]


def test_words_are_set_in_the_font_they_were_measured_in_or_one_as_wide():
    made = read(drawn(["words"], ha="right", weight="bold"))
    assert made.get("font-family") == "DejaVu Sans,Verdana,sans-serif"
    (words,) = made.iter(f"{_NAMESPACE}text")
    assert words.get("style").split(";") == [
        "font-weight:700", "font-size:7.5px", "text-anchor:end", f"fill:{style.INK}"
    ]  # fmt: skip


def points(text):
    """Every point of a drawing's paths, to a hundredth."""
    paths = re.findall(r' d="([^"]*)"', text)
    found = [float(number) for path in paths for number in re.findall(r"-?\d+(?:\.\d+)?", path)]
    return np.round(np.array(found).reshape(-1, 2), 2)


def test_lines_that_look_the_same_are_one_path_with_every_point():
    lines = [[(x, 2.0), (x + 2.0, 30.125), (x + 4.0, 7.0)] for x in (5.0, 20.0, 35.0)]
    figure = drawn(lines=lines)
    made = style.svg(figure)
    assert made.count("stroke-width:1.2") == 1
    height = 40.0 / style.MM_PER_INCH * 72.0
    expected = [(x * 72.0 / 25.4, height - y * 72.0 / 25.4) for line in lines for x, y in line]
    seen = points(made)
    assert len(seen) == 4 + len(expected)  # the paper's own corners first
    assert seen[4:] == pytest.approx(np.array(expected), abs=0.0051)


def test_a_title_is_said_and_escaped():
    made = read(drawn(["x"]), 'Gland <of> "ring" & rod')
    assert made.get("role") == "img"
    assert made.find(f"{_NAMESPACE}title").text == 'Gland <of> "ring" & rod'


def test_words_cost_little():
    figure = drawn(["upper inlet, lower inlet: 24.1 bar to 25.5 bar"] * 5)
    assert len(style.svg(figure)) < 1500
