"""Fatigue of a preloaded fastener under the pressure cycle of the pump.

Each stroke loads the fasteners of a chamber once: from suction to discharge and back. A joint
that stays closed passes only its share C of that on; one that opens passes all of it.

Sources: [1] Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., section 8-11
and table 8-17. [2] VDI 2230 part 1, endurance of rolled threads (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.calculators.joint import fastener_load
from rebuildbook.units import quantities

INCH = 0.0254
KSI = 6.894757e6
ENDURANCE_CYCLES = 2.0e6  # where [2] lets the endurance line run level

# fully corrected endurance strength, rolled threads, repeated axial load [1, table 8-17]:
# class -> rows of (least diameter m, greatest diameter m, strength Pa)
_ENDURANCE: dict[str, tuple[tuple[float, float, float], ...]] = {
    "grade 5": (
        (0.25 * INCH, 1.0 * INCH, 18.6 * KSI),
        (1.125 * INCH, 1.5 * INCH, 16.3 * KSI),
    ),
    "grade 7": ((0.25 * INCH, 1.5 * INCH, 20.6 * KSI),),
    "grade 8": ((0.25 * INCH, 1.5 * INCH, 23.2 * KSI),),
    "8.8": ((0.016, 0.036, 129e6),),
    "9.8": ((0.0016, 0.016, 140e6),),
    "10.9": ((0.005, 0.036, 162e6),),
    "12.9": ((0.0016, 0.036, 190e6),),
}


def endurance_strength(strength_class: str, diameter: float) -> float:
    """Endurance strength Se of a fastener with rolled threads (Pa) [1, table 8-17].

    ``strength_class`` such as "8.8" or "grade 5", nominal ``diameter`` (m). Raises ValueError for
    a class or size the table does not hold: class 8.8 begins at M16. Cut threads, and threads
    whose surface has corroded or been chased, have less; the table does not speak for them.

    >>> f"{endurance_strength('grade 5', 0.015875) / KSI:.1f} ksi"
    '18.6 ksi'
    """
    if strength_class not in _ENDURANCE:
        raise ValueError(
            f"{strength_class!r} is not in the table of endurance strengths; it has "
            f"{', '.join(_ENDURANCE)}"
        )
    rows = _ENDURANCE[strength_class]
    for low, high, strength in rows:
        if low * (1.0 - 1e-6) <= diameter <= high * (1.0 + 1e-6):
            return strength
    spans = " and ".join(f"{low * 1e3:.4g} to {high * 1e3:.4g} mm" for low, high, _ in rows)
    raise ValueError(
        f"{strength_class} is tabled for diameters of {spans}; this one has {diameter * 1e3:.4g} mm"
    )


@dataclass(frozen=True, slots=True)
class CycleStress:
    """Stresses of a fastener over one cycle (Pa): at preload, amplitude, and midrange."""

    preload: float
    amplitude: float
    midrange: float


def cycle_stress(
    preload: float, joint_constant: float, low_load: float, high_load: float, stress_area: float
) -> CycleStress:
    """Stress the external load per fastener puts on it over a cycle [1, eqs. 8-35 and 8-36].

    ``preload`` Fi, ``low_load`` and ``high_load`` P (N, the low one negative for suction),
    ``joint_constant`` C, ``stress_area`` At (m²). An opening joint is counted as it is: the
    fastener carries the whole load.

    >>> stress = cycle_stress(14.4, 0.280, 0.0, 5.0, 0.226)  # [1] example 8-5, kip and in²
    >>> f"{stress.preload:.2f} {stress.amplitude:.2f} {stress.midrange:.2f} ksi"
    '63.72 3.10 66.81 ksi'
    """
    if low_load > high_load:
        raise ValueError(f"loads run backwards: low {low_load:g} N above high {high_load:g} N")
    area = positive("stress area", stress_area)
    low, high = (
        float(fastener_load.si(preload, joint_constant, load)) for load in (low_load, high_load)
    )
    return CycleStress(preload / area, (high - low) / (2.0 * area), (high + low) / (2.0 * area))


@quantities(
    "", preload_stress="Pa", amplitude="Pa", midrange="Pa", endurance="Pa", tensile_strength="Pa"
)
def goodman_factor(
    preload_stress: Any, amplitude: Any, midrange: Any, *, endurance: Any, tensile_strength: Any
) -> Any:
    """Fatigue factor by Goodman's line (1) [1, eq. 8-38; eq. 8-45 for a repeated load].

    nf = Se (Sut − σi)/(Sut σa + Se (σm − σi)), the load line starting at the preload

    ``preload_stress`` σi, ``amplitude`` σa, ``midrange`` σm, ``endurance`` Se and
    ``tensile_strength`` Sut (Pa).

    >>> stress = ("63.72 ksi", "3.10 ksi", "66.82 ksi")  # [1] example 8-5
    >>> factor = goodman_factor(*stress, endurance="18.6 ksi", tensile_strength="120 ksi")
    >>> f"{factor * 3.10:.2f} ksi"  # Sa of the book's figure 8-22: 7.55
    '7.55 ksi'
    """
    _check_stresses(preload_stress, amplitude, endurance, tensile_strength)
    rise = np.subtract(midrange, preload_stress)
    left = endurance * (tensile_strength - preload_stress)
    return _ratio(left, tensile_strength * amplitude + endurance * rise)


@quantities(
    "", preload_stress="Pa", amplitude="Pa", midrange="Pa", endurance="Pa", tensile_strength="Pa"
)
def gerber_factor(
    preload_stress: Any, amplitude: Any, midrange: Any, *, endurance: Any, tensile_strength: Any
) -> Any:
    """Fatigue factor by Gerber's parabola, Sa/Se + (Sm/Sut)² = 1 (1) [1, eqs. 8-43 and 8-46].

    Parameters as in ``goodman_factor``; the load line starts at the preload.

    >>> stress = ("63.72 ksi", "3.10 ksi", "66.82 ksi")  # [1] example 8-5
    >>> factor = gerber_factor(*stress, endurance="18.6 ksi", tensile_strength="120 ksi")
    >>> f"{factor:.2f}"  # from Sa = 11.32 ksi in the book's figure 8-22
    '3.65'
    """
    _check_stresses(preload_stress, amplitude, endurance, tensile_strength)
    rise = np.subtract(midrange, preload_stress)
    square = (rise / tensile_strength) ** 2
    linear = amplitude / endurance + 2.0 * preload_stress * rise / tensile_strength**2
    return _root(square, linear, 1.0 - (preload_stress / tensile_strength) ** 2)


@quantities(
    "", preload_stress="Pa", amplitude="Pa", midrange="Pa", endurance="Pa", proof_strength="Pa"
)
def elliptic_factor(
    preload_stress: Any, amplitude: Any, midrange: Any, *, endurance: Any, proof_strength: Any
) -> Any:
    """Fatigue factor by the ASME ellipse, (Sa/Se)² + (Sm/Sp)² = 1 (1) [1, eqs. 8-44 and 8-47].

    Parameters as in ``goodman_factor``, with the ``proof_strength`` Sp (Pa).

    >>> stress = ("63.72 ksi", "3.10 ksi", "66.82 ksi")
    >>> factor = elliptic_factor(*stress, endurance="18.6 ksi", proof_strength="85 ksi")
    >>> f"{factor:.2f}"  # eq. 8-47 by hand
    '3.05'
    """
    _check_stresses(preload_stress, amplitude, endurance, proof_strength)
    rise = np.subtract(midrange, preload_stress)
    square = (amplitude / endurance) ** 2 + (rise / proof_strength) ** 2
    linear = 2.0 * preload_stress * rise / proof_strength**2
    return _root(square, linear, 1.0 - (preload_stress / proof_strength) ** 2)


@quantities("Pa", diameter="m", preload_share="")
def rolled_thread_amplitude(
    diameter: Any,
    preload_share: Any = 0.7,
    *,
    rolled: Literal["before heat treatment", "after heat treatment"] = "before heat treatment",
) -> Any:
    """Amplitude a rolled thread endures, σ = 0.85 (150/d + 45) MPa, d in mm (Pa) [2].

    ``diameter`` d (m). Threads ``rolled`` after heat treatment keep the squeeze of the rolling
    and endure (2 − F/F0.2) times that, by the ``preload_share`` of the yield load (1, 0.3 to 1);
    before heat treatment, the usual fastener, the share does not matter. Classes 8.8 to 12.9.

    >>> f"{rolled_thread_amplitude('10 mm').to('MPa').magnitude:.0f} MPa"
    '51 MPa'
    """
    amplitude = 0.85 * (150.0 / (positive("diameter", diameter) * 1e3) + 45.0) * 1e6
    if rolled == "before heat treatment":
        return amplitude
    return amplitude * (2.0 - within("preload share", preload_share, 0.3, 1.0))


@quantities("Pa", endurance_amplitude="Pa", cycles="")
def finite_life_amplitude(
    endurance_amplitude: Any,
    cycles: Any,
    *,
    rolled: Literal["before heat treatment", "after heat treatment"] = "before heat treatment",
) -> Any:
    """Amplitude a thread stands for so many cycles, σ (2·10⁶/N)^(1/3) (Pa) [2].

    ``endurance_amplitude`` σ from ``rolled_thread_amplitude`` (Pa), ``cycles`` N (above 10⁴; from
    2·10⁶ on the endurance amplitude itself). The exponent is 1/6 for threads ``rolled`` after
    heat treatment.

    >>> f"{finite_life_amplitude('51 MPa', 250000).to('MPa').magnitude:.0f} MPa"
    '102 MPa'
    """
    if np.any(np.less(cycles, 1e4)):
        raise ValueError(f"{np.min(cycles):g} cycles are too few; the line begins at 10 000")
    exponent = 1.0 / 3.0 if rolled == "before heat treatment" else 1.0 / 6.0
    over = np.maximum(ENDURANCE_CYCLES / np.asarray(cycles, dtype=float), 1.0)
    return positive("endurance amplitude", endurance_amplitude) * over**exponent


@quantities("s", cycles="", rate="1/s")
def time_to_cycles(cycles: Any, rate: Any) -> Any:
    """Running time until so many pressure cycles have passed, N/rate (s).

    ``cycles`` N, ``rate`` of the chamber's pressure cycles (1/s).

    >>> f"{time_to_cycles(ENDURANCE_CYCLES, '40 1/min').to('day').magnitude:.0f} days"
    '35 days'
    """
    return not_negative("cycles", cycles) / positive("rate", rate)


def _root(square: Any, linear: Any, left: Any) -> Any:
    """Positive root of a x² + b x = c, in the form that stands a = 0."""
    return _ratio(2.0 * left, linear + np.sqrt(linear**2 + 4.0 * square * left))


def _ratio(left: Any, used: Any) -> Any:
    """What is left over what a cycle uses; infinite where it uses nothing."""
    some = np.greater(used, 0.0)
    return np.where(some, left / np.where(some, used, 1.0), math.inf)[()]


def _check_stresses(preload_stress: Any, amplitude: Any, endurance: Any, strength: Any) -> None:
    not_negative("preload stress", preload_stress)
    not_negative("amplitude", amplitude)
    positive("endurance strength", endurance)
    positive("strength", strength)
    if np.any(np.greater_equal(preload_stress, strength)):
        raise ValueError(
            f"preload stress is {np.max(preload_stress):g} Pa, not below the strength of "
            f"{np.min(strength):g} Pa; the fastener yields before it tires"
        )
