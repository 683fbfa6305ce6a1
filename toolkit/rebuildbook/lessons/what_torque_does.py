"""Lesson 2: from torque to preload, and what preload does to screw, gasket and joint.

The cover and its values are those of an invented tile works.
"""

from __future__ import annotations

import itertools
import math

from rebuildbook.calculators.fastener_stress import share_of_strength
from rebuildbook.calculators.preload import torque_from_nut_factor
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.fastener_card import (
    HOLES,
    SIZES,
    areas,
    grade,
    nut_factor,
    nut_factors,
    preload,
    proof,
    screw,
    strengths,
)
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.lessons.preload_questions import CLAMP, GASKET, STRETCH
from rebuildbook.units import show

_TORQUES = {"M8": (15, 16, 18, 20), "M10": (30, 32, 34, 36), "M12": (52, 55, 60, 65)}  # N·m
_LEVELS = (0, 1, 2, 3)


def _torque(n: Numbers) -> float:
    return float(_TORQUES[n.word("size")][int(n["level"])])


# 1: from torque to preload


def _preload(n: Numbers, condition: str = "") -> float:
    return preload(_torque(n), condition or n.word("condition"), n.word("size"))


_PRELOAD = Exercise(
    id="torque-1",
    kind="quantity",
    dimension="force",
    draws={"size": SIZES, "condition": ("lightly oiled", "oiled", "greased"), "level": _LEVELS},
    ask=lambda n: (
        f"An {n.word('size')} screw, {n.word('condition')}, is set with {_torque(n):g} N·m. What "
        "preload does that typically leave? Take K from the card."
    ),
    right=_preload,
    why=lambda n: (
        f"F = T/(K d) = {_torque(n):g} / ({nut_factor(n.word('condition')):.2f} × "
        f"{screw(n.word('size')).major:g} m) = {show(_preload(n), 'kN')}. The next screw may well "
        "hold a quarter more or less: K is a typical value, and friction scatters."
    ),
    wrong=(
        Slip(
            "nut factor of the dry thread",
            lambda n: _preload(n, "dry"),
            "That is the preload of a dry thread. Look on the card for the condition asked.",
        ),
        Slip(
            "radius for diameter",
            lambda n: 2.0 * _preload(n),
            "That is twice too much: the d in T = K F d is the whole thread diameter, not half.",
        ),
        Slip(
            "nut factor left out",
            lambda n: _torque(n) / screw(n.word("size")).major,
            "You divided by the diameter alone. K belongs below the line too.",
        ),
        Slip(
            "multiplied by the nut factor",
            lambda n: _torque(n) * nut_factor(n.word("condition")) / screw(n.word("size")).major,
            "You multiplied by K. More friction, so a larger K, leaves less preload.",
        ),
    ),
    hint="T = K F d, so F = T/(K d). Put T in N·m and d in metres, and F comes out in newtons.",
)


# 2: what the screw makes of it


def _held(n: Numbers) -> float:
    """The preload of the question, N: three figures of kN."""
    return float(f"{n['share'] / 100.0 * _proof(n) / 1e3:.3g}") * 1e3


def _proof(n: Numbers) -> float:
    return proof(n.word("size"), n.word("class"))


def _of_proof(n: Numbers) -> float:
    strength = grade(n.word("size"), n.word("class")).proof_strength
    return float(share_of_strength.si(_held(n), screw(n.word("size")).stress_area, strength))


def _by_area(n: Numbers, diameter: float) -> float:
    circle = math.pi / 4.0 * diameter**2
    return _of_proof(n) * screw(n.word("size")).stress_area / circle


_PROOF_SHARE = Exercise(
    id="torque-2",
    kind="quantity",
    dimension="fraction",
    tolerance=0.01,
    draws={
        "size": SIZES,
        "class": ("8.8", "10.9"),
        "share": (52, 57, 61, 66, 69, 73, 77, 82, 86, 91),
    },
    ask=lambda n: (
        f"An {n.word('size')} screw of class {n.word('class')} in a clearance hole of "
        f"{HOLES[n.word('size')] * 1e3:g} mm holds a preload of {show(_held(n), 'kN')}. What share "
        "of its proof load is that?\n\nGive it in %."
    ),
    right=_of_proof,
    why=lambda n: (
        f"Stress area times proof strength is {show(_proof(n), 'kN')}, and {show(_held(n), 'kN')} "
        f"are {show(_of_proof(n), '%')} of it. Up to its proof load a screw springs back to its "
        "old length. Some 75 % is aimed at for screws that are used again, up to 90 % for those "
        "that stay."
    ),
    wrong=(
        Slip(
            "full circle for the stress area",
            lambda n: _by_area(n, screw(n.word("size")).major),
            "You took the full circle of the thread's outside diameter. The thread cuts into it: "
            "take the stress area from the card.",
        ),
        Slip(
            "clearance hole for the stress area",
            lambda n: _by_area(n, HOLES[n.word("size")]),
            "That is the area of the hole. The hole carries nothing; the screw's stress area does.",
        ),
        Slip(
            "yield strength for proof strength",
            lambda n: (
                _of_proof(n)
                * grade(n.word("size"), n.word("class")).proof_strength
                / grade(n.word("size"), n.word("class")).yield_strength
            ),
            "That is the share of the load at which it yields. The proof load is asked: it lies "
            "lower.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _of_proof(n),
            "Write the % with it: a bare number is read as a plain share, so 70 would be 7000 %.",
        ),
    ),
    hint="Proof load = stress area × proof strength; one MPa is one newton on each mm².",
)


# 3: from the preload wanted back to a torque


def _wanted(n: Numbers, condition: str = "", share: float = 0.0) -> float:
    force = (share or n["share"] / 100.0) * proof(n.word("size"))
    factor = nut_factor(condition or n.word("condition"))
    return float(torque_from_nut_factor.si(force, factor, screw(n.word("size")).major))


_WANTED = Exercise(
    id="torque-3",
    kind="quantity",
    dimension="torque",
    points=2,
    tolerance=0.015,
    draws={
        "size": SIZES,
        "condition": ("lightly oiled", "oiled", "greased", "moly paste"),
        "share": (60, 65, 70, 75, 80),
    },
    ask=lambda n: (
        f"{n.word('size')} screws of class 8.8, {n.word('condition')}, are to be preloaded to "
        f"{n['share']:g} % of their proof load. What torque does that take?"
    ),
    right=_wanted,
    why=lambda n: (
        f"F = {n['share']:g} % of {show(proof(n.word('size')), 'kN')}; T = K F d = "
        f"{nut_factor(n.word('condition')):.2f} × F × {screw(n.word('size')).major:g} m = "
        f"{show(_wanted(n), 'N*m')}. Where the maker gives a torque, that one is set and no other."
    ),
    wrong=(
        Slip(
            "nut factor of the dry thread",
            lambda n: _wanted(n, "dry"),
            "That is the torque for dry threads. On these it would stretch the screw too far.",
        ),
        Slip(
            "radius for diameter",
            lambda n: 0.5 * _wanted(n),
            "That is half of it: d is the whole thread diameter.",
        ),
        Slip(
            "share of proof left out",
            lambda n: _wanted(n, share=1.0),
            "That takes the screw to its whole proof load. Only a share of it was asked.",
        ),
        Slip(
            "yield strength for proof strength",
            lambda n: (
                _wanted(n)
                * grade(n.word("size")).yield_strength
                / grade(n.word("size")).proof_strength
            ),
            "You took the yield strength. The share is of the proof load, which lies lower.",
        ),
    ),
    hint="First the proof load in newtons, then its share, then T = K F d with d in metres.",
)


# 4 to 6 are in preload_questions

# 7: one torque on four threads

_FOUR = ("dry", "oiled", "greased", "moly paste")


def _threads(n: Numbers) -> dict[str, str]:
    return dict(zip("ABCD", n.word("threads").split("|"), strict=True))


def _by_preload(n: Numbers) -> tuple[str, ...]:
    found = _threads(n)
    return tuple(sorted("ABCD", key=lambda one: preload(n["torque"], found[one], "M10")))


_DRY_LAST = "the dry thread taken for the tightest"


def _dry_last(n: Numbers) -> tuple[str, ...]:
    first, *others = _by_preload(n)
    return (*others, first)


_SAME_TORQUE = Exercise(
    id="torque-7",
    kind="order",
    options=("A", "B", "C", "D"),
    draws={
        "threads": tuple("|".join(one) for one in itertools.permutations(_FOUR)),
        "torque": (30, 32, 34, 36),
    },
    ask=lambda n: (
        f"Four M10 screws were all set with the same wrench at {n['torque']:g} N·m. Their threads "
        "were\n"
        + "\n".join(f"{name}: {told}" for name, told in _threads(n).items())
        + "\n\nPut them in order of their preload, the smallest first."
    ),
    right=_by_preload,
    why=lambda n: (
        ", ".join(
            f"{name} ({told}) {show(preload(n['torque'], told, 'M10'), 'kN')}"
            for name, told in ((one, _threads(n)[one]) for one in _by_preload(n))
        )
        + ". The wrench felt no difference. The proof load of an M10 of class 8.8 is "
        + f"{show(proof('M10'), 'kN')}."
    ),
    wrong=(
        Slip(
            "largest first",
            lambda n: tuple(reversed(_by_preload(n))),
            "That is turned round. The dry thread eats most of the torque and keeps least preload.",
        ),
        Slip(
            _DRY_LAST,
            _dry_last,
            "The dry one feels tightest, but what it feels is friction. Its screw is stretched "
            "least.",
        ),
    ),
    hint="All have the same T and d, so the larger K, the smaller F.",
)

LESSON = Lesson(
    name="what-torque-does",
    number=2,
    title="What torque does",
    minutes=30,
    able=(
        "work out the preload that a torque leaves, and the torque for a preload",
        "say how hard a screw is used, by its stress area and proof strength",
        "say where the torque goes, and why a drop of oil changes the preload",
        "work out the stress on a gasket, and what pressure leaves of the clamp",
    ),
    case=(
        "The fluid cover of the slip pump is held by a circle of screws and sealed by a flat ring "
        "of fibre sheet. On the last rebuild it wept. The torque in the record is the one on the "
        "sheet, to the newton-metre. But somebody had washed the threads with solvent, and the "
        "sheet counts on grease. On dry threads the same torque left about half the preload.\n\n"
        "A torque wrench feels how hard a screw turns, and nothing else. What seals is the preload "
        "F, the pull of the stretched screw. Nut factor K, thread diameter d and torque T tie the "
        "two together: T = K F d. The sheet squeezed by all screws has a stress of its own: too "
        "little and it weeps, too much and it is crushed.\n\n"
        f"On the wall hangs a card. Typical K: "
        f"{nut_factors(('dry', 'lightly oiled', 'oiled', 'greased', 'moly paste'))}. "
        f"Stress areas: {areas()}. Strengths: {strengths('8.8', '10.9')}."
    ),
    caution=(
        "The maker's manual gives the torque of a joint and how its threads are lubricated, and it "
        "prevails, as do local codes. The values here are invented."
    ),
    exercises=(_PRELOAD, _PROOF_SHARE, _WANTED, STRETCH, GASKET, CLAMP, _SAME_TORQUE),
    take=(
        "Preload seals, not torque. T = K F d ties the two together.",
        "K belongs to the threads as they are: dry, oiled, greased. A torque without the condition "
        "of the threads is half a torque.",
        "The same torque on slipperier threads stretches the screw further. It can yield, and the "
        "wrench does not feel it.",
        "Only a tenth to a sixth of the torque stretches the screw. Friction takes the rest, so "
        "preload from torque always scatters.",
        "Pressure takes clamp away from the gasket. What is left has to stay above what the gasket "
        "needs.",
    ),
)  # fmt: skip
