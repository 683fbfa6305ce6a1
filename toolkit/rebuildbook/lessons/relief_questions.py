"""Exercises of lesson 6 on the relief valve: full relief, weakest part, gauge, what to do."""

from __future__ import annotations

from rebuildbook.calculators.relief import assess_relief
from rebuildbook.calculators.relief_pressures import (
    PressureLimit,
    ReliefInputs,
    relief_pressures,
    set_tolerance,
)
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import from_unit, number, show

# how high it goes at full relief


def _relieving(n: Numbers) -> float:
    return relief_pressures(ReliefInputs(set_planned=n["set"] * 1e5)).relieving or 0.0


def _opens_high(n: Numbers) -> float:
    return relief_pressures(ReliefInputs(set_planned=n["set"] * 1e5)).opens_high or 0.0


RELIEVING = Exercise(
    id="relief-3",
    kind="quantity",
    dimension="pressure",
    reference="gauge",
    tolerance=0.008,
    draws={"set": (8, 10, 12, 14, 15, 16, 18, 20, 22, 24, 25, 28, 32, 36)},
    ask=lambda n: (
        f"A relief valve is set to {n['set']:g} bar. It opens within 3 % of that, either way, and "
        "to pass the whole flow of the pump the pressure has to rise another 10 % above where it "
        "opens. How high (gauge) may the pressure go?"
    ),
    right=_relieving,
    why=lambda n: (
        f"At worst it opens at {n['set']:g} × 1.03 = {show(_opens_high(n), 'bar')}; 10 % on top is "
        f"{show(_relieving(n), 'bar', 4)}. While it relieves, a part may commonly go 10 % above "
        "what it stands for good, and no higher."
    ),
    wrong=(
        Slip(
            "tolerance left out",
            lambda n: 1.1 * n["set"] * 1e5,
            "You took it to open just where it is set. It may open 3 % later.",
        ),
        Slip(
            "overpressure left out",
            _opens_high,
            "That is where it begins to open. To pass the whole flow it needs more.",
        ),
        Slip(
            "tolerance taken off",
            lambda n: 1.1 * (2.0 * n["set"] * 1e5 - _opens_high(n)),
            "You took the tolerance off. For how high it may go, add it.",
        ),
        Slip(
            "set pressure itself",
            lambda n: n["set"] * 1e5,
            "That is what is stamped on it. The pressure goes higher before it is full open.",
        ),
    ),
)


# which part it does not guard

_ALL = "it guards all three"
_NAMES = {
    "cylinder": "it may open above what the cylinder stands",
    "cover": "it may open above what the cover stands",
    "outlet pipe": "it may open above what the outlet pipe stands",
}


def _parts(n: Numbers) -> dict[str, float]:
    return {
        "cylinder": n["cylinder"] * 1e5,
        "cover": n["cover"] * 1e5,
        "outlet pipe": from_unit(n["pipe"], "psi"),
    }


def _weakest(n: Numbers) -> str:
    return min(_parts(n), key=_parts(n).__getitem__)


def _guards(n: Numbers) -> str:
    limits = tuple(PressureLimit(name, limit) for name, limit in _parts(n).items())
    found = assess_relief(ReliefInputs(parts=limits, set_planned=n["set"] * 1e5))
    clear = found.comparison("set-vs-limit").level == "clear"
    return _ALL if clear else _NAMES[_weakest(n)]


def _one_at_most(n: Numbers) -> bool:
    """Whether no more than one part is passed, and none by a hair."""
    limits = sorted(_parts(n).values())
    high = _opens_high(n)
    apart = limits[1] > 1.01 * limits[0]
    return apart and limits[1] > 1.01 * high and abs(limits[0] / high - 1.0) > 0.008


def _by_tolerance(n: Numbers) -> bool:
    """Whether only the tolerance takes it above the weakest part."""
    return n["set"] * 1e5 <= _parts(n)[_weakest(n)] and _guards(n) != _ALL


def _other(n: Numbers, place: int) -> str | None:
    """One of the parts that is not the weakest."""
    others = [name for name in _NAMES if name != _weakest(n)]
    return _NAMES[others[place]]


GUARDS = Exercise(
    id="relief-4",
    kind="choice",
    options=(*_NAMES.values(), _ALL),
    points=2,
    draws={
        "set": (26, 27, 28, 28.5, 29, 29.5, 30),
        "cylinder": (30, 31, 32, 34, 36),
        "cover": (28, 29, 30, 31, 32, 33),
        "pipe": (400, 415, 420, 435, 445, 460, 470, 500),
    },
    sound=_one_at_most,
    ask=lambda n: (
        f"A relief valve is set to {n['set']:g} bar and opens within 3 % of that. The cylinder "
        f"stands {n['cylinder']:g} bar, the cover {n['cover']:g} bar, the outlet pipe "
        f"{n['pipe']:g} psi. Does the valve open before any of them has more than it stands?"
    ),
    right=_guards,
    why=lambda n: (
        f"The weakest is the {_weakest(n)} with {show(_parts(n)[_weakest(n)], 'bar')} (one bar is "
        f"14.50 psi), and the valve may open as late as {show(_opens_high(n), 'bar')}. "
        + (
            "It opens below that, and at full relief it stays within the 10 % that are allowed "
            "meanwhile."
            if _guards(n) == _ALL
            else "The pump stays out of service until whoever is responsible has decided."
        )
    ),
    wrong=(
        Slip(
            "tolerance left out",
            lambda n: _ALL if _by_tolerance(n) else None,
            "The set pressure lies below the weakest part, but the valve may open 3 % later.",
        ),
        Slip(
            "weakest part overlooked",
            lambda n: None if _by_tolerance(n) or _guards(n) == _ALL else _ALL,
            "Bring all three to one unit and find the least. One of them is passed.",
        ),
        Slip(
            "weakest part named though it is guarded",
            lambda n: _NAMES[_weakest(n)] if _guards(n) == _ALL else None,
            "That is the weakest, but hold the latest opening against it: the valve opens below.",
        ),
        Slip(
            "a stronger part named",
            lambda n: _other(n, 0),
            "That part stands more than another. Bring all three to one unit: 14.50 psi are a bar.",
        ),
        Slip(
            "another stronger part named",
            lambda n: _other(n, 1),
            "That one is not the weakest. Find the least of the three in one unit first.",
        ),
    ),
)


# a gauge and its error


def _error(n: Numbers) -> float:
    return n["class"] / 100.0 * n["scale"] * 1e5


GAUGE = Exercise(
    id="relief-5",
    kind="quantity",
    dimension="pressure",
    draws={
        "scale": (40, 60, 100, 160),
        "reading": (12, 14, 15, 18, 20, 22, 24, 25, 28, 30),
        "class": (1, 1.6, 2.5),
    },
    sound=lambda n: 0.2 < n["reading"] / n["scale"] < 0.6,
    ask=lambda n: (
        f"A gauge runs from 0 to {n['scale']:g} bar and is good to ± {n['class']:g} % of full "
        f"scale. It reads {n['reading']:g} bar. By how much may it be out, either way?"
    ),
    right=_error,
    why=lambda n: (
        f"{n['class']:g} % of {n['scale']:g} bar is {show(_error(n), 'bar', 2)}, wherever the "
        f"needle stands. At {n['reading']:g} bar that is "
        f"{show(_error(n) / n['reading'] / 1e5, '%', 2)} of the reading. So a gauge is chosen that "
        "stands in the middle of its dial."
    ),
    wrong=(
        Slip(
            "per cent of the reading",
            lambda n: n["class"] / 100.0 * n["reading"] * 1e5,
            "You took the share of the reading. It is a share of full scale, so it is the same all "
            "over the dial.",
        ),
        Slip(
            "per cent of what is left of the dial",
            lambda n: n["class"] / 100.0 * (n["scale"] - n["reading"]) * 1e5,
            "You took the share of what is left above the needle. Take it of the whole scale.",
        ),
        Slip(
            "per cent taken for bar",
            lambda n: n["class"] * 1e5,
            "Those are the per cents, put down as bar. Take them of the full scale.",
        ),
        Slip(
            "error added to the reading",
            lambda n: n["reading"] * 1e5 + _error(n),
            "That is the most it may truly be. Only the error was asked.",
        ),
    ),
)


# what to do with a reading

_SERVICE = "write the reading down; the valve may stay in service"
_HAND_ON = "pump out of service, valve and reading to whoever is qualified to set it"
_SCREW = "turn its screw at the bench until it opens where it should"
_SHUT = "shut the valve off for now, as the drive stalls anyway"


def _opened(n: Numbers) -> float:
    return from_unit(float(f"{n['set'] * (1 + n['off'] / 100):.3g}"), "bar")


def _decision(n: Numbers) -> str:
    level = n["set"] * 1e5
    within = abs(_opened(n) - level) <= float(set_tolerance.si(level))
    return _SERVICE if within else _HAND_ON


TO_DO = Exercise(
    id="relief-7",
    kind="choice",
    options=(_SCREW, _SERVICE, _SHUT, _HAND_ON),
    draws={
        "set": (16, 18, 20, 22, 24, 25, 28),
        "off": (-12, -8, -6, -5, -2, -1.5, 1.5, 2, 5, 6, 7, 9, 12),
    },
    ask=lambda n: (
        f"A relief valve is to open at {n['set']:g} bar, within 3 %. On the bench it opens at "
        f"{show(_opened(n), 'bar')}, three times alike, on a gauge that is in calibration. What "
        "do you do?"
    ),
    right=_decision,
    why=lambda n: (
        f"3 % of {n['set']:g} bar is {number(0.03 * n['set'], 2)} bar, and it is "
        f"{number(abs(_opened(n) / 1e5 - n['set']), 2)} bar off. "
        + (
            "That is within the tolerance."
            if _decision(n) == _SERVICE
            else "Too late, and it does not guard; too early, and it weeps and wears. Setting, "
            "testing and sealing are for whoever is qualified and named for it."
        )
    ),
    wrong=(
        Slip(
            "outside the tolerance, and passed",
            lambda n: _SERVICE if _decision(n) == _HAND_ON else None,
            "Work out 3 % of the set pressure and hold against it how far the valve is off.",
        ),
        Slip(
            "within the tolerance, and refused",
            lambda n: _HAND_ON if _decision(n) == _SERVICE else None,
            "Work out 3 % of the set pressure: the valve opens within it.",
        ),
        Slip(
            "set at the bench",
            lambda _: _SCREW,
            "A relief valve is checked at the bench and not set there. That is for whoever is "
            "qualified and named for it.",
        ),
        Slip(
            "valve shut off",
            lambda _: _SHUT,
            "Never. The drive stalls where the air lets it, not where the weakest part wants it.",
        ),
    ),
)
