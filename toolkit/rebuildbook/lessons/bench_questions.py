"""Exercises of lesson 8 with numbers: stall pressure, leak from creep, flow that is lost."""

from __future__ import annotations

from rebuildbook.calculators.drive import (
    StrokeAreas,
    double_acting_areas,
    double_acting_displacement,
    piston_area,
    single_acting_displacement,
    stall_by_areas,
)
from rebuildbook.calculators.leak_places import places
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import from_unit, show, to_unit

_FRICTION = 0.08
_STROKES = ("going up", "going down")


def _millimetres(n: Numbers, name: str) -> float:
    return n[name] / 1000.0


# the pressure at which it stalls


def _stall(n: Numbers, friction: float = _FRICTION) -> tuple[float, float]:
    """Stall pressure going up and going down, Pa."""
    area = float(piston_area.si(_millimetres(n, "air")))
    fluid = double_acting_areas(_millimetres(n, "bore"), _millimetres(n, "rod"))
    found = stall_by_areas(n["supply"] * 1e5, StrokeAreas(area, area), fluid, friction)
    return float(found.up or 0.0), float(found.down or 0.0)


def _way(n: Numbers) -> int:
    return _STROKES.index(n.word("stroke"))


def _areas(n: Numbers) -> tuple[float, float]:
    areas = double_acting_areas(_millimetres(n, "bore"), _millimetres(n, "rod"))
    return areas.up, areas.down


STALL = Exercise(
    id="reading-3",
    kind="quantity",
    dimension="pressure",
    reference="gauge",
    points=2,
    draws={
        "supply": (3, 3.5, 4, 4.5, 5),
        "bore": (63, 70, 80),
        "rod": (25, 30, 32),
        "air": (140, 160, 180),
        "stroke": _STROKES,
    },
    ask=lambda n: (
        f"Bore {n['bore']:g} mm, rod {n['rod']:g} mm, air piston {n['air']:g} mm on both sides; "
        f"{n['supply']:g} bar of air (gauge). Friction takes 8 % of the drive's force. The rod "
        "comes in from above. At what liquid pressure (gauge) does the pump stall "
        f"{n.word('stroke')}?"
    ),
    right=lambda n: _stall(n)[_way(n)],
    why=lambda n: (
        f"Air force less 8 % over the area under pressure {n.word('stroke')}, which is "
        + ("the ring between bore and rod" if _way(n) == 0 else "the full bore")
        + f", {show(_areas(n)[_way(n)], 'cm^2')}: {show(_stall(n)[_way(n)], 'bar')}."
    ),
    wrong=(
        Slip(
            "the other stroke's area",
            lambda n: _stall(n)[1 - _way(n)],
            "That is the other stroke. Going up the ring between bore and rod is under pressure, "
            "going down the full bore.",
        ),
        Slip(
            "friction left out",
            lambda n: _stall(n, 0.0)[_way(n)],
            "That is without friction. Seals and packing take their share of the force first.",
        ),
        Slip(
            "diameters for areas",
            lambda n: n["supply"] * 1e5 * (1 - _FRICTION) * n["air"] / n["bore"],
            "That is the ratio of the diameters. Forces go with the areas, so with the diameters "
            "squared.",
        ),
        Slip(
            "ratio upside down",
            lambda n: (n["supply"] * 1e5 * (1 - _FRICTION)) ** 2 / _stall(n, _FRICTION)[_way(n)],
            "Your ratio stands upside down: the air piston is the larger one, so the liquid's "
            "pressure is the higher one.",
        ),
    ),
)


# a leak from the creep


def _leak(n: Numbers) -> float:
    return _areas(n)[_way(n)] * _millimetres(n, "creep")


LEAK_FLOW = Exercise(
    id="reading-4",
    kind="quantity",
    dimension="flow",
    points=2,
    draws={
        "bore": (63, 70, 80),
        "rod": (25, 30, 32, 36),
        "creep": (6, 8, 9, 11, 12, 14, 15, 18, 20),
        "stroke": _STROKES,
    },
    ask=lambda n: (
        f"Bore {n['bore']:g} mm, rod {n['rod']:g} mm from above. Stalled against the shut outlet, "
        f"the rod creeps {n['creep']:g} mm a second {n.word('stroke')}. How much leaks?"
    ),
    right=_leak,
    why=lambda n: (
        f"The area under pressure {n.word('stroke')} is {show(_areas(n)[_way(n)], 'cm^2')}; times "
        f"{n['creep']:g} mm/s that is {show(_leak(n), 'L/min')}. What the piston sweeps at stall "
        "is what leaks."
    ),
    wrong=(
        Slip(
            "ring and full bore mixed up",
            lambda n: _areas(n)[1 - _way(n)] * _millimetres(n, "creep"),
            "You took the other side of the piston. Going up it is the ring, going down the full "
            "bore.",
        ),
        Slip(
            "diameter for radius",
            lambda n: 4.0 * _leak(n),
            "That is four times too much: the area of a circle goes with the radius squared, and "
            "the radius is half the bore.",
        ),
        Slip(
            "second for minute",
            lambda n: _leak(n) / 60.0,
            "That is what leaks in a second, put down as a minute's.",
        ),
        Slip(
            "rod's area",
            lambda n: float(piston_area.si(_millimetres(n, "rod"))) * _millimetres(n, "creep"),
            "That is the rod's section. The piston sweeps the liquid, not the rod.",
        ),
    ),
)


# the share of flow that is lost


def _swept(n: Numbers) -> float:
    sizes = _millimetres(n, "bore"), _millimetres(n, "rod"), _millimetres(n, "stroke")
    return float(double_acting_displacement.si(*sizes)) * n["rate"] / 60.0


def _measured(n: Numbers) -> float:
    """The flow as the meter reads it, m³/s: three figures of L/min."""
    return from_unit(float(f"{to_unit(_swept(n) * n['kept'], 'L/min'):.3g}"), "L/min")


def _lost(n: Numbers, swept: float | None = None) -> float:
    return 1.0 - _measured(n) / (_swept(n) if swept is None else swept)


def _positive(value: float) -> float | None:
    return value if value > 0.0 else None


LOST_SHARE = Exercise(
    id="reading-5",
    kind="quantity",
    dimension="fraction",
    tolerance=0.04,
    points=2,
    draws={
        "bore": (63, 70, 80),
        "rod": (25, 30, 32, 36),
        "stroke": (100, 110, 120, 130),
        "rate": (24, 28, 30, 32, 36),
        "kept": (0.68, 0.72, 0.74, 0.76, 0.78, 0.82, 0.84),
    },
    ask=lambda n: (
        f"A double-acting pump with bore {n['bore']:g} mm, rod {n['rod']:g} mm from above and "
        f"stroke {n['stroke']:g} mm runs at {n['rate']:g} cycles a minute. The meter reads "
        f"{show(_measured(n), 'L/min')}. What share of what the pistons sweep is lost?\n\n"
        "A cycle is up and down. Give the share in %."
    ),
    right=_lost,
    why=lambda n: (
        f"Ring and full bore together sweep {show(_swept(n), 'L/min', 4)}; "
        f"{show(_measured(n), 'L/min')} come out, so {show(_lost(n), '%')} are lost. A healthy "
        "pump of this kind loses some 5 to 10 % (common practice, no source)."
    ),
    wrong=(
        Slip(
            "what is left for what is lost",
            lambda n: 1.0 - _lost(n),
            "That is the share that comes out. The lost share is the rest.",
        ),
        Slip(
            "rod forgotten",
            lambda n: _lost(n, 2.0 * _one_stroke(n)),
            "Going up the rod takes its room in the chamber: the ring sweeps less than the bore.",
        ),
        Slip(
            "rod taken off twice",
            lambda n: _positive(_lost(n, 2.0 * _swept(n) - 2.0 * _one_stroke(n))),
            "The rod stands in one chamber only. Going down the full bore sweeps.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _lost(n),
            "Write the % with it: a bare number is read as a plain share, so 20 would be 2000 %.",
        ),
    ),
    hint="Sweep of a cycle: stroke times (ring + full bore). Times the cycles a minute.",
)


def _one_stroke(n: Numbers) -> float:
    volume = single_acting_displacement.si(_millimetres(n, "bore"), _millimetres(n, "stroke"))
    return float(volume) * n["rate"] / 60.0


# the same thought on a diaphragm pump


def _pair(stroke: str) -> str:
    names = [one.name for one in places("double diaphragm") if one.stroke == stroke]
    return " and ".join(names)


_PAIRS = {"left": _pair("up-stroke"), "right": _pair("down-stroke")}
_OWN = {
    side: " and ".join(one.name for one in places("double diaphragm") if one.chamber == side)
    for side in ("left", "right")
}

DIAPHRAGM = Exercise(
    id="reading-6",
    kind="choice",
    options=(*_PAIRS.values(), *_OWN.values()),
    draws={"side": ("left", "right")},
    ask=lambda n: (
        "An air-operated double diaphragm pump gives less whenever the "
        f"{n.word('side')} chamber delivers; the other stroke is full. Both diaphragms are whole. "
        "Which two checks are to be looked at?"
    ),
    right=lambda n: _PAIRS[n.word("side")],
    why=lambda n: (
        f"While the {n.word('side')} chamber delivers, its inlet check and the other chamber's "
        "outlet check part pressure from suction. It is the piston pump's rule again."
    ),
    wrong=(
        Slip(
            "both checks of that chamber",
            lambda n: _OWN[n.word("side")],
            "The outlet check of the chamber that delivers stands open then; it has nothing to "
            "hold.",
        ),
        Slip(
            "both checks of the other chamber",
            lambda n: _OWN[_other(n)],
            "The inlet check of the chamber that fills stands open then; it has nothing to hold.",
        ),
        Slip(
            "the other stroke",
            lambda n: _PAIRS[_other(n)],
            "Those two hold while the other chamber delivers.",
        ),
    ),
)


def _other(n: Numbers) -> str:
    return "right" if n.word("side") == "left" else "left"
