"""Lesson 4: how screws unload each other, and what order, passes and rounds are for.

The flange is that of an invented tile works; what its screws hold is worked out by our elastic
model. In it crossing alone does not leave the screws more even than going round does. It keeps a
flange of many screws more level on the way; passes and rounds even the screws.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np

from rebuildbook.calculators.interaction import History
from rebuildbook.calculators.tightening import Pass, passes
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.flange_case import COUNT, course, neighbour_loss, order
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.lessons.order_questions import CROSSING, NEXT_STEP
from rebuildbook.units import number, show, to_unit

# 1: the order itself

_PLACES = tuple(str(one) for one in range(1, COUNT + 1))


def _turned(steps: tuple[int, ...], start: float) -> tuple[str, ...]:
    """An order that begins at another screw."""
    return tuple(str((one + int(start) - 2) % COUNT + 1) for one in steps)


def _crossings() -> tuple[tuple[int, ...], ...]:
    """Every crossing from screw 1: opposite, square across, then the pairs between."""
    found = []
    for second, third, turned in itertools.product(
        ((3, 7), (7, 3)), itertools.permutations((2, 4)), itertools.product((0, 4), repeat=2)
    ):
        between = [
            ((one + shift - 1) % COUNT + 1) for one, shift in zip(third, turned, strict=True)
        ]
        pairs = [(one, (one + 3) % COUNT + 1) for one in between]
        found.append((1, 5, *second, *pairs[0], *pairs[1]))
    return tuple(found)


_CROSS_ORDER = Exercise(
    id="order-1",
    kind="order",
    options=_PLACES,
    draws={"start": tuple(range(1, COUNT + 1))},
    ask=lambda n: (
        "Eight screws stand on a circle, numbered 1 to 8 clockwise. Give a crossing order for one "
        f"pass that begins with screw {n['start']:g}: each time to the screw opposite, then square "
        "across, then the same with the ones between."
    ),
    right=lambda n: _turned(order("cross"), n["start"]),
    also=lambda n: tuple(_turned(one, n["start"]) for one in _crossings()),
    why=lambda n: (
        f"From {n['start']:g} across, then square to that pair, so that four screws hold the "
        "flange level before the four between are drawn. There are other crossing orders as good."
    ),
    wrong=(
        Slip(
            "round and round",
            lambda n: _turned((1, 2, 3, 4, 5, 6, 7, 8), n["start"]),
            "That goes from neighbour to neighbour. On a first pass it pulls the flange down on "
            "one side while the other stands open.",
        ),
        Slip(
            "round the other way",
            lambda n: _turned((1, 8, 7, 6, 5, 4, 3, 2), n["start"]),
            "That also goes from neighbour to neighbour, only the other way about.",
        ),
        Slip(
            "across, but not square across",
            lambda n: _turned((1, 5, 2, 6, 3, 7, 4, 8), n["start"]),
            "Each pair is opposite, but the next pair lies beside it. Go square across, a quarter "
            "turn on, before you fill in between.",
        ),
    ),
    hint="Opposite means four numbers on, square across means two. No screw is named twice.",
)


# 2: what a neighbour takes


def _gains(n: Numbers) -> float:
    return (n["aim"] - n["before"]) * 1e3


def _left(n: Numbers) -> float:
    return n["aim"] * 1e3 - 2.0 * neighbour_loss() * _gains(n)


_NEIGHBOURS = Exercise(
    id="order-2",
    kind="quantity",
    dimension="force",
    points=2,
    tolerance=0.015,
    draws={"aim": (16, 18, 20, 22, 24, 25), "before": (8, 9, 10, 11, 12, 13, 14, 15)},
    sound=lambda n: 0.4 < n["before"] / n["aim"] < 0.7,
    ask=lambda n: (
        f"All eight screws of a flange hold {n['before']:g} kN. Screw 1 is brought to "
        f"{n['aim']:g} kN, and later both its neighbours too. For each kN that a neighbour gains, "
        f"screw 1 loses {neighbour_loss():.2f} kN. What does screw 1 hold in the end?\n\nLeave "
        "the others out, and what the neighbours lost by screw 1."
    ),
    right=_left,
    why=lambda n: (
        f"Each neighbour gains {_gains(n) / 1e3:g} kN and takes {neighbour_loss():.2f} of it: "
        f"twice {number(neighbour_loss() * _gains(n) / 1e3)} kN off {n['aim']:g} kN leaves "
        f"{show(_left(n), 'kN')}. Its nut never moved. The flange came down under it."
    ),
    wrong=(
        Slip(
            "one neighbour only",
            lambda n: n["aim"] * 1e3 - neighbour_loss() * _gains(n),
            "A screw has a neighbour on each side, and both are tightened after it.",
        ),
        Slip(
            "neighbours counted from nothing",
            lambda n: n["aim"] * 1e3 * (1.0 - 2.0 * neighbour_loss()),
            "You let the neighbours gain all they hold. They held something before; only what "
            "they gain counts.",
        ),
        Slip(
            "nothing lost",
            lambda n: n["aim"] * 1e3,
            "That is what the wrench left. A screw does not keep it when the flange comes down "
            "beside it.",
        ),
        Slip(
            "share taken of its own load",
            lambda n: n["aim"] * 1e3 * (1.0 - neighbour_loss()) ** 2,
            "You took the share of screw 1's own load. It is a share of what the neighbour gains.",
        ),
        Slip(
            "loss added",
            lambda n: n["aim"] * 1e3 + 2.0 * neighbour_loss() * _gains(n),
            "A neighbour that is tightened relieves this screw. Take it off.",
        ),
    ),
)


# 3: how uneven it is


def _measured(n: Numbers) -> History:
    """What the screws hold after the passes, as a gauge reads it: a tenth of a kN."""
    history = course(n.word("order"), int(n["passes"]))
    forces = np.round(history.forces * n["aim"] * 1e3 / history.target[0] / 100.0) * 100.0
    return replace(history, forces=forces, target=np.full(COUNT, n["aim"] * 1e3))


def _spread(n: Numbers) -> float:
    return _measured(n).spread


def _over(n: Numbers, base: float) -> float:
    return float(np.ptp(_measured(n).final)) / base


_SPREAD = Exercise(
    id="order-3",
    kind="quantity",
    dimension="fraction",
    tolerance=0.015,
    points=2,
    draws={
        "order": ("cross", "round"),
        "passes": (1, 2, 3),
        "aim": (15, 16, 17, 18, 19, 21, 22, 23, 24, 25),
    },
    ask=lambda n: (
        f"A flange was set to {n['aim']:g} kN a screw in {n['passes']:g} "
        f"pass{'' if n['passes'] == 1 else 'es'}. Then each screw was measured. In kN, screws 1 to "
        "8:\n"
        + ", ".join(f"{to_unit(float(one), 'kN'):.1f}" for one in _measured(n).final)
        + "\n\nHow large is the spread: largest less smallest, over their mean?\n\nGive it in %."
    ),
    right=_spread,
    why=lambda n: (
        f"Largest less smallest is {show(float(np.ptp(_measured(n).final)), 'kN')}, the mean is "
        f"{show(float(np.mean(_measured(n).final)), 'kN')}: {show(_spread(n), '%')}. The wrench "
        "read the same at every screw. A round at full torque would bring it to "
        f"{show(course(n.word('order'), int(n['passes']), 1).spread, '%', 2)}."
    ),
    wrong=(
        Slip(
            "over the force aimed at",
            lambda n: _over(n, n["aim"] * 1e3),
            "You divided by what was aimed at. Divide by the mean of what is there.",
        ),
        Slip(
            "over the largest",
            lambda n: _over(n, float(np.max(_measured(n).final))),
            "You divided by the largest. Divide by the mean of all eight.",
        ),
        Slip(
            "over the smallest",
            lambda n: _over(n, float(np.min(_measured(n).final))),
            "You divided by the smallest. Divide by the mean of all eight.",
        ),
        Slip(
            "half of the spread",
            lambda n: 0.5 * _spread(n),
            "That is plus or minus. The spread runs from the smallest to the largest.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _spread(n),
            "Write the % with it: a bare number is read as a plain share, so 40 would be 4000 %.",
        ),
    ),
)


# 4: the torque of a pass

_SHARES = (0.3, 0.6, 1.0)


def _made(n: Numbers, setting: float) -> list[Pass]:
    found = passes(
        n["low"], n["low"] * 1.2, setting, _SHARES, 0.5, order=order("cross"), wrench_low=2.0
    )
    return [one for one in found if one.kind == "cross"]


def _middle(n: Numbers) -> float:
    return n["low"] * 1.1


def _of_pass(n: Numbers, setting: float) -> float:
    return _made(n, setting)[int(n["pass"]) - 1].torque


_PASS = Exercise(
    id="order-4",
    kind="quantity",
    dimension="torque",
    tolerance=0.015,
    draws={"low": (20, 25, 30, 35, 40, 45, 50, 60), "pass": (1, 2)},
    ask=lambda n: (
        f"A sheet gives {n['low']:g} to {number(n['low'] * 1.2)} N·m. You aim at the middle, in "
        "passes of 30, 60 and 100 % of it, with a wrench whose scale has marks every 0.5 N·m. "
        f"What do you set for the {'first' if n['pass'] == 1 else 'second'} pass?"
    ),
    right=lambda n: _of_pass(n, _middle(n)),
    why=lambda n: (
        f"The middle is {number(_middle(n))} N·m; {_SHARES[int(n['pass']) - 1] * 100:g} % of it, "
        f"on the nearest mark, is {number(_of_pass(n, _middle(n)))} N·m. Only the last pass has to "
        "be exact; the others bring the parts together evenly."
    ),
    wrong=(
        Slip(
            "top of the window for its middle",
            lambda n: _of_pass(n, n["low"] * 1.2),
            "You took the share of the window's top. Aim at its middle, so that the wrench's "
            "scatter stays inside.",
        ),
        Slip(
            "bottom of the window for its middle",
            lambda n: _of_pass(n, n["low"]),
            "You took the share of the window's bottom. Aim at its middle.",
        ),
        Slip(
            "another pass",
            lambda n: _made(n, _middle(n))[2 - int(n["pass"])].torque,
            "That is another pass: the first is 30 %, the second 60 %.",
        ),
        Slip(
            "full torque at once",
            _middle,
            "That is the last pass. Set at once, it draws the flange down on one side.",
        ),
    ),
)

# 5 and 6 are in order_questions

LESSON = Lesson(
    name="why-order-matters",
    number=4,
    title="Why order matters",
    minutes=25,
    able=(
        "give a crossing order for a circle of screws",
        "work out what a screw loses when its neighbours are tightened",
        "say what crossing does, and what passes and rounds do",
        "set the torque of a pass, and say when a joint is finished",
    ),
    case=(
        "The cover of the glaze feeder has eight screws on a circle and a ring of fibre sheet. A "
        "new hand took a wrench at full torque and went round once, screw by screw. The wrench "
        "clicked at each. The cover had gone down on one side first, and there the ring was "
        "pinched to a wedge; two screws could be turned by hand afterwards.\n\n"
        "Screws on one flange are not alone. A screw that is tightened presses the flange into the "
        "gasket. The flange goes down beside it as well, and the screws there lose some of their "
        "stretch, though nobody has touched them. A little farther off the flange may even rise "
        "and load a screw. The softer the gasket, the more of this.\n\n"
        "That is why a joint goes up in passes, and why at the end the wrench goes round at full "
        "torque until no nut moves. Crossing is for another thing: the flange comes down level, so "
        "that the gasket is not pinched on one side and an O-ring is not caught."
    ),
    caution=(
        "The maker's manual gives torque, order and passes, and it prevails, as do local codes. A "
        "joint under pressure is not tightened. The values here are invented, and the model is "
        "elastic: it leaves out creep of the gasket and scatter of friction."
    ),
    exercises=(_CROSS_ORDER, _NEIGHBOURS, _SPREAD, _PASS, CROSSING, NEXT_STEP),
    take=(
        "A screw that is tightened unloads its neighbours. The click tells what a screw had then, "
        "not what it has in the end.",
        "Crossing keeps the flange level on its way down.",
        "Passes bring it down in small steps; rounds at full torque even the screws. Go round "
        "until no nut moves.",
        "The softer the gasket, the more rounds.",
        "Before the last pass look whether a gasket or an O-ring is pinched.",
    ),
)  # fmt: skip
