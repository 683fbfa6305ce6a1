"""Unit mix-up figure: rows in the order given, places by powers, words apart."""

import math

import pytest

from rebuildbook.figures.unit_mixup import MixUpPicture, Reading, unit_mixup

FACTORS = {"N·m": 1.0, "ft·lbf": 1.3558, "in·lbf": 0.11298, "kgf·m": 9.80665}


def picture(middle=20e3, opens=5e3, strips=60e3, meant="N·m", words="30 to 37", extra=()):
    readings = tuple(
        Reading(
            unit,
            f"{words} {unit}",
            0.7 * middle * factor,
            middle * factor,
            1.5 * middle * factor,
            "yields, may strip" if factor > 5 else "holds",
            unit == meant,
            0.5 < factor < 5,
        )
        for unit, factor in (*FACTORS.items(), *extra)
    )
    return MixUpPicture(readings, opens, 37e3, strips, ("kN", "lbf"))


CASES = [
    (picture(), picture(26e3)),
    (picture(opens=None, strips=None), picture()),
    (picture(opens=36e3, strips=37.2e3), picture()),
    (picture(200.0, opens=20.0), picture(1e6)),
    (picture(words="1118.5 to 1234.25", meant="kgf·m"), picture()),
    (picture(extra=(("ozf·in", 0.00706),), meant="ozf·in"), picture()),
]


@pytest.mark.parametrize(("after", "before"), CASES)
def test_words_stand_apart_and_on_the_paper(after, before, legible):
    figure = unit_mixup(after, before)
    legible(figure, figure.axes[0].texts)


def ranges(figure):
    return [line for line in figure.axes[0].lines if line.get_gid() == "range"]


def test_equal_factors_are_equal_distances():
    heavy = [line for line in ranges(unit_mixup(picture(), picture())) if line.get_lw() > 3]
    metre, foot, inch, kilo = (line.get_xdata()[0] for line in heavy)
    per_power = (kilo - metre) / math.log(9.80665)
    assert foot - metre == pytest.approx(per_power * math.log(1.3558))
    assert metre - inch == pytest.approx(-per_power * math.log(0.11298))


def test_each_row_has_its_range_before_and_after():
    figure = unit_mixup(picture(26e3), picture(20e3))
    found = ranges(figure)
    assert len(found) == 8
    for before, after in zip(found[::2], found[1::2], strict=True):
        assert before.get_xdata()[0] < after.get_xdata()[0]
        assert before.get_lw() < after.get_lw()


def test_outcome_and_plausibility_are_words():
    words = {text.get_text() for text in unit_mixup(picture(), picture()).axes[0].texts}
    assert {"as written", "plausible", "not plausible", "yields, may strip", "holds"} <= words


def test_past_a_limit_is_hatched_on_both_sides():
    patches = [p for p in unit_mixup(*CASES[0]).axes[0].patches if p.get_gid() == "past"]
    assert len(patches) == 2
    assert len({patch.get_hatch() for patch in patches}) == 2


def test_nothing_to_draw_is_refused():
    with pytest.raises(ValueError, match="no reading"):
        unit_mixup(MixUpPicture((), None, 1.0, None, ("N", "lbf")), picture())
