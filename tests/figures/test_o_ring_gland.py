"""The gland drawn: to scale, area kept, all on the paper, nothing written on top of another."""

import matplotlib.patches as shapes
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from matplotlib.figure import Figure

from rebuildbook.calculators.o_ring import assess_o_ring
from rebuildbook.calculators.o_ring_gland import FaceGland, RadialGland
from rebuildbook.calculators.o_ring_sizes import limits, o_ring, plus_minus
from rebuildbook.figures import style
from rebuildbook.figures.o_ring_gland import o_ring_gland, squeezed_outline

RING = o_ring("AS568-214")


def _face(low: float, high: float, width: float, wall: float, side: str = "inside") -> FaceGland:
    return FaceGland(limits(low, high), plus_minus(width, 0.1e-3), plus_minus(wall, 0.1e-3), side)


def _radial(kind: str, groove: float, mate: float, width: float, **more) -> RadialGland:
    sizes = (plus_minus(groove, 0.03e-3), plus_minus(mate, 0.03e-3), plus_minus(width, 0.1e-3))
    return RadialGland(kind, *sizes, **more)


GLANDS = {
    "face": (_face(2.57e-3, 2.72e-3, 4.7e-3, 32e-3), 0.0),
    "vacuum": (_face(2.57e-3, 2.72e-3, 4.9e-3, 25.4e-3, "outside"), 0.0),
    "piston": (_radial("male", 25.3e-3, 31.3e-3, 4.9e-3, reciprocating=True), 0.1e-3),
    "rod": (_radial("female", 31.6e-3, 25.6e-3, 4.9e-3, reciprocating=True), 0.1e-3),
    "narrow": (_face(2.57e-3, 2.72e-3, 3.9e-3, 32e-3), 0.0),
    "overfull": (_face(2.57e-3, 2.72e-3, 3.4e-3, 32e-3), 0.0),
    "wide": (_radial("male", 25.3e-3, 31.3e-3, 14e-3), 0.0),
    "loose": (_face(3.7e-3, 3.8e-3, 4.9e-3, 32e-3), 0.0),
}
each = pytest.mark.parametrize("name", GLANDS)


def _draw(name: str, system: str = "metric") -> Figure:
    gland, clearance = GLANDS[name]
    found = assess_o_ring(RING, gland)
    return o_ring_gland(RING, gland, found, clearance, system, f"Gland, {name}")


def _patch(figure: Figure, gid: str):
    (found,) = [patch for patch in figure.axes[0].patches if patch.get_gid() == gid]
    return found


def _words(figure: Figure) -> str:
    return " ".join(text.get_text() for text in figure.axes[0].texts)


def _area(outline: np.ndarray) -> float:
    x, y = outline.T
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2.0


@given(st.floats(2e-6, 40e-6), st.floats(1e-3, 6e-3), st.floats(1e-3, 12e-3))
def test_the_squeezed_section_keeps_its_area(area: float, depth: float, width: float) -> None:
    assume(area <= width * depth)  # else there is more rubber than room
    assume(np.sqrt(4.0 * area / np.pi) <= width)  # else the ring does not go into the groove
    outline = squeezed_outline(area, depth, width)
    assert _area(outline) == pytest.approx(area, rel=2e-3)
    assert outline[:, 1].min() == pytest.approx(0.0, abs=1e-9)
    assert outline[:, 1].max() <= depth + 1e-9


def test_more_rubber_than_room_is_drawn_to_the_walls() -> None:
    outline = squeezed_outline(20e-6, 2e-3, 5e-3)
    assert _area(outline) == pytest.approx(10e-6)


@each
def test_ring_and_groove_are_drawn_to_one_scale(name: str) -> None:
    figure, (gland, _) = _draw(name), GLANDS[name]
    found = assess_o_ring(RING, gland)
    free, squeezed = _patch(figure, "free"), _patch(figure, "squeezed")
    scale = 2.0 * free.radius / found.section.nominal
    groove = _patch(figure, "groove").get_xy()
    assert groove[4][0] - groove[3][0] == pytest.approx(gland.width.nominal * scale)
    mate = _patch(figure, "mate").get_xy()
    assert abs(mate[0][1] - groove[3][1]) == pytest.approx(found.depth.nominal * scale)
    outline = squeezed.get_xy()[:-1] / scale
    room = gland.width.nominal * found.depth.nominal
    assert _area(outline) == pytest.approx(min(found.fill.nominal, 1.0) * room, rel=2e-3)
    assert abs(free.center[1] - groove[3][1]) == pytest.approx(free.radius)


@each
def test_the_squeezed_ring_stays_in_the_groove_against_the_wall_away_from_the_pressure(
    name: str,
) -> None:
    figure = _draw(name)
    groove, ring = _patch(figure, "groove").get_xy(), _patch(figure, "squeezed").get_xy()
    assert ring[:, 0].max() == pytest.approx(groove[4][0])
    assert ring[:, 0].min() >= groove[3][0] - 1e-6


def test_the_gap_is_drawn_to_scale() -> None:
    figure = _draw("piston")
    groove, mate = _patch(figure, "groove").get_xy(), _patch(figure, "mate").get_xy()
    scale = (groove[4][0] - groove[3][0]) / 4.9e-3
    assert abs(mate[0][1] - groove[1][1]) == pytest.approx(0.1e-3 * scale)


@pytest.mark.parametrize("system", ["metric", "us"])
@each
def test_nothing_written_overlaps_or_leaves_the_paper(
    drawing_legible, name: str, system: str
) -> None:
    figure = _draw(name, system)
    assert figure.get_size_inches()[0] * 25.4 == pytest.approx(80.0)
    drawing_legible(figure, [text for text in figure.axes[0].texts if text.get_text()])


@each
def test_all_parts_stay_on_the_paper(name: str) -> None:
    figure = _draw(name)
    width, height = figure.get_size_inches() * 25.4
    for patch in figure.axes[0].patches:
        if isinstance(patch, shapes.Polygon):
            corners = patch.get_xy()
        elif isinstance(patch, shapes.Circle):
            corners = np.add(patch.center, [[-patch.radius] * 2, [patch.radius] * 2])
        else:
            continue
        assert corners.min() >= 0.0
        assert corners[:, 0].max() <= width
        assert corners[:, 1].max() <= height


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("face", "no gap"),
        ("piston", "gap 0.100 mm"),
        ("rod", "larger than the outer wall"),
        ("vacuum", "stretch 1.6 %"),
        ("overfull", "more rubber than room"),
        ("loose", "does not touch"),
        ("face", "AS568-214"),
    ],
)
def test_the_key_says_what_matters(name: str, words: str) -> None:
    assert words in _words(_draw(name))


def test_the_key_carries_values_worked_by_hand() -> None:
    """Section 3.531 free in the middle of 2.57 to 2.72 mm: squeeze 0.886 mm, 25.1 %."""
    gland = _face(2.57e-3, 2.72e-3, 4.9e-3, 32.2e-3)
    figure = o_ring_gland(RING, gland, assess_o_ring(RING, gland))
    assert "squeeze 0.886 mm, 25.1 %" in _words(figure)


def test_svg_is_small_and_the_same_each_time() -> None:
    text = style.svg(_draw("piston"), "Gland")
    assert style.svg(_draw("piston"), "Gland") == text
    assert len(text.encode()) < 60_000


def test_what_cannot_be_drawn_is_refused() -> None:
    gland, _ = GLANDS["face"]
    found = assess_o_ring(RING, gland)
    with pytest.raises(ValueError, match="metric or us"):
        o_ring_gland(RING, gland, found, 0.0, "imperial")
    with pytest.raises(ValueError, match="leaves no groove"):
        o_ring_gland(RING, gland, found, 5e-3)


@each
def test_without_words_the_drawing_is_the_same_and_small(name):
    gland, clearance = GLANDS[name]
    found = assess_o_ring(RING, gland)
    bare = o_ring_gland(RING, gland, found, clearance, words=False)
    told = o_ring_gland(RING, gland, found, clearance)
    shorter = [text.get_text() for text in bare.axes[0].texts]
    assert set(shorter) < {text.get_text() for text in told.axes[0].texts}
    areas = [_area(_patch(figure, "squeezed").get_xy()) for figure in (bare, told)]
    assert areas[0] == pytest.approx(areas[1], rel=0.01)
    assert len(style.svg(bare)) < 5_000 < len(style.svg(told)) < 10_000
