"""Pop readings drawn: marks at their values, the figure small."""

import pytest

from rebuildbook.calculators.pop_test import PopTest, assess_pops
from rebuildbook.figures.pop_readings import pop_strip
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


@pytest.mark.parametrize("shown", ALL)
def test_the_figure_has_its_marks_at_their_values_and_is_small(shown):
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
