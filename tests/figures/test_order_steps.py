"""Orders step by step: rings filled as loaded, the strip's edges, words apart."""

import numpy as np
import pytest

from rebuildbook.calculators.layout import circle, manifold, oval, rectangle, row
from rebuildbook.figures.order_steps import OrderCourse, order_steps

UNITS = ("kN", "lbf")


def course(layout, name="as planned", target=20e3, rounds=2, seed=1):
    count = layout.count
    rng = np.random.default_rng(seed)
    forces, held = [], np.zeros(count)
    numbers, passes = [], []
    for of_pass in range(rounds):
        for bolt in layout.rotation:
            held = held * rng.uniform(0.93, 1.01, count)
            held[bolt - 1] = target * (of_pass + 1) / rounds
            forces.append(held.copy())
            numbers.append(bolt)
            passes.append(of_pass + 1)
    return OrderCourse(
        name, layout.positions, np.array(forces), tuple(numbers), tuple(passes), target
    )


LAYOUTS = [
    circle(2, 0.07),
    circle(3, 0.07),
    circle(4, 0.1),
    circle(8, 0.15),
    circle(12, 0.2),
    circle(16, 0.228),
    circle(24, 0.4),
    rectangle(2, 2, 0.1, 0.1),
    rectangle(4, 2, 0.3, 0.06),
    rectangle(4, 3, 0.3, 0.2),
    oval(2, 0.07, 0.104),
    oval(10, 0.3, 0.15),
    row(2, 0.26),
    row(4, 0.42),
    manifold(2, 4, 0.15, 0.07),
    manifold(3, 5, 0.4, 0.1),
]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda one: f"{one.shape}-{one.count}")
def test_words_stand_apart_and_on_the_paper(layout, drawing_legible):
    first, second = course(layout), course(layout, "from the middle", seed=2)
    figure = order_steps(first, second, len(first.numbers) - 1, UNITS, course(layout))
    drawing_legible(figure, figure.axes[0].texts)


def texts(figure, gid):
    return [text.get_text() for text in figure.axes[0].texts if text.get_gid() == gid]


def test_shares_beside_the_rings_are_those_of_the_step():
    one = course(circle(8, 0.15))
    figure = order_steps(one, one, 5, UNITS)
    expected = [f"{100 * force / 20e3:.0f}" for force in one.forces[4]]
    assert texts(figure, "share") == expected * 2


def test_before_the_first_step_nothing_is_loaded():
    one = course(circle(4, 0.1))
    assert texts(order_steps(one, one, 0, UNITS), "share") == ["0"] * 8


def test_a_step_past_the_end_shows_the_end():
    one = course(circle(4, 0.1))
    assert texts(order_steps(one, one, 99, UNITS), "share") == texts(
        order_steps(one, one, 8, UNITS), "share"
    )


def edges(figure):
    return [line for line in figure.axes[0].lines if line.get_gid() == "edge"]


def test_edges_are_least_and_most_of_all_bolts():
    one = course(circle(8, 0.15))
    low, high = edges(order_steps(one, one, 3, UNITS))[:2]
    target = next(
        line for line in order_steps(one, one, 3, UNITS).axes[0].lines if line.get_gid() == "target"
    )
    per_newton = (target.get_ydata()[0] - low.get_ydata()[0]) / 20e3  # from the foot to the target
    rise = [(y - low.get_ydata()[0]) / per_newton for y in high.get_ydata()]
    assert rise[1:] == pytest.approx(one.forces.max(axis=1).tolist())
    rise = [(y - low.get_ydata()[0]) / per_newton for y in low.get_ydata()]
    assert rise[1:] == pytest.approx(one.forces.min(axis=1).tolist())


def test_two_orders_differ_in_dash_and_the_state_before_is_a_third():
    one = course(circle(8, 0.15))
    assert len({str(line.get_linestyle()) for line in edges(order_steps(one, one, 3, UNITS))}) == 2
    figure = order_steps(one, one, 3, UNITS, course(circle(8, 0.15), seed=9))
    assert len(edges(figure)) == 6
    assert "before: least and most" in texts(figure, "key")


def test_the_bolt_just_tightened_is_marked():
    one = course(circle(8, 0.15))
    figure = order_steps(one, one, 11, UNITS)
    assert len([p for p in figure.axes[0].patches if p.get_gid() == "turned"]) == 2
    assert texts(figure, "head")[0] == "as planned: step 11 of 16, pass 2"
