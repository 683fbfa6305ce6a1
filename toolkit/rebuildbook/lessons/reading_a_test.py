"""Lesson 8: find a leak from the stroke on which it shows.

The pump, its readings and its faults are invented; what each reading would be is predicted by the
same model as the worksheet's diagnosis, and so is what the readings point to.
"""

from __future__ import annotations

import functools

import numpy as np

from rebuildbook.calculators.bench_card import Card, card
from rebuildbook.calculators.diagnosis import Diagnosis, diagnose
from rebuildbook.calculators.drive import StrokeAreas, double_acting_areas, piston_area
from rebuildbook.calculators.next_test import next_test
from rebuildbook.calculators.pump_units import double_acting
from rebuildbook.lessons.bench_questions import DIAPHRAGM, LEAK_FLOW, LOST_SHARE, STALL
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import number, to_unit

BORE, ROD, STROKE, AIR_PISTON = 0.080, 0.030, 0.120, 0.160  # m
RATE, SUPPLY = 40 / 60, 4e5  # cycles/s, Pa gauge

_CHECKS = ("upper inlet", "upper outlet", "lower inlet", "lower outlet")
_UP, _DOWN = "upper inlet or lower outlet", "upper outlet or lower inlet"
_SEAL, _PACKING, _AIR = "piston seal", "rod packing", "air valve"
_PLACES = (_UP, _DOWN, _SEAL, _PACKING)


@functools.cache
def bench() -> Card:
    """Give the bench card of the lesson's pump: double-acting, four ball checks."""
    area = float(piston_area.si(AIR_PISTON))
    pump = double_acting(
        double_acting_areas(BORE, ROD), StrokeAreas(area, area), stroke=STROKE, rate=RATE,
        supply=SUPPLY,
    )  # fmt: skip
    return card(pump)


@functools.lru_cache(maxsize=256)
def readings(fault: str, severity: float) -> tuple[tuple[str, float], ...]:
    """Predict the usual card's readings with one fault, rounded as a bench puts them down; SI."""
    names = [one.name for one in bench().pump.faults]
    severities = np.zeros(len(names))
    severities[names.index(fault)] = severity
    places = bench().places(bench().usual)
    values = bench().predict(severities, places).tolist()
    return tuple(
        (name, float(f"{value:.2g}" if abs(value) > 1e-9 else "0"))
        for name, value in zip(bench().usual, values, strict=True)
    )


@functools.lru_cache(maxsize=256)
def diagnosis(fault: str, severity: float, few: bool = False) -> Diagnosis:
    """Diagnose those readings: all of the usual card, or with ``few`` creep and weep alone."""
    taken = {
        name: value
        for name, value in readings(fault, severity)
        if not few or name.startswith(("creep", "weep"))
    }
    return diagnose(bench(), taken)


def _said(n: Numbers) -> str:
    return diagnosis(n.word("fault"), n["severity"]).explanations[0].likely().said


def _creeps(n: Numbers) -> str:
    taken = dict(readings(n.word("fault"), n["severity"]))
    up, down = (
        to_unit(taken[f"creep, {stroke}"], "mm/s") for stroke in ("up-stroke", "down-stroke")
    )
    weep = taken["weep, rod packing"]
    cup = f"{number(to_unit(weep, 'L/min') * 1000, 2)} mL a minute"
    wet = f"a cup under the rod packing catches {cup}" if weep else "the rod packing is dry"
    return (
        f"Creep at stall, going up: {_speed(up)}\nCreep at stall, going down: {_speed(down)}\n"
        f"Outside: {wet}\nRelief valve: nothing at its return"
    )


def _speed(value: float) -> str:
    return f"{number(value, 2)} mm/s" if value else "none"


_WHERE = Exercise(
    id="reading-1",
    kind="choice",
    options=_PLACES,
    draws={"fault": (*_CHECKS, _SEAL, _PACKING), "severity": (0.04, 0.06)},
    sound=lambda n: _said(n) in _PLACES,
    ask=lambda n: (
        "The outlet is shut, the air is on, and the pump has come to a stand. It should stay "
        f"there.\n\n{_creeps(n)}\n\nWhere does it leak?"
    ),
    right=_said,
    why=lambda n: _why_there(_said(n)),
    wrong=(
        Slip(
            "the other stroke",
            lambda n: {_UP: _DOWN, _DOWN: _UP}.get(_said(n)),
            "Those two hold the other stroke. Ask which chamber is under pressure on the stroke "
            "that creeps, and which check shuts that chamber off from the suction.",
        ),
        Slip(
            "piston seal for a check",
            lambda n: _SEAL if _said(n) in {_UP, _DOWN} else None,
            "The piston seal parts the two chambers on both strokes, so it would creep both ways.",
        ),
        Slip(
            "a check for the piston seal",
            lambda n: _UP if _said(n) == _SEAL else None,
            "A check leaks on one stroke only. This pump creeps both ways.",
        ),
        Slip(
            "a check for the packing",
            lambda n: _UP if _said(n) == _PACKING else None,
            "The stroke fits, but look at what is caught outside: a check leaks inside the pump, "
            "where nobody sees it.",
        ),
        Slip(
            "packing, though it is dry",
            lambda n: _PACKING if _said(n) != _PACKING else None,
            "A packing that leaks is wet outside. This one is dry.",
        ),
    ),
    hint="First the stroke, then the chamber under pressure on it, then what shuts that chamber.",
    points=2,
)


def _why_there(said: str) -> str:
    if said == _UP:
        return (
            "Going up, the upper chamber is under pressure and the lower one fills. The upper "
            "inlet and the lower outlet both part pressure from suction then. Creep alone cannot "
            "tell the two from each other."
        )
    if said == _DOWN:
        return (
            "Going down, the lower chamber is under pressure and the upper one fills. The lower "
            "inlet and the upper outlet both part pressure from suction then. Creep alone cannot "
            "tell the two from each other."
        )
    if said == _SEAL:
        return (
            "It creeps both ways, nothing comes out at the packing or the relief valve: what "
            "stands between the chambers on both strokes is the piston seal."
        )
    return (
        "The packing is under pressure going up, and what it loses runs down the rod. Creep on "
        "that stroke and the cup agree."
    )


# which test comes next

_TESTS = (
    "vacuum hold",
    "catch at the relief's return",
    "air across the air piston seal",
    "stall with the suction blanked",
)
_TOO_FEW = {_SEAL}  # asked with creep and weep alone, so that the relief valve is still open


def _diagnosed(n: Numbers) -> Diagnosis:
    fault = n.word("fault")
    return diagnosis(fault, n["severity"], few=fault in _TOO_FEW)


def _next(n: Numbers) -> str:
    found = next_test(_diagnosed(n))
    return found.name if found else ""


def _open(n: Numbers) -> str:
    return _diagnosed(n).explanations[0].said


def _other_test(n: Numbers, name: str) -> str | None:
    return None if _next_test(n.word("fault"), n["severity"]) == name else name


@functools.lru_cache(maxsize=256)
def _next_test(fault: str, severity: float) -> str:
    return _next(Numbers("", {"fault": fault, "severity": severity}))


_NEXT = Exercise(
    id="reading-2",
    kind="choice",
    options=_TESTS,
    draws={"fault": (*_CHECKS, _SEAL, _AIR), "severity": (0.04, 0.06)},
    sound=lambda n: _next_test(n.word("fault"), n["severity"]) in _TESTS,
    ask=lambda n: (
        f"The readings so far leave this open: {_open(n)}. Which test parts them with the least "
        "work?"
    ),
    right=lambda n: _next_test(n.word("fault"), n["severity"]),
    why=lambda n: _why_next(_next_test(n.word("fault"), n["severity"])),
    wrong=(
        Slip(
            "vacuum where it tells nothing",
            lambda n: _other_test(n, _TESTS[0]),
            "A vacuum on the suction shows which inlet check holds. What is open here lies "
            "elsewhere.",
        ),
        Slip(
            "relief valve, which is not in question",
            lambda n: _other_test(n, _TESTS[1]),
            "That test speaks of the relief valve alone, and a relief valve leaks whichever way "
            "the rod goes. It is not among what is open here.",
        ),
        Slip(
            "air side, where the liquid side is in question",
            lambda n: _other_test(n, _TESTS[2]),
            "That test tells what passes inside the air motor. What is open here is on the liquid "
            "side.",
        ),
        Slip(
            "suction blanked",
            lambda n: _other_test(n, _TESTS[3]),
            "Either all that is open here would answer it alike, or another of these tests says "
            "it with less work.",
        ),
    ),
    hint="Ask of each test: would it read differently for the one and for the other?",
)


def _why_next(test: str) -> str:
    return {
        _TESTS[0]: (
            "The vacuum is held by the inlet checks. If it stays, the inlet is tight and the "
            "outlet of the other chamber is left."
        ),
        _TESTS[1]: (
            "A relief valve that passes shows at its return, below its set pressure. If nothing "
            "comes, the piston seal is left. Catch it; do not touch the setting."
        ),
        _TESTS[2]: (
            "Feed one air chamber with the air valve off and measure what the other passes. If "
            "nothing comes across, the air valve is left."
        ),
    }[test]


LESSON = Lesson(
    name="reading-a-test",
    number=8,
    title="Reading a test",
    minutes=30,
    able=(
        "say which chambers and checks are under pressure on which stroke",
        "tell a check, a piston seal and a packing apart from creep at stall",
        "name the test to do next, and why",
        "work out the stall pressure, a leak from the creep, and the share of flow that is lost",
    ),
    case=(
        "A double-acting slip pump of a tile works is on the bench after a rebuild. Bore 80 mm, "
        "rod 30 mm, stroke 120 mm; an air piston of 160 mm drives it. The rod comes in from above, "
        "so the upper chamber is a ring and the lower one a full bore. Each chamber has an inlet "
        "and an outlet check, four balls in all.\n\n"
        "Going up, the upper chamber delivers and the lower one fills. Going down it is the other "
        "way about. A check that does not hold lets liquid back to the suction on one stroke only, "
        "so the stroke on which the pump falls short or creeps says where to look. The piston seal "
        "works on both strokes.\n\n"
        "The fitter shuts the outlet, lets the pump come to a stand, and puts a rule beside the "
        "rod. What moves now is leakage."
    ),
    caution=(
        "A stalled pump is under full pressure: screens, rated hoses, nobody in line with a plug. "
        "The relief valve is checked, never raised or shut off. The maker's manual and local codes "
        "prevail. All values are invented."
    ),
    exercises=(_WHERE, _NEXT, STALL, LEAK_FLOW, LOST_SHARE, DIAPHRAGM),
    take=(
        "Creep on one stroke: a check. Creep on both: the piston seal, or the relief valve.",
        "Two checks share each stroke: the inlet of the chamber under pressure and the outlet of "
        "the other. A vacuum on the suction parts them.",
        "What leaks outside can be caught; look there before you open the pump.",
        "Stall pressure is a matter of areas and friction. A leak hardly moves it, so a good stall "
        "pressure does not prove a tight pump.",
    ),
)
