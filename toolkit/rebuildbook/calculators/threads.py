"""Screw threads: read a designation and give its geometry.

Sources: [1] ISO 68-1 and ISO 724, basic profile and dimensions of metric threads. [2] ASME B1.1,
unified inch threads. [3] ISO 898-1, stress area and proof load of bolts, screws and studs.
[4] Shigley's Mechanical Engineering Design, tables 8-1 and 8-2. The rows of the reference tables
carry their own sources. Limits of size are in ``thread_limits``, strength in ``thread_strength``,
friction in ``thread_friction``.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal

from rebuildbook.reference import rows
from rebuildbook.units import UnitProblem, parse_amount, quantities

INCH = 0.0254
MILLIMETRE = 1e-3
LONGEST_DESIGNATION = 60  # characters
System = Literal["metric", "unified"]


@quantities("m", major="m", pitch="m")
def pitch_diameter(major: Any, pitch: Any) -> Any:
    """Give the basic pitch diameter d2 = d − 0.649519 P of a 60° thread [1].

    >>> pitch_diameter("10 mm", "1.5 mm").to("mm").magnitude  # ISO 724: 9.026
    9.0257...
    """
    return major - 0.649519 * pitch


@quantities("m", major="m", pitch="m")
def minor_diameter(major: Any, pitch: Any) -> Any:
    """Give the root diameter of the external thread, d3 = d − 1.226869 P [1].

    >>> minor_diameter("10 mm", "1.5 mm").to("mm").magnitude  # ISO 724: 8.160
    8.1596...
    """
    return major - 1.226869 * pitch


@quantities("m", major="m", pitch="m")
def internal_minor_diameter(major: Any, pitch: Any) -> Any:
    """Give the basic minor diameter of the internal thread, D1 = d − 1.082532 P [1].

    >>> internal_minor_diameter("10 mm", "1.5 mm").to("mm").magnitude  # ISO 724: 8.376
    8.3762...
    """
    return major - 1.082532 * pitch


@quantities("m^2", major="m", pitch="m")
def metric_stress_area(major: Any, pitch: Any) -> Any:
    """Give the nominal stress area of a metric thread, π/4 ((d2 + d3)/2)² [3].

    >>> metric_stress_area("10 mm", "1.5 mm").to("mm^2").magnitude  # ISO 898-1: 58.0
    57.98...
    """
    mean = (pitch_diameter.si(major, pitch) + minor_diameter.si(major, pitch)) / 2
    return math.pi / 4 * mean**2


@quantities("m^2", major="m", pitch="m")
def unified_stress_area(major: Any, pitch: Any) -> Any:
    """Give the tensile stress area of a unified thread, 0.7854 (D − 0.9743/n)² [2], P = 1/n.

    >>> unified_stress_area("0.75 in", "0.0625 in").to("in^2").magnitude  # ASME B1.1: 0.373
    0.37296...
    """
    return math.pi / 4 * (major - 0.9743 * pitch) ** 2


@dataclass(frozen=True, slots=True)
class Thread:
    """A screw thread of 60° profile; diameters and pitch in metres.

    ``series`` is "coarse", "fine", "UNC", "UNF", "UNEF", "UN", "UNS" (or the rounded-root
    spelling of these, "UNRC" …) or "special"; ``tolerance`` is "" where none was written.
    """

    designation: str
    system: System
    major: float
    pitch: float
    series: str = ""
    tolerance: str = ""
    left_hand: bool = False

    @property
    def pitch_diameter(self) -> float:
        """Basic pitch diameter, m."""
        return float(pitch_diameter.si(self.major, self.pitch))

    @property
    def minor_diameter(self) -> float:
        """Root diameter of the external thread, m."""
        return float(minor_diameter.si(self.major, self.pitch))

    @property
    def internal_minor_diameter(self) -> float:
        """Basic minor diameter of the internal thread, m."""
        return float(internal_minor_diameter.si(self.major, self.pitch))

    @property
    def stress_area(self) -> float:
        """Tensile stress area, m², by the rule of the thread's own system."""
        area = metric_stress_area if self.system == "metric" else unified_stress_area
        return float(area.si(self.major, self.pitch))

    @property
    def threads_per_inch(self) -> float:
        """Threads in one inch of length."""
        return INCH / self.pitch


def special_thread(
    name: str,
    major: float,
    pitch: float,
    *,
    system: System = "metric",
    tolerance: str = "",
    left_hand: bool = False,
) -> Thread:
    """Describe a 60° thread that no table lists, such as a piston rod's own; m.

    ``system`` chooses the rule for the stress area and the tolerances. Raises ValueError for a
    nameless thread or a pitch that leaves no core.

    >>> special_thread("rod end", 0.022, 0.00125).stress_area * 1e6
    340.68...
    """
    if not name.strip():
        raise ValueError("a special thread needs a name")
    if not (0.0 < pitch < math.inf and 2.0 * pitch < major < math.inf):
        raise ValueError(
            f"{name}: a thread of {major / MILLIMETRE:g} mm with a pitch of "
            f"{pitch / MILLIMETRE:g} mm has no core; the diameter must be over twice the pitch"
        )
    return Thread(name.strip(), system, major, pitch, "special", tolerance, left_hand)


@dataclass(frozen=True, slots=True)
class _Listed:
    """One row of a thread table; ``major`` and ``pitch`` in metres."""

    designation: str
    size: str
    major: float
    pitch: float
    series: str


@functools.cache
def _listed(system: System) -> tuple[_Listed, ...]:
    if system == "metric":
        return tuple(
            _Listed(
                row["designation"],
                row["major_mm"],
                float(row["major_mm"]) * MILLIMETRE,
                float(row["pitch_mm"]) * MILLIMETRE,
                row["series"],
            )
            for row in rows("threads_metric")
        )
    return tuple(
        _Listed(
            row["designation"],
            row["size"],
            float(row["major_in"]) * INCH,
            INCH / float(row["threads_per_inch"]),
            row["series"],
        )
        for row in rows("threads_unified")
    )


_METRIC = re.compile(
    r"M ?(?P<major>\d+(?:\.\d+)?)(?: ?(?:[x×*]|-(?= ?\d*\.?\d+(?![A-Z\d.]))) ?"
    r"(?P<pitch>\d*\.?\d+))?(?P<rest>(?![\d.]).*)",
    re.IGNORECASE,
)
_UNIFIED = re.compile(
    r"(?:NO\. ?)?(?P<size>\d+[ -]\d+/\d+|\d+/\d+|# ?\d+|\d*\.\d+|\d+) ?- ?"
    r"(?P<tpi>\d+(?:\.\d+)?(?:[ -]1/2)?) ?(?:TPI)?(?P<rest>(?![\d.]).*)",
    re.IGNORECASE,
)
_SPECIAL = re.compile(
    r"special (?P<major>[\d.]+ ?\S+) ?[x×] ?(?P<pitch>[\d.]+ ?\S+)", re.IGNORECASE
)
_METRIC_TOLERANCE = re.compile(r"(?:[3-9][e-h]){1,2}|(?:[3-9][GH]){1,2}(?:/(?:[3-9][e-h]){1,2})?")
_UNIFIED_TOLERANCE = re.compile(r"[123][AB]")
_SERIES = re.compile(r"UNR?(?:C|F|EF|S)?")
_HANDS = {"LH": True, "RH": False, "LEFT": True, "RIGHT": False}
_PIPE = re.compile(r"NPT|NPS|BSP|^ ?(?:G|R|Rc|Rp) ?\d", re.IGNORECASE)
_EXAMPLES = "M10, M10×1.25-6g, 1/2-13 UNC-2A, #10-24 UNC"


@functools.lru_cache(maxsize=512)
def parse_thread(text: str) -> Thread:
    """Read a thread designation as a drawing, a bag or a manual writes it.

    Metric: "M10" (coarse pitch understood), "M10x1.25-6g". Unified: "1/2-13 UNC-2A",
    "1 1/4-12 UNF-2B LH", "#10-24", "½-13"; the series is understood where the tables hold the
    pair. Unlisted: "0.905-14 UNS" or "special 22 mm x 1.25 mm". Raises ValueError that says what
    was given and which listed threads are nearest.

    >>> parse_thread("M10").designation, parse_thread("1-1/4-12unf-2b lh").designation
    ('M10×1.5', '1 1/4-12 UNF-2B-LH')
    >>> parse_thread("M10x1.1")
    Traceback (most recent call last):
    ...
    ValueError: 'M10x1.1' is no listed thread; the nearest are M10×1, M10×1.25, M10×0.75
    """
    cleaned = _clean(text)
    if len(cleaned) > LONGEST_DESIGNATION:
        raise ValueError(f"{cleaned[:20]!r}… is too long for a thread designation; see {_EXAMPLES}")
    if special := _SPECIAL.fullmatch(cleaned):
        return _read_special(special["major"], special["pitch"], text)
    if metric := _METRIC.fullmatch(cleaned):
        return _read_metric(metric, text)
    if unified := _UNIFIED.fullmatch(cleaned):
        return _read_unified(unified, text)
    raise _unreadable(cleaned, text)


def _unreadable(cleaned: str, text: str) -> ValueError:
    if _PIPE.search(cleaned):
        return ValueError(f"{text!r} is a pipe thread; only the threads of fasteners are read")
    if re.search(r"\d,\d", cleaned):
        return ValueError(f"{text!r} has a comma; write a decimal point")
    known = [row.designation for row in (*_listed("metric"), *_listed("unified"))]
    close = [one for one in known if one.startswith((f"{cleaned}-", f"{cleaned.upper()}×"))]
    close = close or difflib.get_close_matches(cleaned.upper(), known, 3, 0.6)
    return ValueError(
        f"{text!r} is no thread designation; write one as {', '.join(close) or _EXAMPLES}"
    )


def _clean(text: str) -> str:
    """Bring vulgar fractions, inch marks and dashes to plain typing."""
    spaced = re.sub(r"(?<=\d)([¼½¾⅛⅜⅝⅞])", r" \1", text)
    plain = unicodedata.normalize("NFKC", spaced).replace("⁄", "/")
    plain = re.sub(r"[–—−‑‐]", "-", plain)
    return " ".join(re.sub(r"[\"″′”“]|''", "", plain).split())


def _read_special(major: str, pitch: str, text: str) -> Thread:
    try:
        size, step = parse_amount(major, "length"), parse_amount(pitch, "length")
    except UnitProblem as problem:
        raise ValueError(f"{text!r}: {problem}") from None
    system: System = "unified" if size.unit in {"in", "ft", "thou"} else "metric"
    name = f"special {size.canonical} × {step.canonical}"
    return special_thread(name, size.nominal, step.nominal, system=system)


def _read_metric(match: re.Match[str], text: str) -> Thread:
    series, tolerance, left = _tail(match["rest"], _METRIC_TOLERANCE, text)
    major = float(match["major"]) * MILLIMETRE
    pitch = float(match["pitch"]) * MILLIMETRE if match["pitch"] else None
    for row in _listed("metric"):
        same_pitch = row.series == "coarse" if pitch is None else _same(row.pitch, pitch)
        if _same(row.major, major) and same_pitch and not series:
            designation = _suffixed(row.designation, tolerance, left)
            return Thread(designation, "metric", row.major, row.pitch, row.series, tolerance, left)
    raise _unlisted("metric", major, pitch, text)


def _read_unified(match: re.Match[str], text: str) -> Thread:
    series, tolerance, left = _tail(match["rest"], _UNIFIED_TOLERANCE, text)
    turns = float(sum(Fraction(part) for part in re.split(r"[ -]", match["tpi"])))
    majors = _unified_majors(match["size"], text)
    if turns == 0.0:
        raise ValueError(f"{text!r} has no threads to the inch")
    pitch = INCH / turns
    wanted = series.replace("UNR", "UN")
    for row in _listed("unified"):
        known = _same(row.pitch, pitch) and any(abs(row.major - m) < 2e-5 for m in majors)
        if known and wanted in {"", row.series}:
            base = f"{row.size}-{turns:g} {series or row.series}"
            designation = _suffixed(base, tolerance, left)
            return Thread(
                designation, "unified", row.major, row.pitch, series or row.series, tolerance, left
            )
    if wanted == "UNS":
        name = _suffixed(f"{match['size']}-{turns:g} {series}", tolerance, left)
        odd = special_thread(name, majors[-1], pitch, system="unified")
        return Thread(name, "unified", odd.major, odd.pitch, series, tolerance, left)
    raise _unlisted("unified", majors[-1], pitch, text)


def _unified_majors(size: str, text: str) -> list[float]:
    """Give the diameters, m, that a size can mean: a bare 10 is number 10 before 10 inches."""
    digits = size.replace("#", "").strip()
    number = [INCH * (0.060 + 0.013 * int(digits))] if re.fullmatch(r"\d|1[0-2]", digits) else []
    if size.startswith("#"):
        if not number:
            raise ValueError(f"{text!r}: number sizes run from #0 to #12")
        return number
    try:
        return [*number, INCH * float(sum(Fraction(part) for part in re.split(r"[ -]", digits)))]
    except ZeroDivisionError:
        raise ValueError(f"{text!r} divides by zero") from None


def _tail(rest: str, tolerance_form: re.Pattern[str], text: str) -> tuple[str, str, bool]:
    """Read what follows the pitch: series, tolerance class and hand, in that order or not."""
    series = tolerance = ""
    left = False
    for word in re.split(r"[\s-]+", rest.strip(" -")):
        if word.upper() in _HANDS:
            left = _HANDS[word.upper()]
        elif tolerance_form.fullmatch(word):
            tolerance = word
        elif tolerance_form.fullmatch(word.upper()) and tolerance_form is _UNIFIED_TOLERANCE:
            tolerance = word.upper()
        elif _SERIES.fullmatch(word.upper()):
            series = word.upper()
        elif "," in word:
            raise ValueError(f"{text!r} has a comma; write a decimal point")
        elif re.match(r"[x×]", word):
            raise ValueError(f"{text!r}: write the thread alone, without the fastener's length")
        elif word:
            raise ValueError(f"{text!r}: {word!r} is no series, tolerance class or hand")
    return series, tolerance, left


def _suffixed(base: str, tolerance: str, left: bool) -> str:
    return base + (f"-{tolerance}" if tolerance else "") + ("-LH" if left else "")


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=1e-6)


def _unlisted(system: System, major: float, pitch: float | None, text: str) -> ValueError:
    """Name the three listed threads nearest in diameter and, at that diameter, in pitch."""

    def distance(row: _Listed) -> tuple[float, float]:
        return round(abs(row.major - major), 9), abs(row.pitch - pitch) if pitch else 0.0

    nearest = [row.designation for row in sorted(_listed(system), key=distance)[:3]]
    hint = ""
    if system == "metric" and pitch and pitch > major / 3.0:
        hint = " (the second figure is a pitch, not a length)"
    return ValueError(f"{text!r} is no listed thread{hint}; the nearest are {', '.join(nearest)}")
