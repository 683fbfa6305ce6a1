"""Exercises of lesson 1 on the wrench itself: a crowfoot, its scatter, and which one to take."""

from __future__ import annotations

import math
from datetime import date

from rebuildbook.calculators.torque import adapter_setting
from rebuildbook.calculators.wrench import Wrench, assess_wrench, choose_wrench
from rebuildbook.lessons.exercise import Exercise, Slip
from rebuildbook.lessons.numbers import Numbers
from rebuildbook.units import number

_DAY = date(2026, 3, 2)


def _arms(n: Numbers) -> tuple[float, float, float]:
    return n["lever"] / 1000.0, n["offset"] / 1000.0, math.radians(n["angle"])


CROWFOOT = Exercise(
    id="units-5",
    kind="quantity",
    dimension="torque",
    tolerance=0.01,
    points=2,
    draws={
        "torque": (24, 28, 30, 32, 36, 40, 45, 50),
        "lever": (280, 300, 320, 360, 400),
        "offset": (40, 45, 50, 60, 75),
        "angle": (0, 45, 60),
    },
    ask=lambda n: (
        f"A nut behind the air motor is to get {n['torque']:g} N·m and only a crowfoot reaches "
        f"it. From the middle of the grip to the drive square it is {n['lever']:g} mm, from the "
        f"square to the nut {n['offset']:g} mm. "
        + (
            "The crowfoot points straight out. "
            if n["angle"] == 0
            else f"The crowfoot stands at {n['angle']:g}° to the wrench, pointing outward. "
        )
        + "What do you set?"
    ),
    right=lambda n: float(adapter_setting.si(n["torque"], *_arms(n))),
    why=lambda n: (
        "The crowfoot makes the lever longer, so the nut gets more than the scale says and you "
        f"set less: {n['torque']:g} × {n['lever']:g} / ({n['lever']:g} + {n['offset']:g} × cos "
        f"{n['angle']:g}°) = {number(float(adapter_setting.si(n['torque'], *_arms(n))))} N·m."
    ),
    wrong=(
        Slip(
            "no allowance for the adapter",
            lambda n: n["torque"],
            "That would be right without the crowfoot. With it the nut gets more than you set.",
        ),
        Slip(
            "formula upside down",
            lambda n: n["torque"] ** 2 / float(adapter_setting.si(n["torque"], *_arms(n))),
            "Your fraction stands upside down. The longer lever gives the nut more, so the "
            "setting has to be less than the torque wanted.",
        ),
        Slip(
            "angle left out",
            lambda n: (
                None if n["angle"] == 0 else float(adapter_setting.si(n["torque"], *_arms(n)[:2]))
            ),
            "That holds for a crowfoot that points straight out. At an angle only its part along "
            "the wrench counts: its length times the cosine.",
        ),
        Slip(
            "adapter taken off the lever",
            lambda n: n["torque"] * (1.0 - n["offset"] / n["lever"] * math.cos(_arms(n)[2])),
            "You took the crowfoot's part from the lever. The whole length, lever and crowfoot, "
            "stands below the line.",
        ),
    ),
)


def _set(n: Numbers) -> Wrench:
    return Wrench("W", 20.0, 100.0, "N*m", n["step"], n["accuracy"] / 100.0)


def _lowest(n: Numbers) -> float:
    return assess_wrench(20.0, 100.0, _set(n), on=_DAY, setting=n["setting"]).delivered_low


def _highest(n: Numbers) -> float:
    return assess_wrench(20.0, 100.0, _set(n), on=_DAY, setting=n["setting"]).delivered_high


SCATTER = Exercise(
    id="units-6",
    kind="quantity",
    dimension="torque",
    tolerance=0.005,
    points=2,
    draws={"setting": (24, 26, 28, 30, 32, 34, 36), "accuracy": (3, 4, 5, 6), "step": (1, 2)},
    ask=lambda n: (
        f"A click wrench with a scale step of {n['step']:g} N·m is good to ± {n['accuracy']:g} % "
        f"of the value set. You set {n['setting']:g} N·m. What is the least that the screw may "
        "get?\n\nCount half a scale step for the setting as well."
    ),
    right=_lowest,
    why=lambda n: (
        f"{n['setting']:g} less {n['accuracy']:g} % of it less half a step of {n['step']:g} N·m: "
        f"{number(_lowest(n), 4)} N·m. It may be as much as {number(_highest(n), 4)} N·m. Both "
        "have to lie in the joint's window."
    ),
    wrong=(
        Slip(
            "half step left out",
            lambda n: n["setting"] * (1.0 - n["accuracy"] / 100.0),
            "The wrench is in it, but not the hand: a scale can be set half a step too low.",
        ),
        Slip(
            "wrench's accuracy left out",
            lambda n: n["setting"] - n["step"] / 2.0,
            "That is only the half step. The wrench itself may also give less than it is set to.",
        ),
        Slip(
            "whole step taken",
            lambda n: n["setting"] * (1.0 - n["accuracy"] / 100.0) - n["step"],
            "Half a step, not a whole one: past half a step you would read the next mark.",
        ),
        Slip("most, not least", _highest, "That is the most it may get. The least is asked for."),
        Slip(
            "nothing taken off",
            lambda n: n["setting"],
            "No wrench gives just what it is set to. Take off its accuracy and half a step.",
        ),
    ),
)


_WRENCHES = {
    "the small one, 4 to 20 N·m": Wrench(
        "small", 4.0, 20.0, "N*m", 0.1, 0.04, calibration_due=date(2026, 11, 30)
    ),
    "the middle one, 10 to 60 N·m": Wrench(
        "middle", 10.0, 60.0, "N*m", 0.5, 0.04, calibration_due=date(2026, 9, 15)
    ),
    "the large one, 40 to 200 N·m": Wrench(
        "large", 40.0, 200.0, "N*m", 1.0, 0.04, calibration_due=date(2026, 6, 1)
    ),
    "the old one, 5 to 150 N·m, due last autumn": Wrench(
        "old", 5.0, 150.0, "N*m", 0.5, 0.04, calibration_due=date(2025, 10, 15)
    ),
}
_OLD = "the old one, 5 to 150 N·m, due last autumn"


def _edges(n: Numbers) -> tuple[float, float]:
    """The window as the question gives it, N·m."""
    return n["low"], float(f"{n['low'] * 1.15:.3g}")


def _choice(n: Numbers) -> str:
    best = choose_wrench(*_edges(n), _WRENCHES.values(), on=_DAY).best
    names = {wrench: name for name, wrench in _WRENCHES.items()}
    return names[best.wrench] if best else ""


def _out_of_reach(n: Numbers, wrench: Wrench) -> bool:
    found = assess_wrench(*_edges(n), wrench, on=_DAY)
    return any(one.kind in {"range", "least fraction", "scatter"} for one in found.objections)


def _first_out_of_reach(n: Numbers, names: list[str]) -> str | None:
    return next((name for name in names if _out_of_reach(n, _WRENCHES[name])), None)


RIGHT_WRENCH = Exercise(
    id="units-7",
    kind="choice",
    options=tuple(_WRENCHES),
    draws={"low": (6, 7, 8, 9, 11, 14, 22, 25, 28, 32, 38, 44, 60, 70, 80, 95, 110, 130)},
    ask=lambda n: (
        f"A joint is to get {number(_edges(n)[0])} to {number(_edges(n)[1])} N·m, and it is the "
        "2nd of March 2026. "
        "All four wrenches are good to ± 4 % and are used from 20 % of full scale up. Which do "
        "you take?"
    ),
    right=_choice,
    why=lambda n: (
        f"{_choice(n)[0].upper()}{_choice(n)[1:]}: in range, its scatter lies in the window, it "
        "is above 20 % of full scale, and its calibration holds on the day."
    ),
    wrong=(
        Slip(
            "calibration expired",
            lambda _: _OLD,
            "It would reach, but its calibration ran out. Until it has been checked nobody knows "
            "what it gives.",
        ),
        Slip(
            "too small or too large",
            lambda n: _first_out_of_reach(n, [one for one in _WRENCHES if one != _OLD]),
            "Hold the window against that wrench's range, and against 20 % of its full scale.",
        ),
    ),
    hint="Hold the window against each wrench's range, and against 20 % of its full scale.",
)
