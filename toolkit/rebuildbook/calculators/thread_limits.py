"""Limits of size of screw threads by tolerance class, as thread stripping needs them.

Sources: [1] ISO 965-1, formulas for fundamental deviations and tolerances, rounded to the R40
series of preferred numbers as its tables are; formulas and tables read in a public reproduction.
[2] ASME B1.1 section 5.8, formulas for allowance and tolerances; read in a public reproduction.
"""

from __future__ import annotations

import bisect
import itertools
import math
import re
from dataclasses import dataclass

from rebuildbook.calculators.threads import INCH, MILLIMETRE, Thread

_R40 = (
    1.00, 1.06, 1.12, 1.18, 1.25, 1.32, 1.40, 1.50, 1.60, 1.70, 1.80, 1.90, 2.00, 2.12, 2.24, 2.36,
    2.50, 2.65, 2.80, 3.00, 3.15, 3.35, 3.55, 3.75, 4.00, 4.25, 4.50, 4.75, 5.00, 5.30, 5.60, 6.00,
    6.30, 6.70, 7.10, 7.50, 8.00, 8.50, 9.00, 9.50,
)  # fmt: skip
_LADDER = tuple(value * 10**decade for decade in (0, 1, 2, 3) for value in _R40)
# steps of the R40 series between grade 6 and the other grades: 0.63 is eight steps down, and so on
_GRADE_STEPS = {3: -12, 4: -8, 5: -4, 6: 0, 7: 4, 8: 8, 9: 12}
_INTERNAL_STEP = 5  # TD2 = 1.32 Td2 of the same grade
_DIAMETER_STEPS = (0.99, 1.4, 2.8, 5.6, 11.2, 22.4, 45.0, 90.0, 180.0, 355.0)
# where the printed table [1] departs from the rounded formula, µm at grade 6 by pitch, mm
_PRINTED_INTERNAL_MINOR = {0.5: 140.0, 1.0: 236.0, 2.5: 450.0}
_PRINTED_MAJOR = {4.0: 475.0}
_PRINTED_DEVIATION = {0.75: 22.0}
_PRINTED_PITCH = {(2.8, 0.5): 75.0, (45.0, 5.0): 250.0}
_DEVIATION_OFFSET = {"e": 50.0, "f": 30.0, "g": 15.0}
_FORMS = {
    "6g": re.compile(r"(?:[3-9][e-h]){1,2}"),
    "6H": re.compile(r"(?:[3-9][GH]){1,2}"),
    "2A": re.compile(r"[123]A"),
    "2B": re.compile(r"[123]B"),
}
_INCH_GRADE = {"1": 1.5, "2": 1.0, "3": 0.75}


@dataclass(frozen=True, slots=True)
class ExternalLimits:
    """Limits of size of an external thread, m."""

    tolerance: str
    major_min: float
    major_max: float
    pitch_min: float
    pitch_max: float


@dataclass(frozen=True, slots=True)
class InternalLimits:
    """Limits of size of an internal thread, m; the major diameter has no upper limit to check."""

    tolerance: str
    minor_min: float
    minor_max: float
    pitch_min: float
    pitch_max: float


def external_limits(thread: Thread, tolerance: str = "") -> ExternalLimits:
    """Give the limits of the bolt or stud thread.

    The class is ``tolerance``, or the external class the designation carries, or the common 6g or
    2A. Metric [1]: es = −(15 + 11P), Td(6) = 180 P^⅔ − 3.15/√P, Td2(6) = 90 P^0.4 d^0.1 (µm, P and
    d in mm, d the geometric mean of its diameter step). Unified [2]: Td2 = 0.0015 (D^⅓ + LE^½ +
    10 P^⅔), Td = 0.060 P^⅔, allowance 0.3 Td2 of class 2A (inches), LE the standard length of
    engagement. Plating comes on top of these limits. Raises ValueError for a class that is not
    external.

    >>> from rebuildbook.calculators.threads import parse_thread
    >>> limits = external_limits(parse_thread("M10-6g"))  # ISO 965-2: 9.732 and 8.862 mm
    >>> f"{limits.major_min * 1e3:.3f} {limits.pitch_min * 1e3:.3f}"
    '9.732 8.862'
    """
    if thread.system == "unified":
        return _unified_external(thread, _class_of(thread, tolerance, "2A"))
    name = _class_of(thread, tolerance, "6g")
    step = _geometric_step(thread)
    pitch_micron = _preferred(_metric_pitch_tolerance(step, _mm(thread.pitch)), int(name[0]))
    grade = int(name[-2])
    if grade not in (4, 6, 8):
        raise ValueError(f"class {name}: major diameter has grades 4, 6 and 8 only")
    major_micron = _preferred(_metric_major_tolerance(_mm(thread.pitch)), grade)
    pitch_max = thread.pitch_diameter - _deviation(thread, name[1])
    major_max = thread.major - _deviation(thread, name[-1])
    return ExternalLimits(
        name, major_max - major_micron * 1e-6, major_max, pitch_max - pitch_micron * 1e-6, pitch_max
    )


def internal_limits(thread: Thread, tolerance: str = "") -> InternalLimits:
    """Give the limits of the nut or tapped thread.

    The class is ``tolerance``, or the internal class the designation carries, or the common 6H or
    2B. Metric [1]: TD2 = 1.32 Td2; TD1(6) = 433 P − 190 P^1.22 up to P = 0.8 mm, 230 P^0.7 from
    1 mm (µm). Unified [2]: TD2 = 1.3 Td2; TD1 = 0.25 P − 0.4 P² (inches) from 1/4 in diameter up
    in classes 1B and 2B. Raises ValueError for a class that is not internal.

    >>> from rebuildbook.calculators.threads import parse_thread
    >>> limits = internal_limits(parse_thread("M10"))  # ISO 965-2, 6H: 8.676 and 9.206 mm
    >>> f"{limits.minor_max * 1e3:.3f} {limits.pitch_max * 1e3:.3f}"
    '8.676 9.206'
    """
    if thread.system == "unified":
        return _unified_internal(thread, _class_of(thread, tolerance, "2B"))
    name = _class_of(thread, tolerance, "6H")
    minor_grade = int(name[-2])
    if not (4 <= int(name[0]) <= 8 and 4 <= minor_grade <= 8):
        raise ValueError(f"class {name}: internal threads have grades 4 to 8")
    pitch = _mm(thread.pitch)
    pitch_micron = _preferred(
        _metric_pitch_tolerance(_geometric_step(thread), pitch), int(name[0]), _INTERNAL_STEP
    )
    minor_micron = _preferred(_metric_internal_minor_tolerance(pitch), minor_grade)
    pitch_min = thread.pitch_diameter + _deviation(thread, name[1].lower())
    minor_min = thread.internal_minor_diameter + _deviation(thread, name[-1].lower())
    return InternalLimits(
        name, minor_min, minor_min + minor_micron * 1e-6, pitch_min, pitch_min + pitch_micron * 1e-6
    )


def _class_of(thread: Thread, asked: str, common: str) -> str:
    """Choose the class: what is asked, else what is written for this side, else the common one."""
    form = _FORMS[common]
    written = (part for part in thread.tolerance.split("/") if form.fullmatch(part))
    name = asked or next(written, common)
    if not form.fullmatch(name):
        raise ValueError(f"class {name!r} does not fit here; write one such as {common}")
    return name


def _mm(length: float) -> float:
    return round(length / MILLIMETRE, 9)


def _preferred(micron: float, grade: int = 6, steps: int = 0) -> float:
    """Round a grade 6 tolerance to the R40 series and go the grade's steps along it."""
    above = bisect.bisect_left(_LADDER, micron)
    near = min((above - 1, above), key=lambda place: abs(_LADDER[place] - micron))
    return _LADDER[near + _GRADE_STEPS[grade] + steps]


def _geometric_step(thread: Thread) -> tuple[float, float]:
    major = _mm(thread.major)
    for low, high in itertools.pairwise(_DIAMETER_STEPS):
        if low < major <= high:
            return low, high
    raise ValueError(f"{thread.designation}: ISO 965-1 tolerances cover 1 mm to 355 mm")


def _metric_pitch_tolerance(step: tuple[float, float], pitch: float) -> float:
    formula = 90.0 * math.pow(pitch, 0.4) * math.pow(step[0] * step[1], 0.05)
    return _PRINTED_PITCH.get((step[0], pitch), formula)


def _metric_major_tolerance(pitch: float) -> float:
    return _PRINTED_MAJOR.get(pitch, 180.0 * math.pow(pitch, 2 / 3) - 3.15 / math.sqrt(pitch))


def _metric_internal_minor_tolerance(pitch: float) -> float:
    formula = (
        433.0 * pitch - 190.0 * math.pow(pitch, 1.22)
        if pitch <= 0.8
        else 230.0 * math.pow(pitch, 0.7)
    )
    return _PRINTED_INTERNAL_MINOR.get(pitch, formula)


def _deviation(thread: Thread, position: str) -> float:
    """Give the clearance between basic profile and tolerance zone, m; none in position h or H."""
    if position == "h":
        return 0.0
    pitch = _mm(thread.pitch)
    formula = _DEVIATION_OFFSET[position] + 11.0 * pitch
    printed = _PRINTED_DEVIATION.get(pitch) if position == "g" else None
    return round(printed or _preferred(formula)) * 1e-6


def _unified_pitch_tolerance(thread: Thread, name: str) -> float:
    """Give Td2 of the class, inches [2]."""
    diameter, pitch = thread.major / INCH, thread.pitch / INCH
    series = thread.series.replace("UNR", "UN")
    coarse = series in {"UNC", "UNF"} or (series == "UN" and round(1.0 / pitch) in {4, 6, 8})
    engagement = diameter if coarse else 9.0 * pitch
    class_2 = 0.0015 * (math.cbrt(diameter) + math.sqrt(engagement) + 10.0 * math.pow(pitch, 2 / 3))
    return class_2 * _INCH_GRADE[name[0]]


def _unified_external(thread: Thread, name: str) -> ExternalLimits:
    pitch = thread.pitch / INCH
    pitch_tolerance = _unified_pitch_tolerance(thread, name)
    allowance = 0.0 if name[0] == "3" else 0.3 * _unified_pitch_tolerance(thread, "2A")
    major_tolerance = (0.090 if name[0] == "1" else 0.060) * math.pow(pitch, 2 / 3)
    major_max = thread.major - allowance * INCH
    pitch_max = thread.pitch_diameter - allowance * INCH
    return ExternalLimits(
        name,
        major_max - major_tolerance * INCH,
        major_max,
        pitch_max - pitch_tolerance * INCH,
        pitch_max,
    )


def _unified_internal(thread: Thread, name: str) -> InternalLimits:
    pitch_tolerance = 1.3 * _unified_pitch_tolerance(thread, name)
    minor_tolerance = _unified_minor_tolerance(thread.major / INCH, thread.pitch / INCH, name)
    minor_min = thread.internal_minor_diameter
    return InternalLimits(
        name,
        minor_min,
        minor_min + minor_tolerance * INCH,
        thread.pitch_diameter,
        thread.pitch_diameter + pitch_tolerance * INCH,
    )


def _unified_minor_tolerance(diameter: float, pitch: float, name: str) -> float:
    """Give TD1, inches [2]; small sizes and class 3B are held between two bounds."""
    general = 0.25 * pitch - 0.4 * pitch**2 if pitch <= 0.25 else 0.15 * pitch
    close = 0.05 * math.pow(pitch, 2 / 3) + 0.03 * pitch / diameter - 0.002
    most = 0.394 * pitch
    if name[0] == "3":
        floor = 0.23 * pitch - 1.5 * pitch**2 if pitch < 0.08 else 0.12 * pitch
        return min(most, max(close, floor))
    return general if diameter >= 0.25 - 1e-9 else min(most, max(close, general))
