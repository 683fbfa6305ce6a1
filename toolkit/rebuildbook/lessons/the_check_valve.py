"""Lesson 5: which way round a ball check goes, what opens it, what it bears, when it shuts.

The valve, its pump and all values are those of an invented tile works.
"""

from __future__ import annotations

import math

from rebuildbook.calculators.ball_check import (
    Arrow,
    Face,
    Role,
    cracking_pressure,
    orientation,
    seat_faces_ball,
    seating_force,
)
from rebuildbook.calculators.ball_seat import cone_circle
from rebuildbook.calculators.spring import spring_force
from rebuildbook.lessons.check_questions import BACK_FLOW, CHANGE, CONTACT
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import number, show

# 1: which way round

_RIGHT = "nothing, it is right"
_SEAT = "turn the seat over in its valve"
_VALVE = "turn the whole valve end for end"
_BOTH = "turn the valve, and turn the seat over in it"
_ROLES: dict[str, Role] = {"inlet": "inlet", "outlet": "outlet"}
_ARROWS: dict[str, Arrow] = {
    "toward the pump chamber": "toward pump",
    "away from the pump chamber": "away from pump",
}
_FACES: dict[str, Face] = {
    "the chamfered side toward the ball": "worked side to ball",
    "the lapped side toward the ball": "worked side to ball",
    "the chamfered side away from the ball": "plain side to ball",
    "the lapped side away from the ball": "plain side to ball",
}


def _to_do(way: bool, face: bool) -> str:
    return {(True, True): _RIGHT, (True, False): _SEAT, (False, True): _VALVE}.get(
        (way, face), _BOTH
    )


def _way(n: Numbers) -> bool:
    return orientation(_ROLES[n.word("role")], _ARROWS[n.word("arrow")]) == "right way round"


def _face(n: Numbers) -> bool:
    return seat_faces_ball(_FACES[n.word("face")])


_WAY_ROUND = Exercise(
    id="check-1",
    kind="choice",
    options=(_VALVE, _RIGHT, _BOTH, _SEAT),
    draws={"role": tuple(_ROLES), "arrow": tuple(_ARROWS), "face": tuple(_FACES)},
    ask=lambda n: (
        f"You look over a rebuilt {n.word('role')} check before the pump is closed. The arrow on "
        f"its body, the way it lets flow, points {n.word('arrow')}. Inside, the seat lies with "
        f"{n.word('face')}. What is to be done?"
    ),
    right=lambda n: _to_do(_way(n), _face(n)),
    why=lambda n: (
        "An inlet check lets flow toward the pump, an outlet check away from it, and the seat's "
        "worked side, chamfered or lapped, faces the ball. "
        + {
            _RIGHT: "Both are so here.",
            _SEAT: "Here the ball sits on the raw edge of the other side: it will never be tight.",
            _VALVE: "This one holds the flow it should pass. The pump would draw nothing, or push "
            "against a shut valve.",
            _BOTH: "Neither is so here.",
        }[_to_do(_way(n), _face(n))]
    ),
    wrong=(
        Slip(
            "inlet and outlet mixed up",
            lambda n: _to_do(not _way(n), _face(n)),
            "Think of the stroke that fills: liquid has to come in through the inlet check and "
            "must not come back through the outlet check. Hold the arrow against that.",
        ),
        Slip(
            "worked side of the seat mixed up",
            lambda n: _to_do(_way(n), not _face(n)),
            "The side that was chamfered or lapped is the one made for the ball.",
        ),
        Slip(
            "both mixed up",
            lambda n: _to_do(not _way(n), not _face(n)),
            "Take them one by one. Which way must this valve let flow? And which side of the seat "
            "was made for the ball?",
        ),
    ),
)


# 2: where the ball touches


def _circle(n: Numbers) -> float:
    return float(cone_circle.si(n["ball"] / 1e3, math.radians(n["cone"])))


_CIRCLE = Exercise(
    id="check-2",
    kind="quantity",
    dimension="length",
    tolerance=0.01,
    draws={
        "ball": (20, 22, 25, 28, 30, 32, 35, 38, 40, 45),
        "cone": (60, 70, 80, 100, 110, 120),
    },
    ask=lambda n: (
        f"A ball of {n['ball']:g} mm lies in a cone whose included angle is {n['cone']:g}°. How "
        "large is the circle on which they touch?\n\nGive its diameter: ball diameter times the "
        "cosine of half the angle."
    ),
    right=_circle,
    why=lambda n: (
        f"{n['ball']:g} × cos {n['cone'] / 2:g}° = {show(_circle(n), 'mm')}. The pressure works on "
        "this circle, so it is the area that counts for opening and for closing. The bright ring "
        "on a seat that has run shows it."
    ),
    wrong=(
        Slip(
            "sine for cosine",
            lambda n: n["ball"] / 1e3 * math.sin(math.radians(n["cone"] / 2)),
            "That is the sine. A narrow cone takes the ball near its full width, so the circle is "
            "large there; the cosine does that.",
        ),
        Slip(
            "whole angle for half",
            lambda n: (
                n["ball"] / 1e3 * math.cos(math.radians(n["cone"])) if n["cone"] < 90 else None
            ),
            "You took the whole included angle. Half of it counts from the middle line.",
        ),
        Slip(
            "radius for diameter",
            lambda n: 0.5 * _circle(n),
            "That is the circle's radius. Its diameter is asked.",
        ),
        Slip(
            "ball's own diameter",
            lambda n: n["ball"] / 1e3,
            "That is the ball. It touches the cone below its widest place.",
        ),
    ),
)


# 3: what opens it


def _spring(n: Numbers) -> float:
    return float(spring_force.si(n["rate"] * 1e3, n["free"] / 1e3, n["fitted"] / 1e3))


def _cracks(n: Numbers, force: float | None = None, circle: float = 1.0) -> float:
    if force is None:
        force = float(seating_force.si(n["weight"], 0.0, _spring(n)))
    return float(cracking_pressure.si(force, circle * n["circle"] / 1e3))


_CRACKING = Exercise(
    id="check-3",
    kind="quantity",
    dimension="pressure",
    points=2,
    draws={
        "rate": (0.2, 0.25, 0.3, 0.35, 0.4, 0.5),
        "free": (22, 24, 26, 28),
        "fitted": (14, 15, 16, 18),
        "weight": (0.6, 0.8, 0.9, 1.2, 1.5),
        "circle": (16, 18, 20, 22, 24),
    },
    ask=lambda n: (
        f"A ball lies on its seat and lifts straight up. In the liquid it weighs {n['weight']:g} "
        f"N. Its spring has a rate of {n['rate']:g} N/mm, is {n['free']:g} mm long when free and "
        f"{n['fitted']:g} mm as fitted. They touch on a circle of {n['circle']:g} mm. What "
        "difference of pressure lifts the ball?"
    ),
    right=_cracks,
    why=lambda n: (
        f"The spring pushes {n['rate']:g} × ({n['free']:g} − {n['fitted']:g}) = "
        f"{number(_spring(n))} N, the weight {n['weight']:g} N, together on the area of a circle "
        f"of {n['circle']:g} mm: {show(_cracks(n), 'mbar')}. On the suction side this is taken "
        "from what little there is, so inlet checks have weak springs or none."
    ),
    wrong=(
        Slip(
            "weight left out",
            lambda n: _cracks(n, _spring(n)),
            "That is the spring alone. The ball's weight has to be lifted too.",
        ),
        Slip(
            "spring left out",
            lambda n: _cracks(n, n["weight"]),
            "That is the weight alone. The spring pushes the ball down as well.",
        ),
        Slip(
            "fitted length for how far it is pressed",
            lambda n: _cracks(n, n["rate"] * n["fitted"] + n["weight"]),
            "You multiplied the rate by the fitted length. It pushes by how far it is pressed "
            "together: free less fitted.",
        ),
        Slip(
            "diameter for radius",
            lambda n: _cracks(n) / 4.0,
            "That is four times too little. π r² wants the radius, half of the circle's diameter.",
        ),
        Slip(
            "weight taken off the spring",
            lambda n: _cracks(n, _spring(n) - n["weight"]) if _spring(n) > n["weight"] else None,
            "You took the weight off. It would help to open a ball that hangs below its seat; "
            "this one lies on it.",
        ),
    ),
    hint="Newtons over the circle's area in m² give pascals; 1 bar is 100 000 of them.",
)

# 4 to 6 are in check_questions

LESSON = Lesson(
    name="the-check-valve",
    number=5,
    title="The check valve",
    minutes=30,
    able=(
        "see whether a check and its seat are the right way round",
        "say where a ball touches its seat, and what pressure lifts it",
        "say how the pressure on the seat grows with the pressure of the pump",
        "say how much flows back before a ball is home, and what makes it later",
    ),
    case=(
        "A transfer pump came back from its rebuild and did not draw. Its outlet check stood with "
        "the arrow toward the pump. It was turned, and the pump drew, but it lost a good part of "
        "each stroke. In one valve the seat lay upside down: the ball sat on a raw edge, and the "
        "lapped side looked at nothing.\n\n"
        "A ball check is a simple thing: a ball, a seat, a stop, sometimes a spring. Pressure on "
        "the circle where ball and seat touch opens it. Its own weight, a spring and the liquid "
        "coming back shut it. It never shuts at the very moment the piston turns. Until the ball "
        "is home, liquid runs back, and the ball lands the harder the later it comes.\n\n"
        "The pump has a bore of 50 mm, a stroke of 80 mm and a crank that makes 80 turns a "
        "minute. Its balls are of one inch, of hard stainless steel, and lift 6 mm."
    ),
    caution=(
        "The maker's manual shows how its valves are built, and it prevails, as do local codes. "
        "Before a valve chamber is opened the pump is shut off, locked, and its pressure let out "
        "on both sides. All values are invented."
    ),
    exercises=(_WAY_ROUND, _CIRCLE, _CRACKING, CONTACT, BACK_FLOW, CHANGE),
    take=(
        "Inlet: flow toward the pump. Outlet: away from it. The seat's worked side faces the ball.",
        "The contact circle, not the bore and not the ball, is the area that pressure works on.",
        "Contact stress of a ball in a cone grows with the root of the pressure.",
        "A ball comes home after the piston has turned. Heavy ball, spring, short lift, thin "
        "liquid and a slow pump bring it home sooner.",
        "Keep each ball with its own seat: they have worn to each other.",
    ),
)  # fmt: skip
