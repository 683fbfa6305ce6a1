"""Pop readings drawn: marks at their values, words on the paper and apart."""

import numpy as np
import pytest

from rebuildbook.calculators.pop_test import PopTest, assess_pops
from rebuildbook.figures.pop_readings import pop_readings, pop_strip
from rebuildbook.figures.style import svg

BAR = 1e5


def verdict(*bars: float, **kept):
    return assess_pops(
        PopTest(readings=tuple(b * BAR for b in bars), set_pressure=10 * BAR, **kept)
    )


STUCK = verdict(11.5, 10.02, 10.0, 9.95, 10.1, reseats=tuple(b * BAR for b in (9, 8.9, 9.1, 9, 9)))
WIDE = verdict(10.2, 10.0, 9.6)
MANY = verdict(*[10.0 + 0.02 * (k % 5) for k in range(30)], reseats=(9 * BAR,) * 30)
HIGH = assess_pops(PopTest(readings=(690e5, 702e5, 699e5), set_pressure=700e5))
ALL = [STUCK, WIDE, MANY, HIGH, verdict(10.0), verdict(10.1, 10.1, 10.1)]


def shapes(axes, gid):
    return [line for line in axes.get_lines() if line.get_gid() == gid]


def texts(figure):
    found = [text for axes in figure.axes for text in axes.texts]
    for axes in figure.axes[1:]:
        found += [axes.xaxis.label, axes.yaxis.label]
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            found += [
                tick.label1
                for tick in axis.get_major_ticks()
                if low <= tick.get_loc() <= high and tick.label1.get_visible()
            ]
    return [text for text in found if text.get_text()]


@pytest.mark.parametrize("unit", ["bar", "psi", "kPa"])
@pytest.mark.parametrize("shown", ALL)
def test_no_words_overlap_or_leave_the_paper(legible, shown, unit):
    figure = pop_readings(shown, unit, "Relief valve of the slip pump, pops read on the bench")
    legible(figure, texts(figure))


def test_marks_stand_at_their_values():
    axes = pop_readings(STUCK).axes[1]
    (first,), (pops,) = shapes(axes, "first"), shapes(axes, "pops")
    assert list(first.get_ydata()) == pytest.approx([11.5])
    assert list(pops.get_xdata()) == [2, 3, 4, 5]
    assert list(pops.get_ydata()) == pytest.approx([10.02, 10.0, 9.95, 10.1])
    (mean,) = shapes(axes, "mean")
    assert mean.get_ydata()[0] == pytest.approx(np.mean([10.02, 10.0, 9.95, 10.1]))


def test_band_is_the_tolerance():
    axes = pop_readings(WIDE).axes[1]
    (band,) = [patch for patch in axes.patches if patch.get_gid() == "band"]
    low, high = band.get_extents().transformed(axes.transData.inverted()).intervaly
    assert (low, high) == pytest.approx((9.7, 10.3))


def test_interval_has_its_half_width_and_an_arrow_where_it_goes_on():
    axes = pop_readings(STUCK).axes[1]
    drawn = {c.get_gid(): c.get_segments()[0][:, 1] for c in axes.collections}
    assert np.ptp(drawn["interval-mean"]) == pytest.approx(2 * STUCK.doubt / BAR)
    assert np.ptp(drawn["interval-next"]) == pytest.approx(2 * STUCK.settled.next_half / BAR)
    assert not shapes(axes, "arrow")
    assert len(shapes(pop_readings(WIDE).axes[1], "arrow")) == 2


def test_reseats_have_a_strip_of_their_own():
    figure = pop_readings(STUCK)
    assert len(figure.axes) == 3
    (shut,) = shapes(figure.axes[2], "reseats")
    assert list(shut.get_ydata()) == pytest.approx([9, 8.9, 9.1, 9, 9])
    assert len(pop_readings(WIDE).axes) == 2


def test_the_answer_stands_in_words():
    words = " ".join(t.get_text() for t in pop_readings(STUCK).axes[0].texts)
    assert "Out of tolerance; first pop sticks." in words
    assert "Mean of 4 others" in words


def test_same_bytes_twice_and_no_other_units():
    assert svg(pop_readings(WIDE, "psi")) == svg(pop_readings(WIDE, "psi"))
    with pytest.raises(ValueError, match="no pressure unit"):
        pop_readings(WIDE, "N")


@pytest.mark.parametrize("shown", ALL)
def test_the_small_figure_has_its_marks_at_their_values_and_is_small(shown):
    figure = pop_strip(shown, "psi")
    (axes,) = figure.axes
    (pops,) = shapes(axes, "pops")
    stuck = 1 if shown.first_sticks else 0
    read = [pressure / 6894.757293168 for pressure in shown.test.readings]
    assert list(pops.get_ydata()) == pytest.approx(read[stuck:])
    assert [line.get_ydata()[0] for line in shapes(axes, "first")] == pytest.approx(read[:stuck])
    low, high = axes.get_ylim()
    assert low < min(read)
    assert max(read) < high
    assert len(svg(figure).encode()) < 10_000
    with pytest.raises(ValueError, match="no pressure unit"):
        pop_strip(shown, "N")
