"""The sweep's figures: every number where it belongs, levels by hatch and word, no words astray."""

import matplotlib
import numpy as np
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import QuadMesh
from matplotlib.text import Text

from rebuildbook.figures.style import svg
from rebuildbook.figures.sweep import Curve, Scale, Strip, fitted, stretches, sweep_curves
from rebuildbook.figures.sweep_map import sweep_map

NAN = float("nan")
TORQUE = Scale("joints.inlet-flange.torque (middle of the window)", "N*m", (5.0, 10.0, 20.0, 25.0))
WORDS = Scale("joints.cover.condition", "", ("oiled", "stainless steel, anti-seize paste", "dry"))
LONG = "Torque at the fastener over the scale of the wrench, with the longest extension of the shop"


def curve(count: int, unit: str = "kN", name: str = "Least preload", gap: bool = False) -> Curve:
    values = tuple(1.5 + place**1.5 for place in range(count))
    return Curve("preload.inlet-flange.least", name, unit, (NAN, *values[1:]) if gap else values)


def strips(count: int) -> list[Strip]:
    looks = ["hold", "query", "clear", "", "error"]
    return [
        Strip(f"service.joint-{number}.shut", tuple(looks[(number + p) % 5] for p in range(count)))
        for number in range(3)
    ]


MANY = Scale("duty.test_pressure", "bar", tuple(np.linspace(4.0, 20.0, 50).tolist()))
FIGURES = {
    "one line": lambda: sweep_curves(TORQUE, [curve(4)], strips(4), title="What-if on job A"),
    "six lines": lambda: sweep_curves(
        TORQUE, [curve(4, unit) for unit in ("kN", "", "%", "N*m", "MPa", "mm^2")], strips(4),
        title="What-if on job A", note="changed from the files as well: " + "a.b=3 mm; " * 30,
    ),
    "fifty points": lambda: sweep_curves(MANY, [curve(50)] * 3, [Strip("x.y", ("hold",) * 50)]),
    "words": lambda: sweep_curves(WORDS, [curve(3)] * 2, strips(3), title="What-if on job A"),
    "long words": lambda: sweep_curves(
        Scale(LONG * 2, "", tuple(f"{LONG} {k}" for k in range(7))), [curve(7, name=LONG * 2)],
        strips(7)[:1],
    ),
    "a gap": lambda: sweep_curves(TORQUE, [curve(4, gap=True)], []),
    "no change": lambda: sweep_curves(TORQUE, [Curve("a.b", "Pull", "N", (7.0,) * 4)], strips(4)),
    "levels only": lambda: sweep_curves(TORQUE, [], strips(4)),
    "map": lambda: grid(12, 9),
    "small map": lambda: grid(2, 2),
    "map of words": lambda: word_map(),  # noqa: PLW0108  (defined below)
}  # fmt: skip


def grid(columns: int, rows: int):
    x, y = np.linspace(5.0, 25.0, columns), np.linspace(4.0, 20.0, rows)
    numbers = np.add.outer(x, 2.0 * y)
    levels = np.where(numbers < 30.0, "clear", np.where(numbers < 45.0, "query", "hold"))
    return sweep_map(
        Scale("joints.inlet-flange.torque (middle of the window)", "N*m", tuple(x.tolist())),
        Scale("duty.test_pressure", "bar", tuple(y.tolist())),
        Curve("a.inlet-flange.b", "Least preload", "kN", tuple(numbers.ravel().tolist())),
        Strip("Hatch: worst of service.inlet-flange.shut", tuple(levels.ravel().tolist())),
        title="What-if on job TW-2611",
        note="changed from the files as well: tools.inlet-flange.setting=",
    )


def share_over(limit: float) -> float:
    """Share of the rectangle 5 to 25 by 4 to 20 in which x + 2y is over a limit, by slices."""
    slices = [25.0 + 2.0 * y - limit for y in np.linspace(4.0, 20.0, 4001)]
    return sum(max(0.0, min(20.0, one)) for one in slices) / len(slices) / 20.0


def word_map():
    return sweep_map(
        TORQUE, WORDS, Curve("a.b", "Least preload", "kN", (*range(11), NAN)),
        Strip("Hatch: a.b", ("hold",) * 6 + ("clear",) * 5 + ("error",)), title="What-if",
    )  # fmt: skip


def texts(figure) -> list[Text]:
    """What is written, ticks outside the axes' limits and hidden labels apart."""
    found = list(figure.texts)
    for legend in figure.legends:
        found += legend.get_texts()
    for axes in figure.axes:
        found += [*axes.texts, axes.xaxis.label, axes.yaxis.label]
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in axis.get_major_ticks():
                inside = low - 1e-9 <= tick.get_loc() <= high + 1e-9
                found += [text for text in (tick.label1, tick.label2) if inside]
    return [text for text in found if text.get_text() and text.get_visible()]


def drawn(figure):
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return canvas.get_renderer()


@pytest.mark.parametrize("case", FIGURES)
def test_no_words_overlap_or_leave_the_paper(legible, case):
    figure = FIGURES[case]()
    legible(figure, texts(figure), arrows=False)


def test_every_number_is_drawn_at_its_place_and_gaps_stay_open():
    figure = sweep_curves(TORQUE, [curve(4), curve(4, gap=True)], strips(4))
    for axes, given in zip(figure.axes, (curve(4), curve(4, gap=True)), strict=False):
        (line,) = [line for line in axes.lines if line.get_gid() == given.id]
        assert line.get_xdata().tolist() == list(TORQUE.values)
        assert line.get_ydata() == pytest.approx(np.array(given.values), nan_ok=True)
        low, high = axes.get_ylim()
        assert low < np.nanmin(given.values) < np.nanmax(given.values) < high
        assert axes.get_xlim() == (5.0, 25.0)
        assert axes.get_ylabel() == "kN"


def test_a_level_gives_over_half_way_between_two_points():
    strip = Strip("x", ("hold", "hold", "query", "clear"))
    wanted = [("hold", 5.0, 15.0), ("query", 15.0, 22.5), ("clear", 22.5, 25.0)]
    assert stretches(TORQUE, strip) == wanted
    axes = sweep_curves(TORQUE, [curve(4)], [strip]).axes[1]
    boxes = {
        patch.get_gid(): (patch.get_x(), patch.get_x() + patch.get_width())
        for patch in axes.patches
    }
    assert boxes == {f"level-{level}": (begin, end) for level, begin, end in wanted}


def test_levels_are_told_by_hatch_and_by_word():
    strip = Strip("x", ("hold", "query", "clear", "error"))
    axes = sweep_curves(TORQUE, [], [strip, Strip("y", ("",) * 4)]).axes
    hatches = {patch.get_gid(): patch.get_hatch() for one in axes for patch in one.patches}
    assert len(set(hatches.values())) == 5
    assert hatches["level-clear"] in {None, ""}
    words = {text.get_text() for one in axes for text in one.texts}
    assert {"hold", "query", "clear", "not worked out", "not raised"} <= words | {"not worked out"}
    assert {"hold", "query", "clear", "not raised"} <= words


def test_a_word_that_does_not_fit_is_shortened_and_then_left_out():
    assert [fitted("query", room)[0] for room in (40.0, 8.0, 4.0, 1.0)] == [
        "query", "query", "Q", "",
    ]  # fmt: skip
    assert fitted("query", 8.0)[1] < fitted("query", 40.0)[1]


def test_changes_are_ruled_through_the_panels_unless_they_are_many():
    def ruled(strip: Strip, scale: Scale = TORQUE) -> list[float]:
        count = len(scale.values)
        axes = sweep_curves(scale, [curve(count)], [strip]).axes[0]
        return [line.get_xdata()[0] for line in axes.lines if line.get_gid() is None]

    assert ruled(Strip("x", ("hold", "hold", "query", "clear"))) == [15.0, 22.5]
    assert ruled(Strip("x", ("hold", "clear") * 25), MANY) == []


def test_the_map_shows_every_number_in_its_cell():
    axes = word_map().axes[0]
    (mesh,) = [found for found in axes.collections if isinstance(found, QuadMesh)]
    shown = np.ma.asarray(mesh.get_array()).reshape(3, 4)
    # the second field changes fastest, so the points run up the columns
    assert shown.filled(-1.0).tolist() == [[0, 3, 6, 9], [1, 4, 7, 10], [2, 5, 8, -1]]
    assert axes.get_xlim() == (5.0, 25.0)
    assert [text.get_text() for text in axes.get_yticklabels()] == [
        "oiled", "stainless\nsteel, anti-\nseize paste", "dry",
    ]  # fmt: skip


def test_the_map_hatches_and_names_its_levels():
    figure = grid(40, 30)
    axes = figure.axes[0]
    area = dict.fromkeys(("level-hold", "level-query"), 0.0)
    for patch in axes.patches:
        assert patch.get_hatch()
        area[patch.get_gid()] += patch.get_width() * patch.get_height()
    whole = 20.0 * 16.0
    high, middle = share_over(45.0), share_over(30.0) - share_over(45.0)
    assert area["level-hold"] / whole == pytest.approx(high, abs=0.02)
    assert area["level-query"] / whole == pytest.approx(middle, abs=0.02)
    words = [text.get_text() for text in axes.texts if text.get_gid() == "word"]
    assert sorted(words) == ["clear", "hold", "query"]
    assert [text.get_text() for text in figure.legends[0].get_texts()] == ["hold", "query", "clear"]


def test_a_word_stands_in_its_own_level():
    axes = grid(40, 30).axes[0]
    for text in axes.texts:
        if text.get_gid() == "word":
            x, y = text.get_position()
            total = x + 2.0 * y
            level = "clear" if total < 30.0 else "query" if total < 45.0 else "hold"
            assert text.get_text() == level


def test_a_map_without_numbers_still_shows_the_levels():
    figure = sweep_map(
        TORQUE, WORDS, Curve("", "no number of the worksheet changes", "", (NAN,) * 12),
        Strip("Hatch", ("hold",) * 12),
    )  # fmt: skip
    assert len(figure.axes) == 1
    assert [text.get_text() for text in figure.axes[0].texts] == ["hold"]


def test_what_does_not_fit_is_refused():
    with pytest.raises(ValueError, match="nothing to draw"):
        sweep_curves(TORQUE, [], [])
    with pytest.raises(ValueError, match=r"7 lines and 0 findings given; at most 6"):
        sweep_curves(TORQUE, [curve(4)] * 7, [])
    with pytest.raises(ValueError, match="4 values and 4 levels do not fill a map of 4 by 3"):
        sweep_map(TORQUE, WORDS, curve(4), Strip("x", ("hold",) * 4))


def test_nothing_global_is_changed_and_the_same_figure_has_the_same_bytes():
    before = dict(matplotlib.rcParams)
    for case in ("six lines", "map"):
        assert svg(FIGURES[case]()) == svg(FIGURES[case]())
    assert dict(matplotlib.rcParams) == before
