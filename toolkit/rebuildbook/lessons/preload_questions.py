"""Exercises of lesson 2 on the joint: where torque goes, the gasket, the clamp under pressure."""

from __future__ import annotations

import math

from rebuildbook.calculators.fastener_stress import bearing_stress
from rebuildbook.calculators.joint import clamp_load, pressure_load
from rebuildbook.calculators.preload import preload_from_friction, thread_torque
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.fastener_card import screw
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import show, to_unit

# mean diameter of the face under the head, m, and torques, N·m
_FACES = {"M8": 11.0e-3, "M10": 13.8e-3, "M12": 16.3e-3}
_TORQUES = {"M8": (18, 20, 22), "M10": (36, 40, 44), "M12": (60, 65, 70)}


# where the torque goes


def _torque(n: Numbers) -> float:
    return float(_TORQUES[n.word("size")][int(n["level"])])


def _force(n: Numbers) -> float:
    """The preload of the question, N: three figures of kN, from the friction drawn."""
    size = screw(n.word("size"))
    force = preload_from_friction.si(
        _torque(n), pitch=size.pitch, pitch_diameter=size.pitch_diameter,
        thread_friction=n["friction"], bearing_friction=n["friction"],
        bearing_diameter=_FACES[n.word("size")],
    )  # fmt: skip
    return float(f"{float(force) / 1e3:.3g}") * 1e3


def _stretches(n: Numbers) -> float:
    size = screw(n.word("size"))
    return float(thread_torque.si(_force(n), size.pitch, size.pitch_diameter, 0.0)) / _torque(n)


STRETCH = Exercise(
    id="torque-4",
    kind="quantity",
    dimension="fraction",
    points=2,
    draws={
        "size": ("M8", "M10", "M12"),
        "level": (0, 1, 2),
        "friction": (0.09, 0.1, 0.11, 0.12, 0.14, 0.16),
    },
    ask=lambda n: (
        f"An {n.word('size')} screw (pitch {screw(n.word('size')).pitch * 1e3:g} mm) was set with "
        f"{_torque(n):g} N·m and, measured by its stretch, holds {show(_force(n), 'kN')}. In one "
        "turn the nut climbs one pitch against that force. Without any friction, what share of "
        "the torque would that take?\n\nGive it in %. Torque × 2π is the work of one turn."
    ),
    right=_stretches,
    why=lambda n: (
        f"F × pitch / 2π = {show(_stretches(n) * _torque(n), 'N*m')} out of {_torque(n):g} N·m: "
        f"{show(_stretches(n), '%')}. The rest is friction, in the thread and under the head. So a "
        "small change of friction is a large change of preload."
    ),
    wrong=(
        Slip(
            "work of a turn without 2π",
            lambda n: _stretches(n) * 2.0 * math.pi,
            "Force times pitch is the work of a whole turn. A torque does 2π times itself in a "
            "turn, so divide by 2π.",
        ),
        Slip(
            "half a turn's work",
            lambda n: _stretches(n) * 2.0,
            "A whole turn is 2π, not π.",
        ),
        Slip(
            "friction's share",
            lambda n: 1.0 - _stretches(n),
            "That is the share that friction takes. The share that stretches is asked.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _stretches(n),
            "Write the % with it: a bare number is read as a plain share, so 12 would be 1200 %.",
        ),
    ),
    hint="Torque that stretches = F × pitch / 2π, with the pitch in metres. Divide by the torque.",
)


# the stress on the gasket

_RINGS = {
    "98 to 124 mm": (0.098, 0.124),
    "90 to 114 mm": (0.090, 0.114),
    "84 to 110 mm": (0.084, 0.110),
    "110 to 138 mm": (0.110, 0.138),
}


def _ring(n: Numbers) -> tuple[float, float]:
    return _RINGS[n.word("ring")]


def _gasket_stress(n: Numbers, screws: float = 0.0, hole: float | None = None) -> float:
    inner, outer = _ring(n)
    clamp = (screws or n["count"]) * n["force"] * 1e3
    return float(bearing_stress.si(clamp, outer, inner if hole is None else hole))


GASKET = Exercise(
    id="torque-5",
    kind="quantity",
    dimension="stress",
    draws={
        "ring": tuple(_RINGS),
        "count": (6, 8, 10),
        "force": (14, 15, 16, 18, 19, 20, 21, 22, 24),
    },
    ask=lambda n: (
        f"A flat fibre ring, {n.word('ring')} in diameter, lies under a cover with "
        f"{n['count']:g} screws. Each screw holds {n['force']:g} kN. What stress does the ring "
        "have, before there is any pressure?"
    ),
    right=_gasket_stress,
    why=lambda n: (
        f"All {n['count']:g} screws press with {n['count'] * n['force']:g} kN on a ring of "
        f"{to_unit(math.pi / 4 * (_ring(n)[1] ** 2 - _ring(n)[0] ** 2), 'cm^2'):.1f} cm²: "
        f"{show(_gasket_stress(n), 'MPa')}. Sheet of this kind wants some 11 MPa at least to seat; "
        "its maker also gives the most that it bears."
    ),
    wrong=(
        Slip(
            "one screw alone",
            lambda n: _gasket_stress(n, 1.0),
            "That is one screw. All of them press on the ring together.",
        ),
        Slip(
            "hole of the ring forgotten",
            lambda n: _gasket_stress(n, hole=0.0),
            "You took the full disc. The ring has a hole: outer area less inner area.",
        ),
        Slip(
            "diameters for radii",
            lambda n: _gasket_stress(n) / 4.0,
            "That is four times too little: you put diameters where π r² wants radii.",
        ),
        Slip(
            "difference of diameters squared",
            lambda n: (
                n["count"] * n["force"] * 1e3 / (math.pi / 4 * (_ring(n)[1] - _ring(n)[0]) ** 2)
            ),
            "Square each diameter first and then take the difference; not the other way about.",
        ),
    ),
    hint="Stress = all the screws' force over the area of the ring, π/4 × (D² − d²).",
)


# the clamp that pressure leaves


def _pull(n: Numbers) -> float:
    return float(pressure_load.si(n["pressure"] * 1e5, n["sealed"] / 1e3, int(n["count"])))


def _clamp(n: Numbers) -> float:
    return float(clamp_load.si(n["force"] * 1e3, n["share"], _pull(n)))


def _less(n: Numbers, pull: float) -> float | None:
    left = n["force"] * 1e3 - pull
    return left if left > 0.0 else None


CLAMP = Exercise(
    id="torque-6",
    kind="quantity",
    dimension="force",
    points=2,
    tolerance=0.01,
    draws={
        "force": (14, 15, 16, 17, 18, 19, 20, 21, 22),
        "pressure": (20, 22, 24, 25, 28, 30),
        "sealed": (104, 106, 108, 111, 114, 118),
        "count": (4, 6),
        "share": (0.15, 0.2, 0.25, 0.3),
    },
    ask=lambda n: (
        f"A cover is held by {n['count']:g} screws, each preloaded to {n['force']:g} kN. Inside "
        f"stand {n['pressure']:g} bar (gauge), and they press on a circle of {n['sealed']:g} mm, "
        "the middle of the gasket. Of each screw's part of that pull, "
        f"{n['share'] * 100:g} % goes into the screw and the rest takes clamp from the gasket. How "
        "much clamp is left at each screw?"
    ),
    right=_clamp,
    why=lambda n: (
        f"The pressure pulls {show(_pull(n), 'kN')} on each screw. Of that "
        f"{100 - n['share'] * 100:g} % come off the clamp: {n['force']:g} kN less "
        f"{show((1 - n['share']) * _pull(n), 'kN')} is {show(_clamp(n), 'kN')}. The screw itself "
        f"takes only {show(n['share'] * _pull(n), 'kN')} more."
    ),
    wrong=(
        Slip(
            "whole pull on one screw",
            lambda n: _less(n, (1 - n["share"]) * n["count"] * _pull(n)),
            "You let one screw carry the whole cover. Share the pull among the screws first.",
        ),
        Slip(
            "diameter for radius",
            lambda n: _less(n, (1 - n["share"]) * 4.0 * _pull(n)),
            "Your pull is four times too large: the area is π times the radius squared, and the "
            "radius is half the circle.",
        ),
        Slip(
            "whole pull off the clamp",
            lambda n: _less(n, _pull(n)),
            "You took the whole pull off the clamp. Part of it goes into the screw, which "
            "stretches a little more.",
        ),
        Slip(
            "the two parts mixed up",
            lambda n: _less(n, n["share"] * _pull(n)),
            "You took off the screw's part. It is the other part that the gasket loses.",
        ),
        Slip(
            "force in the screw for the clamp",
            lambda n: n["force"] * 1e3 + n["share"] * _pull(n),
            "That is what the screw carries now. The clamp between the parts is asked, and it "
            "gets less.",
        ),
    ),
    hint="Pull of a screw = pressure × circle's area / number of screws. 1 bar is 0.1 N on a mm².",
)
