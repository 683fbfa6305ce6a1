"""Lesson 1: torque in the unit the wrench is marked in, and the wrench that can do it.

The wrenches and windows are those of an invented tile works.
"""

from __future__ import annotations

from rebuildbook.calculators.drive import ATMOSPHERE
from rebuildbook.calculators.torque import reading_mix_up
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.lessons.wrench_questions import CROWFOOT, RIGHT_WRENCH, SCATTER
from rebuildbook.units import from_unit, number, show, to_unit


def _si(n: Numbers, name: str, unit: str) -> float:
    return from_unit(n[name], unit)


# 1: the sheet in one unit, the wrench in another

_TO_METRIC = Exercise(
    id="units-1",
    kind="quantity",
    dimension="torque",
    only="N*m",
    draws={"torque": (14, 15, 16, 18, 20, 22, 25, 28, 30, 35)},
    ask=lambda n: (
        f"A model sheet gives {n['torque']:g} ft·lbf for the cover screws. Your wrench is marked "
        "in N·m. What do you set?\n\nGive it in N·m."
    ),
    right=lambda n: _si(n, "torque", "ft*lbf"),
    why=lambda n: (
        f"One ft·lbf is 1.356 N·m, so {n['torque']:g} × 1.356 = "
        f"{number(_si(n, 'torque', 'ft*lbf'))} N·m. The number of N·m is always the larger one."
    ),
    wrong=(
        Slip(
            "number kept, unit changed",
            lambda n: n["torque"],
            "That is the same number with another unit. A foot-pound is more than a "
            "newton-metre, so the number has to change.",
        ),
        Slip(
            "divided instead of multiplied",
            lambda n: n["torque"] / from_unit(1.0, "ft*lbf"),
            "That is turned the wrong way round. A foot-pound is the larger unit, so it takes "
            "more newton-metres for the same torque.",
        ),
        Slip(
            "taken for inch-pounds",
            lambda n: _si(n, "torque", "in*lbf"),
            "That is what so many inch-pounds are. The sheet says foot-pounds, which are 12 times "
            "as large.",
        ),
        Slip(
            "taken for kgf·m",
            lambda n: _si(n, "torque", "kgf*m"),
            "That is the factor of kgf·m, 9.807. One ft·lbf is 1.356 N·m.",
        ),
    ),
)


# 2: the middle of a window on a small wrench in inch-pounds


def _window(n: Numbers) -> str:
    return f"{number(n['low'])} to {number(_high(n))} N·m"


def _high(n: Numbers) -> float:
    return float(f"{n['low'] * (1.0 + n['width']):.3g}")


def _middle_shown(n: Numbers) -> float:
    return (n["low"] + _high(n)) / 2.0


_TO_INCH = Exercise(
    id="units-2",
    kind="quantity",
    dimension="torque",
    only="in*lbf",
    tolerance=0.01,
    draws={"low": (4.0, 4.5, 5.0, 6.0, 7.0, 8.0, 9.0), "width": (0.15, 0.2, 0.25)},
    ask=lambda n: (
        f"The flange screws of a foot check are to get {_window(n)}. The small wrench is marked "
        "in in·lbf. You aim at the middle of the window. What do you set?\n\nGive it in in·lbf."
    ),
    right=_middle_shown,
    why=lambda n: (
        f"The middle is {number(_middle_shown(n))} N·m. Divided by 1.356 that is "
        f"{number(to_unit(_middle_shown(n), 'ft*lbf'))} ft·lbf, and times 12 it is "
        f"{number(to_unit(_middle_shown(n), 'in*lbf'))} in·lbf."
    ),
    wrong=(
        Slip(
            "factor 12 forgotten",
            lambda n: _middle_shown(n) / 12.0,
            "That is the number of foot-pounds. There are 12 inch-pounds in one foot-pound; a "
            "joint set like this is all but loose.",
        ),
        Slip(
            "factor 12 taken as 10",
            lambda n: _middle_shown(n) * 10.0 / 12.0,
            "A foot has 12 inches, not 10.",
        ),
        Slip(
            "low end of the window",
            lambda n: n["low"],
            "That is the low end. Set there, every wrench that gives a little less leaves the "
            "joint outside its window. Aim at the middle.",
        ),
        Slip(
            "high end of the window",
            _high,
            "That is the high end. Set there, every wrench that gives a little more leaves the "
            "joint outside its window. Aim at the middle.",
        ),
    ),
)


# 3: a reading whose unit was put down wrong

_SWAPS = {
    "ft·lbf put down as N·m": ("ft*lbf", "N*m"),
    "N·m put down as ft·lbf": ("N*m", "ft*lbf"),
    "in·lbf put down as ft·lbf": ("in*lbf", "ft*lbf"),
    "ft·lbf put down as in·lbf": ("ft*lbf", "in*lbf"),
}
_NO_SWAP = "no mix-up of units explains it"


def _put_down(n: Numbers) -> tuple[float, str]:
    """The number in the record and the unit put beside it."""
    meant, written = _SWAPS[n.word("swap")]
    return float(f"{to_unit(_si(n, 'torque', 'N*m'), meant):.3g}"), written


def _found_swap(n: Numbers) -> str:
    value, unit = _put_down(n)
    low, high = n["torque"] * 0.94, n["torque"] * 1.06
    found = reading_mix_up(from_unit(value, unit), low, high, unit)
    pairs = {pair: name for name, pair in _SWAPS.items()}
    return pairs.get((found.meant, found.written), _NO_SWAP) if found else _NO_SWAP


def _other_way(n: Numbers) -> str:
    written, meant = _SWAPS[_found_swap(n)]
    return next(name for name, pair in _SWAPS.items() if pair == (meant, written))


def _record(n: Numbers) -> str:
    value, unit = _put_down(n)
    return show(from_unit(value, unit), unit)


_MIX_UP = Exercise(
    id="units-3",
    kind="choice",
    options=(*_SWAPS, _NO_SWAP),
    draws={"torque": (20, 22, 24, 25, 28, 30, 32, 36), "swap": tuple(_SWAPS)},
    sound=lambda n: _found_swap(n) == n.word("swap"),
    ask=lambda n: (
        f"The window of a joint is {show(n['torque'] * 0.94, 'N*m')} to "
        f"{show(n['torque'] * 1.06, 'N*m')}. The wrench clicked, the gasket sits as it should, "
        f"and yet the record says {_record(n)}. What has happened?"
    ),
    right=_found_swap,
    why=lambda n: (
        f"{_record(n)} lies outside the window, but {_as_meant(n)} lies in it. Do not correct the "
        "record by hand alone: check the joint with the wrench, then put it down with its unit."
    ),
    wrong=(
        Slip(
            "the other way round",
            _other_way,
            "You have the two units, but the wrong way round. Work the record out both ways and "
            "see which lands in the window.",
        ),
        Slip(
            "mix-up not seen",
            lambda _: _NO_SWAP,
            "Try the number of the record with each unit in turn. With one of them it lands in "
            "the window.",
        ),
    ),
    hint="Try the number of the record with each unit in turn. One of them lands in the window.",
)


def _as_meant(n: Numbers) -> str:
    value, _ = _put_down(n)
    meant, _ = _SWAPS[n.word("swap")]
    torque = from_unit(value, meant)
    metric = "" if meant == "N*m" else f", which is {show(torque, 'N*m')},"
    return f"{show(torque, meant)}{metric}"


# 4: four torques in four units


def _four(n: Numbers) -> dict[str, tuple[float, str]]:
    return {
        "A": (n["metric"], "N*m"),
        "B": (n["foot"], "ft*lbf"),
        "C": (n["inch"], "in*lbf"),
        "D": (n["kilo"], "kgf*m"),
    }


def _sizes(n: Numbers) -> list[float]:
    return sorted(from_unit(*one) for one in _four(n).values())


_ORDER = Exercise(
    id="units-4",
    kind="order",
    options=("A", "B", "C", "D"),
    draws={
        "metric": (18, 21, 24, 27, 30),
        "foot": (12, 14, 16, 18, 20, 22, 25),
        "inch": (120, 140, 160, 180, 220, 250, 280),
        "kilo": (1.8, 2.0, 2.2, 2.5, 2.8, 3.2),
    },
    sound=lambda n: all(
        big > 1.06 * small for small, big in zip(_sizes(n), _sizes(n)[1:], strict=False)
    ),
    ask=lambda n: (
        "Four torques from four old sheets:\n"
        + "\n".join(f"{name}: {show(from_unit(*one), one[1])}" for name, one in _four(n).items())
        + "\n\nPut them in order, the smallest first."
    ),
    right=lambda n: tuple(sorted("ABCD", key=lambda name: from_unit(*_four(n)[name]))),
    why=lambda n: "In N·m: " + ", ".join(
        f"{name} {number(from_unit(*one))}"
        for name, one in sorted(_four(n).items(), key=lambda item: from_unit(*item[1]))
    ) + ".",
    wrong=(
        Slip(
            "sorted by the bare number",
            lambda n: tuple(sorted("ABCD", key=lambda name: _four(n)[name][0])),
            "That is the order of the bare numbers. Bring all four to one unit first.",
        ),
        Slip(
            "largest first",
            lambda n: tuple(sorted("ABCD", key=lambda name: -from_unit(*_four(n)[name]))),
            "The order is right but turned round: the smallest comes first.",
        ),
    ),
    hint="Bring all four to one unit first: 1 ft·lbf = 1.356 N·m = 12 in·lbf, 1 kgf·m = 9.807 N·m.",
)  # fmt: skip


# 5 to 7 are in wrench_questions

# 8: gauge and absolute

_ABSOLUTE = Exercise(
    id="units-8",
    kind="quantity",
    dimension="pressure",
    reference="absolute",
    only="bar",
    tolerance=0.01,
    draws={"pressure": (40, 50, 60, 70, 75, 80, 90, 100)},
    ask=lambda n: (
        f"The gauge at the air motor reads {n['pressure']:g} psi at sea level, where the air "
        "around it has 1.013 bar. For the air the pump uses you need the absolute pressure.\n\n"
        "Give it in bar, absolute."
    ),
    right=lambda n: _si(n, "pressure", "psi") + ATMOSPHERE,
    why=lambda n: (
        f"{n['pressure']:g} psi are {number(_si(n, 'pressure', 'psi') / 1e5)} bar above the air "
        "around, and 1.013 bar for that air come on top: "
        f"{number((_si(n, 'pressure', 'psi') + ATMOSPHERE) / 1e5)} bar absolute."
    ),
    wrong=(
        Slip(
            "gauge for absolute",
            lambda n: _si(n, "pressure", "psi"),
            "That is what the gauge reads, in bar. A gauge reads zero in the open air; the air's "
            "own 1.013 bar comes on top.",
        ),
        Slip(
            "atmosphere taken off",
            lambda n: _si(n, "pressure", "psi") - ATMOSPHERE,
            "You took the air's pressure off. Absolute pressure counts from nothing at all, so it "
            "is more than the gauge reads.",
        ),
        Slip(
            "psi taken for bar",
            lambda n: from_unit(n["pressure"], "bar") + ATMOSPHERE,
            "That takes the reading for bar. One bar is 14.5 psi.",
        ),
    ),
)

LESSON = Lesson(
    name="units-and-wrenches",
    number=1,
    title="Units and wrenches",
    minutes=30,
    able=(
        "carry a torque from ft·lbf, in·lbf or kgf·m to N·m and back without losing the 12",
        "see in a record that a unit was mixed up",
        "set a wrench with a crowfoot on it",
        "say what a setting may really deliver, and choose the wrench for a window",
        "tell gauge from absolute pressure",
    ),
    case=(
        "The torque wrenches in the pump shop of a tile works are not all alike: most are marked "
        "in N·m, one in ft·lbf, and a small one in in·lbf. The sheets are as mixed: the slip pump "
        "came with metric sheets, the dosing pump with a sheet in foot-pounds.\n\n"
        "On a Monday a foot check is back on the bench. Its flange screws had been set to the "
        "number on the sheet, on the wrong wrench. The number was right and the unit was not: "
        "inch-pounds in place of foot-pounds, a twelfth of the torque. The flange wept from the "
        "first hour.\n\n"
        "You set the joints of this pump. Every torque on paper has a number and a unit, and so "
        "has every wrench. On the wall hangs a card: 1 ft·lbf = 1.356 N·m, a foot has 12 inches, "
        "1 kgf·m = 9.807 N·m, one bar = 14.50 psi."
    ),
    caution=(
        "The maker's manual gives the torque of a joint, and it prevails, as do local codes. The "
        "values here are invented."
    ),
    exercises=(
        _TO_METRIC, _TO_INCH, _MIX_UP, _ORDER, CROWFOOT, SCATTER, RIGHT_WRENCH, _ABSOLUTE,
    ),
    take=(
        "A torque without its unit is no torque. Read the unit on the sheet and on the wrench.",
        "1 ft·lbf = 12 in·lbf = 1.356 N·m. One kgf·m is 9.807 N·m.",
        "A crowfoot that points outward makes the nut get more; set less.",
        "Aim at the middle of the window, and keep the wrench's whole scatter inside it.",
        "A wrench out of calibration is set aside, however well it clicks.",
    ),
)  # fmt: skip
