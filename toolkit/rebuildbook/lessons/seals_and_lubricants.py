"""Lesson 7: how an O-ring lies in its groove, which rubber it is, and what goes on it.

Grooves, duties and the grease shelf are those of an invented tile works.
"""

from __future__ import annotations

import math

from rebuildbook.calculators.o_ring import Assessment, assess_o_ring
from rebuildbook.calculators.o_ring_gland import FaceGland, RadialGland, Service
from rebuildbook.calculators.o_ring_sizes import ORing, plus_minus
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.lesson import Lesson
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.lessons.seal_questions import ENOUGH, GAP, GREASE, RUBBER
from rebuildbook.units import number, show

_SECTIONS = (1.78, 2.62, 3.53, 5.33, 6.99)  # mm, of the inch series


# 1: squeeze


def _depth(n: Numbers) -> float:
    """Depth of the groove, mm: two decimals."""
    return round(n["section"] * (1.0 - n["share"] / 100.0), 2)


def _face(n: Numbers) -> Assessment:
    """The ring in a groove whose outer wall it just touches, neither stretched nor pressed in."""
    inside, section = 0.060, n["section"] / 1e3
    gland = FaceGland(
        plus_minus(_depth(n) / 1e3), plus_minus(1.4 * section), plus_minus(inside + 2 * section)
    )
    return assess_o_ring(ORing(plus_minus(inside), plus_minus(section)), gland)


def _squeeze(n: Numbers) -> float:
    return _face(n).squeeze_share.nominal


_SQUEEZE = Exercise(
    id="seals-1",
    kind="quantity",
    dimension="fraction",
    draws={"section": _SECTIONS, "share": (18, 19, 21, 22, 24, 25, 27, 28)},
    ask=lambda n: (
        f"An O-ring with a section of {n['section']:g} mm lies in a groove {_depth(n):g} mm deep, "
        "closed by a flat cover that touches metal. How much of its section is it squeezed by?\n\n"
        "Give it in %."
    ),
    right=_squeeze,
    why=lambda n: (
        f"({n['section']:g} − {_depth(n):g}) / {n['section']:g} = {show(_squeeze(n), '%')}. "
        "Squeeze is always a share of the ring's own section. It is what seals while there is no "
        "pressure yet."
    ),
    wrong=(
        Slip(
            "share of the groove's depth",
            lambda n: n["section"] / _depth(n) - 1.0,
            "You divided by the depth of the groove. Squeeze is a share of the ring's section.",
        ),
        Slip(
            "what is left for what is squeezed",
            lambda n: 1.0 - _squeeze(n),
            "That is how high the ring still stands. How much it is squeezed by is asked.",
        ),
        Slip(
            "half, for one side",
            lambda n: 0.5 * _squeeze(n),
            "You halved it. The whole of what the cover presses down counts.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _squeeze(n),
            "Write the % with it: a bare number is read as a plain share, so 22 would be 2200 %.",
        ),
    ),
)


# 2: stretch


def _groove(n: Numbers) -> float:
    """Diameter of the groove's bottom, mm: a tenth."""
    return round(n["inside"] * (1.0 + n["stretch"] / 100.0), 1)


def _stretch(n: Numbers) -> float:
    groove, section = _groove(n) / 1e3, n["section"] / 1e3
    gland = RadialGland(
        "male", plus_minus(groove), plus_minus(groove + 1.6 * section), plus_minus(1.4 * section)
    )
    ring = ORing(plus_minus(n["inside"] / 1e3), plus_minus(section))
    return assess_o_ring(ring, gland).stretch.nominal


_STRETCH = Exercise(
    id="seals-2",
    kind="quantity",
    dimension="fraction",
    tolerance=0.04,
    draws={
        "inside": (32, 36, 40, 45, 50, 56, 63, 71, 80),
        "stretch": (2, 2.5, 3, 4, 6, 7, 8),
        "section": (2.62, 3.53, 5.33),
    },
    ask=lambda n: (
        f"An O-ring, {n['inside']:g} mm inside and {n['section']:g} mm in section, goes into a "
        f"groove round a plug. The bottom of the groove has {_groove(n):g} mm. How much is the "
        "ring stretched?\n\nGive it in %."
    ),
    right=_stretch,
    why=lambda n: (
        f"{_groove(n):g} / {n['inside']:g} − 1 = {show(_stretch(n), '%')}. "
        + (
            "That is within the 5 % that are commonly taken as the most."
            if _stretch(n) <= 0.05
            else "That is more than the 5 % commonly taken as the most: the section thins, so the "
            "squeeze goes, and stretched rubber ages sooner. It is the wrong size."
        )
    ),
    wrong=(
        Slip(
            "ring's outside for its inside",
            lambda n: abs(_groove(n) / (n["inside"] + 2 * n["section"]) - 1.0),
            "You held the groove against the ring's outside. Its inside lies on the groove's "
            "bottom.",
        ),
        Slip(
            "half the difference",
            lambda n: 0.5 * _stretch(n),
            "You took half the difference, as for radii, over a whole diameter. Take both as "
            "diameters.",
        ),
        Slip(
            "new size for the growth",
            lambda n: 1.0 + _stretch(n),
            "That is how large it is now. By how much it was stretched is asked.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _stretch(n),
            "Write the % with it: a bare number is read as a plain share, so 3 would be 300 %.",
        ),
    ),
)


# 3: how full the groove is


def _filled(n: Numbers, swell: float | None = None) -> float:
    """Fill of a groove whose wall the ring touches, swollen as in the question or by ``swell``."""
    inside, section, width = n["inside"] / 1e3, n["section"] / 1e3, n["width"] / 1e3
    gland = FaceGland(
        plus_minus(n["deep"] * section), plus_minus(width), plus_minus(inside + section + width)
    )
    ring = ORing(plus_minus(inside), plus_minus(section))
    service = Service(swell=n["swell"] / 100.0 if swell is None else swell)
    return assess_o_ring(ring, gland, service).fill.nominal


def _gland_depth(n: Numbers) -> float:
    return n["deep"] * n["section"]


_FILL = Exercise(
    id="seals-3",
    kind="quantity",
    dimension="fraction",
    points=2,
    draws={
        "inside": (90, 100, 110, 120),
        "section": (3.5, 4, 5),
        "deep": (0.75, 0.8),
        "width": (4.8, 5.2, 5.6, 6.0, 6.6, 7.0),
        "swell": (5, 8, 10, 12, 15),
    },
    sound=lambda n: 0.65 < _filled(n) < 0.97,
    ask=lambda n: (
        f"An O-ring with a section of {n['section']:g} mm lies in a groove {n['width']:g} mm wide "
        f"and {number(_gland_depth(n))} mm deep. In service the rubber swells by {n['swell']:g} % "
        "of its volume. How full is the groove then?\n\nGive the share in %, by areas: the ring's "
        "round section, swollen, over the groove's rectangle."
    ),
    right=_filled,
    why=lambda n: (
        f"π/4 × {n['section']:g}² × {1 + n['swell'] / 100:g} / ({n['width']:g} × "
        f"{number(_gland_depth(n))}) = {show(_filled(n), '%')}. Rubber changes its shape, not "
        "its volume: a groove that fills right up is forced open, or shears the ring. Up to 85 % "
        "is wanted as fitted, and 95 % at the very worst."
    ),
    wrong=(
        Slip(
            "swelling left out",
            lambda n: _filled(n, 0.0),
            "That is the ring as fitted. In service it swells.",
        ),
        Slip(
            "square for round section",
            lambda n: _filled(n) * 4.0 / math.pi,
            "You took the ring as a square. Its section is round: π/4 times the square.",
        ),
        Slip(
            "diameter for radius",
            lambda n: 4.0 * _filled(n),
            "That is four times too much: π r² wants the radius, half of the section.",
        ),
        Slip(
            "swelling counted on the diameter",
            lambda n: _filled(n) * (1.0 + n["swell"] / 100.0),
            "You let the diameter swell by that, and squared it. The volume swells by it.",
        ),
        Slip(
            "room left for room filled",
            lambda n: 1.0 - _filled(n),
            "That is the room that is left. How full it is is asked.",
        ),
        Slip(
            "per cent sign left out",
            lambda n: 100.0 * _filled(n),
            "Write the % with it: a bare number is read as a plain share, so 80 would be 8000 %.",
        ),
    ),
)

# 4 to 7 are in seal_questions

LESSON = Lesson(
    name="seals-and-lubricants",
    number=7,
    title="Seals and lubricants",
    minutes=30,
    able=(
        "work out squeeze, stretch and fill of an O-ring, and say what each is for",
        "say when a ring wants a back-up ring, and on which side",
        "choose a rubber for a fluid and its temperature",
        "choose a grease that harms neither the rubber nor the ware",
    ),
    case=(
        "A glaze pump came back from its rebuild tight and quiet. The next day the tiles came out "
        "of the glaze with craters, small bare rings all over. Nothing was wrong with the pump. "
        "The rings had been greased from the wrong tub: silicone, which leaves a film that glaze "
        "will not wet. A trace is enough, and it takes days to rinse out.\n\n"
        "The spare ring in the wash-water pump was another story. It was of the right size and the "
        "wrong rubber, and the mineral grease on it had made it swell until it filled its groove "
        "and was cut.\n\n"
        "An O-ring seals because it is squeezed. Pressure then pushes it to the far side of its "
        "groove and squeezes it more, and the gap there has to be so small that it is not pushed "
        "in. On the wall hangs a card. Nitrile (NBR): oil, grease, white spirit, cold water, slip "
        "and glaze; hardens in hot water; not acetone, toluene or bleach. Ethylene propylene "
        "(EPDM): water, hot water to 130 °C, slip, glaze, alkali, bleach, acetone; never mineral "
        "oil, its solvents or its greases. Fluorocarbon (FKM): oil to 200 °C, white spirit, "
        "toluene; only fair in slip, glaze and bleach; not hot water, not acetone. Silicone rubber "
        "(VMQ): very hot and very cold air; weak, so not in slip or glaze; not solvents, and not "
        "silicone grease."
    ),
    caution=(
        "The maker's manual gives size, rubber and lubricant of a seal, and it prevails, as do "
        "local codes. A card like this one sorts out what is known to go wrong; the supplier's "
        "word on the very recipe goes before it. For drinking water and food both ring and grease "
        "have to be registered for it. All values are invented."
    ),
    exercises=(_SQUEEZE, _STRETCH, _FILL, ENOUGH, GAP, RUBBER, GREASE),
    take=(
        "Squeeze is a share of the section, stretch of the inside diameter, fill of the groove.",
        "Less squeeze where the ring slides than where it lies still.",
        "A back-up ring goes on the side away from the pressure; with pressure from both sides, "
        "one on each.",
        "A rubber is chosen for fluid and temperature together, and for the grease as well.",
        "Silicone stays out of pumps for glaze, coating and adhesive, and out of the drawer they "
        "are greased from.",
    ),
)  # fmt: skip
