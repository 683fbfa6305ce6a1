"""Lesson 3: what changes friction, and how a threadlocker is worked, cured and undone.

The flange, the labels and their times are those of an invented tile works.
"""

from __future__ import annotations

import math

from rebuildbook.calculators.fastener_stress import share_of_strength
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.fastener_card import (
    SIZES,
    areas,
    grade,
    nut_factor,
    nut_factors,
    preload,
    screw,
    strengths,
)
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.locker_questions import BELOW, CURE, KIND, OPEN, STEPS
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import show

# 1: another condition of the threads, the same preload

_CHANGES = {
    "dry to medium": ("dry", "medium locker, wet"),
    "dry to high": ("dry", "high locker, wet"),
    "stainless": ("stainless, dry", "stainless, locker wet"),
}


def _ratio(change: str) -> float:
    """New torque over old, for the same preload."""
    before, after = _CHANGES[change]
    # torque and diameter cancel: the preloads that one torque leaves stand the other way about
    return preload(1.0, before, "M10") / preload(1.0, after, "M10")


def _new_torque(n: Numbers) -> float:
    return n["torque"] * _ratio(n.word("change"))


_SAME_PRELOAD = Exercise(
    id="locker-1",
    kind="quantity",
    dimension="torque",
    draws={
        "change": tuple(_CHANGES),
        "torque": (24, 28, 35, 40, 48, 55, 64, 70, 80, 95, 110),
    },
    ask=lambda n: (
        f"An old sheet gives {n['torque']:g} N·m, and its threads were assembled like this: "
        f"{_CHANGES[n.word('change')][0]}. Now they go together like this: "
        f"{_CHANGES[n.word('change')][1]}. What torque leaves the same preload? Take both K from "
        "the card."
    ),
    right=_new_torque,
    why=lambda n: (
        f"T goes with K: {n['torque']:g} × {nut_factor(_CHANGES[n.word('change')][1]):.2f} / "
        f"{nut_factor(_CHANGES[n.word('change')][0]):.2f} = {show(_new_torque(n), 'N*m')}. Wet "
        "locker lubricates, so it takes less. In service such a change is for the maker or the "
        "engineer to give, not for the bench."
        + (
            " And stainless is never put together dry: it galls."
            if n.word("change") == "stainless"
            else ""
        )
    ),
    wrong=(
        Slip(
            "torque kept",
            lambda n: n["torque"],
            "The threads slide more easily now. The same torque would stretch the screw further.",
        ),
        Slip(
            "ratio upside down",
            lambda n: n["torque"] / _ratio(n.word("change")),
            "Your ratio stands upside down. Less friction takes less torque for the same preload.",
        ),
        Slip(
            "stainless row for plain steel",
            lambda n: (
                None if n.word("change") == "stainless" else n["torque"] * _ratio("stainless")
            ),
            "Those are the stainless rows of the card. These threads are plain steel.",
        ),
        Slip(
            "plain steel row for stainless",
            lambda n: (
                n["torque"] * _ratio("dry to medium") if n.word("change") == "stainless" else None
            ),
            "Those are the plain steel rows of the card. These threads are stainless.",
        ),
    ),
)


# 2: the torque for dry threads, set on wet locker


def _dry_torque(n: Numbers) -> float:
    """The torque of the question, N·m: a whole number, for 75 % of proof on dry threads."""
    strength = grade(n.word("size"), n.word("class")).proof_strength
    force = n["share"] / 100.0 * strength * screw(n.word("size")).stress_area
    return float(round(force / preload(1.0, "dry", n.word("size"))))


def _of_yield(n: Numbers, condition: str = "") -> float:
    size = n.word("size")
    force = preload(_dry_torque(n), condition or n.word("condition"), size)
    strength = grade(size, n.word("class")).yield_strength
    return float(share_of_strength.si(force, screw(size).stress_area, strength))


_YIELDS = Exercise(
    id="locker-2",
    kind="quantity",
    dimension="fraction",
    points=2,
    tolerance=0.015,
    draws={
        "size": SIZES,
        "class": ("8.8", "10.9"),
        "share": (66, 70, 72, 74, 75, 77),
        "condition": ("medium locker, wet", "high locker, wet"),
    },
    ask=lambda n: (
        f"{_dry_torque(n):g} N·m is right for an {n.word('size')} screw of class "
        f"{n.word('class')} with dry threads. Somebody puts threadlocker on ("
        f"{n.word('condition')}) and sets the same. What share of the load at which the screw "
        "yields does the preload typically reach?\n\nGive it in %. Reckon as if it stayed elastic."
    ),
    right=_of_yield,
    why=lambda n: (
        f"F = {_dry_torque(n):g} / ({nut_factor(n.word('condition')):.2f} × "
        f"{screw(n.word('size')).major:g} m) = "
        f"{show(preload(_dry_torque(n), n.word('condition'), n.word('size')), 'kN')}, and stress "
        "area times yield strength is "
        f"{show(screw(n.word('size')).stress_area * grade(n.word('size'), n.word('class')).yield_strength, 'kN')}: "  # noqa: E501
        f"{show(_of_yield(n), '%')}. The twist of the wrench comes on top, so such a screw has "
        "been stretched for good. It goes in the scrap."
    ),
    wrong=(
        Slip(
            "nut factor of the dry thread",
            lambda n: _of_yield(n, "dry"),
            "That would hold if the thread were still dry. Wet locker lubricates it: take its K.",
        ),
        Slip(
            "proof strength for yield strength",
            lambda n: (
                _of_yield(n)
                * grade(n.word("size"), n.word("class")).yield_strength
                / grade(n.word("size"), n.word("class")).proof_strength
            ),
            "That is the share of the proof load. The load at which it yields is a little higher.",
        ),
        Slip(
            "full circle for the stress area",
            lambda n: (
                _of_yield(n)
                * screw(n.word("size")).stress_area
                / (math.pi / 4 * screw(n.word("size")).major ** 2)
            ),
            "You took the full circle of the thread's outside diameter. Take the stress area.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _of_yield(n),
            "Write the % with it: a bare number is read as a plain share, so 90 would be 9000 %.",
        ),
    ),
    hint="First the preload F = T/(K d) with the K of wet locker, then over area × yield strength.",
)

# 3 to 7 are in locker_questions

_CARD = (
    "dry", "oiled", "medium locker, wet", "high locker, wet", "stainless, dry",
    "stainless, locker wet",
)  # fmt: skip

LESSON = Lesson(
    name="friction-and-locker",
    number=3,
    title="Friction and locker",
    minutes=30,
    able=(
        "say what a change of lubricant or a wet locker does to the preload",
        "choose between medium and high strength, and say how each is undone",
        "keep the tightening inside the working time, on a warm and on a cold bench",
        "say what to do with a screw that is found too loose, before and after the locker sets",
    ),
    case=(
        "The air motor of the slip pump stands on four screws. They are secured with medium "
        "threadlocker, so that the strokes of the motor do not turn them out. On the last rebuild "
        "two of the four snapped when they were undone, and the other two had grown longer. The "
        "torque in the record was the one for dry threads. The locker had been wet when they were "
        "tightened, and a wet locker lubricates.\n\n"
        "Locker sets where metal is and air is not. On its label stand three times: the working "
        "time, in which the thread may still be turned; the fixture time, after which the joint "
        "can be handled; and the cure, after which it holds. They are given for one temperature. "
        "Ten degrees colder, it takes twice as long to set; ten degrees warmer, half as long. The "
        "clock starts when the wetted thread goes in.\n\n"
        f"On the wall hangs a card. Typical K: {nut_factors(_CARD)}. Stress areas: {areas()}. "
        f"Strengths: {strengths('8.8', '10.9')}."
    ),
    caution=(
        "The maker's manual says which locker goes where and with what torque, and the locker's "
        "data sheet gives its times; they prevail, as do local codes. High-strength locker is "
        "undone with heat: no solvent near it, seals out of the way, gloves, and air to breathe. "
        "All values here are invented."
    ),
    exercises=(_SAME_PRELOAD, _YIELDS, CURE, OPEN, BELOW, KIND, STEPS),
    take=(
        "Wet locker is a lubricant. Set the torque that is given for it, not the one for dry "
        "threads.",
        "The working time runs from the first wetted thread to the last turn of the last round.",
        "Warm benches shorten the working time. Cold ones lengthen fixture and cure.",
        "Too loose inside the working time: turn it on. Later: take it out, clean it, begin anew. "
        "A joint that has set is remade, not tightened on.",
        "Medium comes apart with hand tools. High wants heat; it is for rods and plungers.",
    ),
)  # fmt: skip
