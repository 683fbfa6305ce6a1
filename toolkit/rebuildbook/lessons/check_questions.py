"""Exercises of lesson 5 on the seat under pressure and the ball that comes home late."""

from __future__ import annotations

import functools
import math
from dataclasses import replace

from rebuildbook.calculators.ball_check import assess_ball_check
from rebuildbook.calculators.drive import single_acting_displacement
from rebuildbook.calculators.stroke_flow import CrankDrive
from rebuildbook.lessons.check_case import BORE, CHANGES, CHECK, STROKE, back_flow
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import number, show

# contact stress at another pressure


@functools.cache
def _peak(bar: float) -> float:
    """Peak contact pressure of the lesson's ball in its cone, Pa."""
    return assess_ball_check(replace(CHECK, closing_pressure=bar * 1e5)).at_pressure.peak


def _known(n: Numbers) -> float:
    """The peak pressure as the question gives it, Pa: three figures of MPa."""
    return float(f"{_peak(n['first']) / 1e6:.3g}") * 1e6


def _rise(n: Numbers) -> float:
    return n["second"] / n["first"]


CONTACT = Exercise(
    id="check-4",
    kind="quantity",
    dimension="stress",
    draws={"first": (5, 8, 10, 12), "second": (20, 25, 30, 35, 40)},
    ask=lambda n: (
        f"At {n['first']:g} bar the ball presses on its cone with {show(_known(n), 'MPa')} at the "
        "peak. The contact is a narrow line round the cone, and on a line that peak goes with the "
        f"root of the force. What is it at {n['second']:g} bar?"
    ),
    right=lambda n: _peak(n["second"]),
    why=lambda n: (
        f"The force is {number(_rise(n))} times as large, its root is "
        f"{number(math.sqrt(_rise(n)))}: {show(_peak(n['second']), 'MPa')}. The line grows wider "
        "as it is pressed, so the stress does not keep pace. Grit or a dent leaves points in place "
        "of a line, and there it is far higher."
    ),
    wrong=(
        Slip(
            "in proportion to the pressure",
            lambda n: _known(n) * _rise(n),
            "The force grows like that, but the line of contact grows wider with it. The peak "
            "goes with the root.",
        ),
        Slip(
            "cube root, as for a point",
            lambda n: _known(n) * math.cbrt(_rise(n)),
            "The third root is for a ball on a flat, which touches in a point. Here it is a line.",
        ),
        Slip(
            "no change",
            _known,
            "The ball is pressed harder, so the peak does rise, if less than the pressure.",
        ),
        Slip(
            "square for root",
            lambda n: _known(n) * _rise(n) ** 2,
            "You squared it. Take the root of how much the pressure has grown.",
        ),
    ),
)


# how much flows back


def _drive(n: Numbers) -> CrankDrive:
    """The crank with a rod so long that its slant does not count, as the question has it."""
    volume = float(single_acting_displacement.si(BORE, STROKE))
    return CrankDrive(n["rate"] / 60.0, volume, rod_ratio=0.0)


def _angle(n: Numbers) -> float:
    """How far the crank turns until the ball is home, rad."""
    return 2.0 * math.pi * n["rate"] / 60.0 * n["late"] / 1e3


def _share(n: Numbers) -> float:
    drive = _drive(n)
    left = drive.swept(drive.reversal + n["late"] / 1e3)
    return 1.0 - left / drive.displacement


BACK_FLOW = Exercise(
    id="check-5",
    kind="quantity",
    dimension="fraction",
    points=2,
    tolerance=0.03,
    draws={
        "rate": (60, 70, 75, 80, 90, 100, 110, 120),
        "late": (25, 30, 35, 40, 45, 50, 55, 60),
    },
    sound=lambda n: 0.2 < _angle(n) < 0.8,
    ask=lambda n: (
        f"The crank of a pump makes {n['rate']:g} turns a minute. Its inlet ball is home "
        f"{n['late']:g} ms after the piston has turned. What share of the stroke flows back "
        "through it?\n\nWhile the crank turns by φ from its dead point, the piston makes "
        "(1 − cos φ)/2 of its stroke, if the connecting rod is long. Give the share in %."
    ),
    right=_share,
    why=lambda n: (
        f"In {n['late']:g} ms the crank turns {number(math.degrees(_angle(n)))}°, and (1 − cos "
        f"{number(math.degrees(_angle(n)))}°)/2 is {show(_share(n), '%')}. Near its dead point a "
        "crank moves the piston little. So twice as late is about four times as much."
    ),
    wrong=(
        Slip(
            "in proportion to the angle",
            lambda n: _angle(n) / math.pi,
            "You took the angle over half a turn. A piston on a crank hardly moves near its dead "
            "point.",
        ),
        Slip(
            "half forgotten",
            lambda n: 2.0 * _share(n),
            "Half of 1 − cos φ: a whole stroke is 1 − cos 180°, which is two.",
        ),
        Slip(
            "half a turn for a whole",
            lambda n: (1.0 - math.cos(0.5 * _angle(n))) / 2.0,
            "Your angle is half of what it should be. Out and back together are one turn, 360°.",
        ),
        Slip(
            "what is left for what flows back",
            lambda n: 1.0 - _share(n),
            "That is what is left of the stroke. What flows back is asked.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _share(n),
            "Write the % with it: a bare number is read as a plain share, so 3 would be 300 %.",
        ),
    ),
    hint="φ = 360° × turns a minute / 60 × seconds late.",
)


# what makes it later

_MORE = "more flows back"
_LESS = "less flows back"
_SAME = "it makes no difference"


def _effect(n: Numbers) -> str:
    return _MORE if back_flow(n.word("change")) > back_flow() else _LESS


CHANGE = Exercise(
    id="check-6",
    kind="choice",
    options=(_LESS, _SAME, _MORE),
    draws={"change": tuple(CHANGES)},
    ask=lambda n: (
        "In the pump of the case the ball reaches its stop on every stroke and comes home a "
        f"little after the piston has turned. Now {n.word('change')}. What does that do to the "
        "share of a stroke that flows back through the valve?"
    ),
    right=_effect,
    why=lambda n: (
        f"By our model of the ball it goes from {show(back_flow(), '%', 2)} to "
        f"{show(back_flow(n.word('change')), '%', 2)}. What pushes the ball home is its weight and "
        "a spring; what holds it up is a thick liquid and the way it has to go; and a fast pump "
        "gives it less of the stroke to do it in."
    ),
    wrong=(
        Slip(
            "the wrong way about",
            lambda n: {_MORE: _LESS, _LESS: _MORE}[_effect(n)],
            "The other way. Ask what brings the ball home and how far it has to go, and how far "
            "the piston gets meanwhile.",
        ),
        Slip(
            "thought to make no difference",
            lambda _: _SAME,
            "It does. The ball has to come home through the liquid while the piston already moves "
            "back.",
        ),
    ),
)
