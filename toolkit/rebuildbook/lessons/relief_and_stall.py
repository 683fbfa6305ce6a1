"""Lesson 6: what the drive can reach, where the relief valve opens, and what it has to guard.

The pump and its valve are those of an invented tile works. A relief valve is checked here, never
set: nothing in this lesson raises one, shuts one off or sets one aside.
"""

from __future__ import annotations

from rebuildbook.calculators.drive import (
    ATMOSPHERE,
    StrokeAreas,
    double_acting_areas,
    free_air,
    piston_area,
    stall_by_areas,
)
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.lessons.relief_questions import GAUGE, GUARDS, RELIEVING, TO_DO
from rebuildbook.units import from_unit, number, show, to_unit

# 1: the most the drive can reach


def _fluid(n: Numbers) -> StrokeAreas:
    return double_acting_areas(n["bore"] / 1e3, n["rod"] / 1e3)


def _stall(n: Numbers, supply: float = 0.0) -> float:
    area = float(piston_area.si(n["air"] / 1e3))
    return stall_by_areas(supply or n["supply"] * 1e5, StrokeAreas(area, area), _fluid(n)).pressure


def _on_full_bore(n: Numbers) -> float:
    return _stall(n) * _fluid(n).up / _fluid(n).down


_MOST = Exercise(
    id="relief-1",
    kind="quantity",
    dimension="pressure",
    reference="gauge",
    points=2,
    tolerance=0.01,
    draws={
        "supply": (4, 4.5, 5, 5.5, 6),
        "bore": (63, 70, 80),
        "rod": (25, 28, 30, 32),
        "air": (140, 160, 180),
    },
    ask=lambda n: (
        f"A double-acting pump has a bore of {n['bore']:g} mm and a rod of {n['rod']:g} mm through "
        f"its upper chamber. An air piston of {n['air']:g} mm pushes both ways with "
        f"{n['supply']:g} bar (gauge). What is the highest pressure (gauge) that it can reach on "
        "either stroke?\n\nLeave friction out, as this is to be held against strength."
    ),
    right=_stall,
    why=lambda n: (
        "The smaller area gives the higher pressure, and that is the ring round the rod, "
        f"{show(_fluid(n).up, 'cm^2')}: {n['supply']:g} bar × "
        f"{to_unit(float(piston_area.si(n['air'] / 1e3)), 'cm^2'):.1f} / "
        f"{to_unit(_fluid(n).up, 'cm^2'):.1f} = {show(_stall(n), 'bar')}. Air goes in as gauge, so "
        "the liquid comes out as gauge."
    ),
    wrong=(
        Slip(
            "rod forgotten",
            _on_full_bore,
            "That is the full bore. In the upper chamber the rod takes its room: the pressure "
            "works on the ring, and on the smaller area it is higher.",
        ),
        Slip(
            "ratio of diameters",
            lambda n: n["supply"] * 1e5 * n["air"] / n["bore"],
            "You took the ratio of the diameters. Forces go with the areas.",
        ),
        Slip(
            "absolute air pressure for gauge",
            lambda n: _stall(n, n["supply"] * 1e5 + ATMOSPHERE),
            "You added the atmosphere to the air. It also stands behind the pistons: take gauge on "
            "both sides.",
        ),
        Slip(
            "friction taken off",
            lambda n: 0.92 * _stall(n),
            "You took 8 % off for friction. For a question of strength none is taken: a dry day "
            "or a new seal may have less.",
        ),
        Slip(
            "ratio upside down",
            lambda n: (n["supply"] * 1e5) ** 2 / _stall(n),
            "Your ratio stands upside down. The air piston is the larger one, so the liquid's "
            "pressure is the higher one.",
        ),
    ),
    hint="Air pressure × air piston's area / area of the ring, π/4 × (bore² − rod²).",
)


# 2: what friction takes


def _read(n: Numbers) -> float:
    """What the gauge shows at stall, Pa: three figures of bar."""
    return from_unit(float(f"{n['supply'] * n['ratio'] * (1 - n['loss'] / 100):.3g}"), "bar")


def _ideal(n: Numbers) -> float:
    return n["supply"] * n["ratio"] * 1e5


def _friction(n: Numbers) -> float:
    return 1.0 - _read(n) / _ideal(n)


_FRICTION = Exercise(
    id="relief-2",
    kind="quantity",
    dimension="fraction",
    tolerance=0.03,
    draws={
        "supply": (3, 3.5, 4, 4.5, 5, 5.5),
        "ratio": (3.2, 3.6, 4.0, 4.4, 4.8),
        "loss": (5, 6, 7, 9, 11, 12, 14, 16, 18),
    },
    sound=lambda n: abs(_friction(n) - n["loss"] / 100.0) < 0.005,
    ask=lambda n: (
        f"The drive of another pump has an area ratio of {n['ratio']:g}. With {n['supply']:g} bar "
        f"of air it stalls, and the liquid's gauge shows {show(_read(n), 'bar')}. What share of "
        "the drive's force does friction take?\n\nGive it in %."
    ),
    right=_friction,
    why=lambda n: (
        f"Without friction it would be {n['supply']:g} × {n['ratio']:g} = "
        f"{show(_ideal(n), 'bar')}. {show(_read(n), 'bar')} are there, so "
        f"{show(_friction(n), '%')} are lost. Some 5 to 10 % is usual "
        "(common practice, no source); much more says that a packing is nipped up too hard."
    ),
    wrong=(
        Slip(
            "what is left for what is lost",
            lambda n: 1.0 - _friction(n),
            "That is the share that reaches the liquid. The lost share is the rest.",
        ),
        Slip(
            "share of the reading",
            lambda n: _ideal(n) / _read(n) - 1.0,
            "You divided by what the gauge shows. The share is of what the drive could reach.",
        ),
        Slip(
            "ratio left out",
            lambda n: 1.0 - n["supply"] * 1e5 / _read(n),
            "You held the liquid against the air. The air piston is larger by the ratio: multiply "
            "by that first.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _friction(n),
            "Write the % with it: a bare number is read as a plain share, so 8 would be 800 %.",
        ),
    ),
)

# 3 to 5 and 7 are in relief_questions


# 6: gauge and absolute


def _air(n: Numbers, pressure: float | None = None) -> float:
    at = n["supply"] * 1e5 if pressure is None else pressure
    return float(free_air.si(n["volume"] / 1e3, at)) * n["rate"] / 60.0


_FREE_AIR = Exercise(
    id="relief-6",
    kind="quantity",
    dimension="air flow",
    tolerance=0.01,
    draws={
        "volume": (2.4, 3.0, 3.6, 4.2, 4.8, 5.4),
        "supply": (3.5, 4, 4.5, 5, 5.5, 6),
        "rate": (20, 24, 30, 36, 40),
    },
    ask=lambda n: (
        f"In each cycle the air motor fills {n['volume']:g} L with air of {n['supply']:g} bar "
        f"(gauge). It makes {n['rate']:g} cycles a minute. How much free air does it use, as the "
        "compressor draws it in at 1.013 bar absolute? Leave leaks and warmth out."
    ),
    right=_air,
    why=lambda n: (
        f"Air shrinks with its absolute pressure: ({n['supply']:g} + 1.013) / 1.013 = "
        f"{number((n['supply'] * 1e5 + ATMOSPHERE) / ATMOSPHERE)} times. "
        f"{n['volume']:g} L × {n['rate']:g} a minute × that is {show(_air(n), 'L/min')}. For "
        "forces take gauge, for volumes of gas absolute pressure."
    ),
    wrong=(
        Slip(
            "gauge for absolute",
            lambda n: _air(n, n["supply"] * 1e5 - ATMOSPHERE),
            "You took the gauge's reading. A volume of air goes with the absolute pressure, which "
            "is 1.013 bar more.",
        ),
        Slip(
            "not expanded",
            lambda n: _air(n, 0.0),
            "Those are litres of compressed air. As free air they take several times the room.",
        ),
        Slip(
            "cycle for minute",
            lambda n: _air(n) / n["rate"],
            "That is one cycle's air, put down as a minute's.",
        ),
        Slip(
            "expanded the wrong way",
            lambda n: _air(n, 0.0) ** 2 / _air(n),
            "You made it smaller. Compressed air takes more room when it is let go.",
        ),
    ),
)

LESSON = Lesson(
    name="relief-and-stall",
    number=6,
    title="Relief and stall",
    minutes=30,
    able=(
        "work out the most that an air drive can reach, and what friction takes of it",
        "say how high the pressure may go before a relief valve is full open",
        "find the weakest part, and say whether the valve guards it",
        "read a gauge with its error, and tell gauge from absolute",
        "say what to do with a valve that opens at the wrong pressure",
    ),
    case=(
        "The slip pump of the tile works has a bore of 80 mm, a rod of 30 mm and an air piston of "
        "160 mm. The press was slow one day, and somebody turned the air up from 5 to 7 bar. The "
        "outlet was shut at the far end, the pump stalled as it always did, and a flange on the "
        "riser began to weep. It stands 30 bar. The relief valve had not opened, though the record "
        "says that it opens at 29. It had been read on a gauge that runs to 100 bar and is good to "
        "2.5 % of full scale.\n\n"
        "An air-driven pump stalls where liquid and air balance: air pressure times the ratio of "
        "areas, less what friction takes. More air, more pressure, up to what the line can give. "
        "A pump on a crank does not stall like that; there the valve alone stands between the pump "
        "and its weakest part.\n\n"
        "A valve does not open just where it is set. Above some 5 bar it may be 3 % early or late. "
        "To pass the whole flow it needs another 10 % on top. The least that any part stands, "
        "cylinder, cover or pipe, is what all this is held against."
    ),
    caution=(
        "A relief valve is checked, never raised, gagged, shimmed or shut off. It is set, tested "
        "and sealed by whoever is qualified and named for it, by the maker's procedure. The "
        "maker's manual prevails, as do local codes. A stalled pump is under full pressure: "
        "screens, rated hoses, nobody in line with a plug. All values are invented."
    ),
    exercises=(_MOST, _FRICTION, RELIEVING, GUARDS, GAUGE, _FREE_AIR, TO_DO),
    take=(
        "Stall pressure = air pressure × ratio of areas, less friction. For strength leave "
        "friction out, and take the stroke with the smaller area.",
        "The highest pressure is not the set pressure: add its tolerance, and then what the valve "
        "needs to open fully.",
        "Hold it against the weakest part, in one unit.",
        "Per cent of full scale is the same error all over the dial.",
        "Forces go with gauge pressure, volumes of gas with absolute.",
        "A valve that opens at the wrong pressure is taken out of service and handed on, not "
        "adjusted at the bench.",
    ),
)  # fmt: skip
