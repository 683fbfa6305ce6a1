"""The drawings of an assembly: words apart, arrows under no box, every thing in its place."""

import itertools

import pytest
from matplotlib.patches import FancyArrowPatch, Rectangle

from rebuildbook.calculators.assembly import levels
from rebuildbook.figures.assembly import Box, Item, assembly_graph, exploded_strip
from rebuildbook.figures.style import PAGE_MM, svg

AFTER = {
    "dress-piston": [],
    "clamp-piston": ["dress-piston"],
    "set-balls": [],
    "cap-chambers": ["set-balls"],
    "fill-box": [],
    "enter-piston": ["clamp-piston", "fill-box"],
    "close-cylinder": ["enter-piston", "clamp-piston"],
    "mount-motor-on-its-four-studs": ["close-cylinder"],
    "hang-chests": ["close-cylinder", "cap-chambers"],
    "nip-gland": ["mount-motor-on-its-four-studs"],
    "turn-over": ["nip-gland", "hang-chests", "cap-chambers"],
}
STATION = dict.fromkeys(AFTER, "stand") | {
    "dress-piston": "rod", "clamp-piston": "rod", "set-balls": "chest", "cap-chambers": "chest",
}  # fmt: skip
CHAIN = {f"step-{n}": [f"step-{n - 1}"] if n else [] for n in range(40)}


def boxes_of(after, station) -> list[Box]:
    level = levels(after)
    return [
        Box(number, name, station[name], level[name], joint=number % 2 == 0, hold_point=number == 2)
        for number, name in enumerate(after, 1)
    ]


BOXES = boxes_of(AFTER, STATION)
LONG = boxes_of(CHAIN, dict.fromkeys(CHAIN, "bench"))
ITEMS = [
    Item(kind, f"{kind}-{step}", step)
    for step in range(1, 9)
    for kind in ("part", "ring", "seal", "check", "joint")[: 1 + step % 5]
]


def steps(figure) -> dict[str, Rectangle]:
    return {
        p.get_gid(): p for p in figure.axes[0].patches if isinstance(p, Rectangle) and p.get_gid()
    }


def arrows(figure) -> dict[str, FancyArrowPatch]:
    return {p.get_gid(): p for p in figure.axes[0].patches if isinstance(p, FancyArrowPatch)}


@pytest.mark.parametrize(("boxes", "after"), [(BOXES, AFTER), (LONG, CHAIN), (BOXES[:1], {})])
def test_words_of_the_graph_stand_apart(boxes, after, drawing_legible):
    after = after or {boxes[0].name: []}
    figure = assembly_graph(boxes, after)
    drawing_legible(figure, figure.axes[0].texts)


@pytest.mark.parametrize("items", [ITEMS, ITEMS[:1], ITEMS * 3])
def test_words_of_the_strip_stand_apart(items, drawing_legible):
    figure = exploded_strip(items)
    drawing_legible(figure, figure.axes[0].texts)


def test_every_step_and_every_needed_arrow_is_drawn():
    figure = assembly_graph(BOXES, AFTER)
    assert set(steps(figure)) == {f"step {box.number}" for box in BOXES}
    # two are said by others: the clamp before the cylinder, the caps before the turn over
    wanted = {(b, name) for name, befores in AFTER.items() for b in befores}
    wanted -= {("clamp-piston", "close-cylinder"), ("cap-chambers", "turn-over")}
    assert set(arrows(figure)) == {f"{before} to {name}" for before, name in wanted}


@pytest.mark.parametrize(("boxes", "after"), [(BOXES, AFTER), (LONG, CHAIN)])
def test_arrows_run_to_the_right_and_under_no_box(boxes, after):
    figure = assembly_graph(boxes, after)
    number = {box.name: box.number for box in boxes}
    rectangles = steps(figure)
    for gid, arrow in arrows(figure).items():
        before, _, name = gid.partition(" to ")
        ends = {f"step {number[before]}", f"step {number[name]}"}
        points = arrow._path_original.vertices
        assert points[0][0] < points[-1][0]
        for other, box in rectangles.items():
            for share in range(0, 101):
                for (x0, y0), (x1, y1) in itertools.pairwise(points):
                    x, y = x0 + (x1 - x0) * share / 100, y0 + (y1 - y0) * share / 100
                    inside = (
                        box.get_x() < x < box.get_x() + box.get_width()
                        and box.get_y() < y < box.get_y() + box.get_height()
                    )
                    assert not inside or other in ends, (gid, other)


def test_boxes_stand_by_level_from_left_to_right_and_in_their_lane():
    rectangles = steps(assembly_graph(BOXES, AFTER))
    places = {box.name: rectangles[f"step {box.number}"] for box in BOXES}
    for one in BOXES:
        for other in BOXES:
            if one.level < other.level:
                assert places[one.name].get_x() < places[other.name].get_x()
    lowest_rod = min(places[b.name].get_y() for b in BOXES if b.station == "rod")
    highest_chest = max(places[b.name].get_y() for b in BOXES if b.station == "chest")
    assert highest_chest < lowest_rod


def test_a_joint_and_a_hold_point_are_told_without_colour():
    figure = assembly_graph(BOXES, AFTER)
    widths = {box.joint: steps(figure)[f"step {box.number}"].get_linewidth() for box in BOXES}
    assert widths[True] > 2 * widths[False]
    corners = [p for p in figure.axes[0].patches if type(p).__name__ == "Polygon"]
    assert len(corners) == sum(box.hold_point for box in BOXES)


def test_drawings_keep_to_the_page_and_are_small():
    for figure in (assembly_graph(BOXES, AFTER), exploded_strip(ITEMS)):
        assert figure.get_size_inches()[0] * 25.4 == pytest.approx(PAGE_MM)
        assert len(svg(figure).encode()) < 20_000


def test_nothing_is_refused():
    with pytest.raises(ValueError, match="no step"):
        assembly_graph([], {})
    with pytest.raises(ValueError, match="no item"):
        exploded_strip([])
