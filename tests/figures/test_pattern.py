"""The pattern figure: all on the paper, nothing on top of another, the same bytes each time."""

import io
import itertools
import math
import re
import subprocess
import sys
from xml.etree import ElementTree

import matplotlib
import matplotlib.patches as shapes
import numpy as np
import pytest
import typst
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.image import imread
from matplotlib.text import Text

from rebuildbook.calculators.layout import (
    Layout,
    circle,
    manifold,
    oval,
    rectangle,
    row,
    two_screw,
)
from rebuildbook.calculators.tightening import Plan, tightening_plan
from rebuildbook.figures import style
from rebuildbook.figures.pattern import ordinal, tightening_pattern

LAYOUTS = [
    *(circle(count, 0.2) for count in (1, 2, 3, 4, 5, 6, 8, 12, 16, 24, 36, 48, 200)),
    circle(8, 0.2, math.pi / 8),
    two_screw(0.08),
    *(rectangle(c, r, 0.05 * c, 0.05 * r) for c, r in ((2, 2), (3, 2), (3, 3), (4, 3), (2, 5))),
    rectangle(8, 3, 0.6, 0.08),
    rectangle(20, 10, 1.0, 0.5),
    oval(10, 0.3, 0.15),
    oval(8, 0.1, 0.3),
    oval(36, 0.3, 0.1),
    *(row(count, 0.4) for count in (1, 2, 3, 6, 12, 36)),
    manifold(2, 4, 0.4, 0.08),
    manifold(3, 5, 0.4, 0.1),
    manifold(2, 18, 1.0, 0.05),
]


def _plan(layout: Layout, numbering="rotation", kind="cross") -> Plan:
    return tightening_plan(
        layout, kind, (0.3, 0.6, 1.0), setting=24.0, step=1.0, wrench_low=5.0, window_low=21.0,
        window_high=27.0, numbering=numbering,
    )  # fmt: skip


def _name(layout: Layout) -> str:
    return f"{layout.shape}-{layout.count}"


def _texts(figure: Figure) -> list[Text]:
    return [text for text in figure.axes[0].texts if text.get_text()]


def _corners(text: Text, renderer) -> list[tuple[float, float]]:
    """The corners of the written box, turned as the text is (pixels)."""
    turn = text.get_rotation()
    middle = text.get_transform().transform(text.get_position())
    text.set_rotation(0.0)
    box = text.get_window_extent(renderer)
    text.set_rotation(turn)
    cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    # the box's height is the font's; digits and small letters fill its middle 0.75
    half = 0.375 * box.height
    level = (box.y0 + box.y1) / 2.0
    flat = [(x, y) for x in (box.x0, box.x1) for y in (level - half, level + half)]
    return [
        (
            middle[0] + (x - middle[0]) * cos - (y - middle[1]) * sin,
            middle[1] + (x - middle[0]) * sin + (y - middle[1]) * cos,
        )
        for x, y in (flat[0], flat[1], flat[3], flat[2])
    ]


def _written(figure: Figure):
    canvas = FigureCanvasAgg(figure)
    figure.set_dpi(200)
    canvas.draw()
    renderer = canvas.get_renderer()
    return canvas, [(text.get_text(), _corners(text, renderer)) for text in _texts(figure)]


def _apart(one, other) -> bool:
    """Whether some edge of either box parts them (separating axes)."""
    for axis in (0, 1):  # level boxes settle most pairs
        first, second = [corner[axis] for corner in one], [corner[axis] for corner in other]
        if max(first) <= min(second) or max(second) <= min(first):
            return True
    for box in (one, other):
        for (x1, y1), (x2, y2) in itertools.pairwise([*box, box[0]]):
            first, second = (
                [(x - x1) * (y2 - y1) - (y - y1) * (x2 - x1) for x, y in corners]
                for corners in (one, other)
            )
            if max(first) <= min(second) or max(second) <= min(first):
                return True
    return False


@pytest.mark.parametrize("numbering", ["rotation", "order"])
@pytest.mark.parametrize("layout", LAYOUTS, ids=_name)
def test_nothing_written_overlaps_or_leaves_the_paper(layout: Layout, numbering: str) -> None:
    canvas, boxes = _written(tightening_pattern(_plan(layout, numbering), "Cover, eight studs"))
    width, height = canvas.get_width_height()
    for words, box in boxes:
        assert all(-1 <= x <= width + 1 and -1 <= y <= height + 1 for x, y in box), words
    for (first, one), (second, other) in itertools.combinations(boxes, 2):
        assert _apart(one, other), f"{first!r} lies on {second!r}"


@pytest.mark.parametrize("layout", LAYOUTS, ids=_name)
def test_rings_stand_clear_and_each_carries_its_number(layout: Layout) -> None:
    figure = tightening_pattern(_plan(layout))
    rings = [patch for patch in figure.axes[0].patches if isinstance(patch, shapes.Circle)]
    assert len(rings) == layout.count
    for one, other in itertools.combinations(rings, 2):
        assert math.dist(one.center, other.center) > one.radius + other.radius
    filled = [ring for ring in rings if ring.get_facecolor()[:3] != (1.0, 1.0, 1.0)]
    assert len(filled) == 1
    words = [text.get_text() for text in _texts(figure)]
    for number in range(1, layout.count + 1):
        assert words.count(str(number)) == 1
        assert words.count(ordinal(number)) == 1


@pytest.mark.parametrize("layout", LAYOUTS, ids=_name)
def test_no_order_is_written_on_a_ring_and_no_number_leaves_its_own(layout: Layout) -> None:
    figure = tightening_pattern(_plan(layout))
    _, boxes = _written(figure)
    rings = [patch for patch in figure.axes[0].patches if isinstance(patch, shapes.Circle)]
    if rings[0].radius < 1.0:
        return  # dots: their numbers stand outside
    millimetre = 200 / 25.4
    for words, box in boxes:
        for ring in rings:
            x, y = (side * millimetre for side in ring.center)
            beside = math.dist(
                (x, y),
                (min(max(x, box[0][0]), box[2][0]), min(max(y, box[0][1]), box[2][1])),
            )
            if not words.isdigit():
                assert beside > ring.radius * millimetre, words
            elif beside == 0.0:
                corner = max(math.dist((x, y), spot) for spot in box)
                assert corner < 1.05 * ring.radius * millimetre, words


@pytest.mark.parametrize("count", [3, 8, 36])
def test_each_position_is_written_beside_its_place_in_the_order(count: int) -> None:
    plan = _plan(circle(count, 0.2))
    figure = tightening_pattern(plan)
    spots = {text.get_text(): text.get_position() for text in _texts(figure)}
    for turn, number in enumerate(plan.order, start=1):
        beside = spots[ordinal(turn)]
        nearest = min(
            (str(other) for other in plan.order), key=lambda word: math.dist(spots[word], beside)
        )
        assert nearest == str(number)


def test_positions_keep_their_direction_on_paper() -> None:
    figure = tightening_pattern(_plan(circle(4, 0.2)))
    spots = {text.get_text(): text.get_position() for text in _texts(figure)}
    assert spots["1"][1] > spots["2"][1] > spots["3"][1]
    assert spots["4"][0] < spots["1"][0] < spots["2"][0]


@pytest.mark.parametrize("layout", [x for x in LAYOUTS if x.count <= 36], ids=_name)
def test_up_to_36_fasteners_fit_80_mm_and_can_be_read(layout: Layout) -> None:
    figure = tightening_pattern(_plan(layout))
    assert figure.get_size_inches()[0] * 25.4 == pytest.approx(80.0)
    assert min(text.get_size() for text in _texts(figure)) >= 4.5


def test_a_long_title_stays_on_the_paper() -> None:
    title = "Discharge manifold to fluid end, upper and lower row, studs 3/4-10 with washers"
    canvas, boxes = _written(tightening_pattern(_plan(circle(4, 0.2)), title))
    across = [x for words, box in boxes if words == title for x, _ in box]
    assert min(across) >= 0.0
    assert max(across) <= canvas.get_width_height()[0]


def test_numbered_by_order_one_number_says_both() -> None:
    words = [text.get_text() for text in _texts(tightening_pattern(_plan(circle(6, 0.2), "order")))]
    assert "1st" not in words
    assert sum(word.isdigit() for word in words) == 6


@pytest.mark.parametrize("kind", ["quadrant", "rotation"])
def test_other_orders_are_drawn_too(kind: str) -> None:
    plan = _plan(circle(10, 0.2), kind=kind)
    arrows = [
        patch
        for patch in tightening_pattern(plan).axes[0].patches
        if isinstance(patch, shapes.FancyArrowPatch)
    ]
    assert len(arrows) == 5  # four steps and the way of the last rounds


# style


def test_svg_is_the_same_each_time_also_in_another_process() -> None:
    code = (
        "import sys; sys.path.insert(0, 'tests/figures'); import test_pattern as t;"
        "sys.stdout.write(t.style.svg(t.tightening_pattern(t._plan(t.circle(8, 0.2)), 'Cover')))"
    )
    here = style.svg(tightening_pattern(_plan(circle(8, 0.2)), "Cover"))
    assert style.svg(tightening_pattern(_plan(circle(8, 0.2)), "Cover")) == here
    there = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout
    assert there == here


def test_svg_is_small_and_carries_no_date_nor_outside_address() -> None:
    text = style.svg(tightening_pattern(_plan(circle(8, 0.2)), "Cover"), "Tightening <pattern>")
    assert len(text.encode()) < 10_000
    assert ">last rounds</text>" in text  # words and not their outlines
    assert "metadata" not in text
    assert set(re.findall(r"https?://[^\"]+", text)) == {
        "http://www.w3.org/2000/svg",
    }
    assert "<title>Tightening &lt;pattern&gt;</title>" in text


def test_svg_names_resolve_and_differ_between_figures() -> None:
    names = []
    for count in (8, 12):
        text = style.svg(tightening_pattern(_plan(circle(count, 0.2))))
        ElementTree.fromstring(text)  # noqa: S314 - our own text
        made = re.findall(r' id="([^"]+)"', text)
        assert len(made) == len(set(made))
        assert set(re.findall(r'href="#([^"]+)"', text)) <= set(made)
        names.append(set(made))
    assert not names[0] & names[1]


def test_compacting_moves_no_letter_or_line() -> None:
    """Rasterised by the typesetter, the compact element equals matplotlib's own but for edges."""
    figure = tightening_pattern(_plan(circle(8, 0.2)), "Cover")
    out = io.StringIO()
    with style.styled():
        figure.savefig(out, format="svg")
    page = '#set page(width: auto, height: auto, margin: 0pt)\n#image(bytes("{}"), format: "svg")'
    pictures = []
    for text in (out.getvalue(), style.svg(figure)):
        source = page.format(text.replace("\\", "\\\\").replace('"', '\\"')).encode()
        pictures.append(imread(io.BytesIO(typst.compile(source, format="png", ppi=144.0))))
    first, second = pictures
    assert first.shape == second.shape
    assert first.min() < 0.2
    assert np.abs(first - second).mean() < 0.002
    assert np.mean(np.abs(first - second) > 0.25) < 0.001


def test_a_figure_needs_room() -> None:
    with pytest.raises(ValueError, match="no room"):
        style.new_figure(0.0, 50.0)


def test_styled_leaves_no_trace() -> None:
    before = dict(matplotlib.rcParams)
    tightening_pattern(_plan(circle(4, 0.2)))
    assert dict(matplotlib.rcParams) == before
