"""What a clamped joint does under pressure: load on the fastener, clamp left, when it opens.

Loads are per fastener. A positive external load pulls the joint apart, a negative one (suction
in the chamber) presses it together. Springs are linear until the joint opens; from then on the
fastener carries the whole load.

Sources: [1] Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sections 8-7,
8-9 and 8-10. [2] VDI 2230 part 1 (from memory). [3] NASA-STD-5020, threaded fastening systems,
and [4] NASA TM-106943, preloaded joint analysis (formulas from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import not_negative, positive, within
from rebuildbook.units import quantities

MICROMETRE = 1e-6
ROUGHEST = 160e-6  # m, Rz at which the guide values of settling end

# VDI 2230 guide values (µm, from memory) by roughness Rz: under 10, 10 to 40, 40 to 160 µm
_EMBEDDING: dict[str, tuple[tuple[float, float, float], ...]] = {
    # (in the thread, under each head or nut, at each inner joint face)
    "axial": ((3.0, 2.5, 1.5), (3.0, 3.0, 2.0), (3.0, 4.0, 3.0)),
    "shear": ((3.0, 3.0, 2.0), (3.0, 4.5, 2.5), (3.0, 6.5, 3.5)),
}


@quantities("N", pressure="Pa", sealed_diameter="m")
def pressure_load(pressure: Any, sealed_diameter: Any, count: int = 1) -> Any:
    """Pull of a pressure on one of ``count`` fasteners, P = p π D²/(4 N) (N) [1].

    ``pressure`` p inside over outside (Pa, negative for suction), ``sealed_diameter`` D, the mean
    diameter of gasket or O-ring, not the bore (m). Equal shares: an evenly drilled, stiff cover.

    >>> load = pressure_load("6 MPa", "150 mm", 10)  # [1] worked solutions: 10.6 kN
    >>> f"{load.to('kN').magnitude:.1f} kN"
    '10.6 kN'
    """
    if count < 1:
        raise ValueError(f"{count} fasteners hold nothing; give at least one")
    positive("sealed diameter", sealed_diameter)
    return pressure * math.pi / 4.0 * sealed_diameter**2 / count


@quantities("N", preload="N", joint_constant="", external_load="N")
def fastener_load(preload: Any, joint_constant: Any, external_load: Any) -> Any:
    """Load of the fastener, Fb = Fi + C P while closed, Fb = P once open (N) [1, eq. 8-24].

    ``preload`` Fi (N), ``joint_constant`` C (1), ``external_load`` P (N). A load that presses the
    parts together relieves the fastener, at most until it hangs loose.

    >>> load = fastener_load("25 kip", 0.320, "6 kip")  # [1] example 8-3: 72.17 ksi on 0.373 in²
    >>> f"{load.to('kip').magnitude / 0.373:.2f} ksi"
    '72.17 ksi'
    """
    _check_joint(preload, joint_constant)
    closed = preload + joint_constant * external_load
    return np.maximum(np.maximum(closed, external_load), 0.0)


@quantities("N", preload="N", joint_constant="", external_load="N")
def clamp_load(preload: Any, joint_constant: Any, external_load: Any) -> Any:
    """Clamp left between the parts, Fm = Fb − P = Fi − (1 − C) P, zero once open (N) [1, eq. 8-25].

    ``preload`` Fi (N), ``joint_constant`` C (1), ``external_load`` P (N).

    >>> f"{clamp_load('25 kip', 0.320, '6 kip').to('kip').magnitude:.2f} kip"
    '20.92 kip'
    """
    return fastener_load.si(preload, joint_constant, external_load) - external_load


@quantities("N", preload="N", joint_constant="")
def separation_load(preload: Any, joint_constant: Any) -> Any:
    """External load that opens the joint, P0 = Fi/(1 − C) (N) [1, from eq. 8-30].

    ``preload`` Fi (N), ``joint_constant`` C (1).

    >>> f"{separation_load('14.4 kip', 0.280).to('kip').magnitude:.1f} kip"
    '20.0 kip'
    """
    _check_joint(preload, joint_constant)
    return preload / (1.0 - joint_constant)


@quantities("N", external_load="N", joint_constant="", factor="")
def preload_to_stay_closed(external_load: Any, joint_constant: Any, factor: Any = 1.0) -> Any:
    """Least preload that keeps the joint closed, Fi = n (1 − C) P (N) [1, eq. 8-30].

    ``external_load`` P (N; a load that presses together needs none), ``joint_constant`` C (1),
    ``factor`` n (1) wanted on the load.

    >>> f"{preload_to_stay_closed('5 kip', 0.280, 4.00).to('kip').magnitude:.1f} kip"
    '14.4 kip'
    """
    _check_constant(joint_constant)
    return np.maximum(positive("factor", factor) * (1.0 - joint_constant) * external_load, 0.0)


@dataclass(frozen=True, slots=True)
class JointState:
    """A joint under load, per fastener: loads in N; factors are plain, infinite with no pull.

    ``yield_factor`` np = Sp At/Fb, ``load_factor`` nL on the external load until proof strength,
    ``separation_factor`` n0 on the external load until the joint opens. Once open, the fastener
    carries all: then nL is Sp At/P. A preload above proof gives a load factor below zero.
    """

    fastener_load: float
    clamp_load: float
    is_open: bool
    yield_factor: float
    load_factor: float
    separation_factor: float


def joint_state(
    preload: float,
    joint_constant: float,
    external_load: float,
    stress_area: float,
    proof_strength: float,
) -> JointState:
    """Judge a joint under an external load [1, eqs. 8-28 to 8-30].

    ``preload`` Fi and ``external_load`` P (N), ``joint_constant`` C, ``stress_area`` At (m²),
    ``proof_strength`` Sp (Pa).

    >>> state = joint_state(14.4, 0.280, 5.0, 0.226, 85.0)  # [1] example 8-5(b), kip and ksi
    >>> f"{state.yield_factor:.2f} {state.load_factor:.2f} {state.separation_factor:.2f}"
    '1.22 3.44 4.00'
    """
    proof = positive("stress area", stress_area) * positive("proof strength", proof_strength)
    bolt = float(fastener_load.si(preload, joint_constant, external_load))
    clamp = float(clamp_load.si(preload, joint_constant, external_load))
    opens = float(separation_load.si(preload, joint_constant))
    pulls = external_load > 0.0
    spare = (proof - preload) / joint_constant  # external load that reaches proof while closed
    limit = spare if spare <= opens else proof
    return JointState(
        fastener_load=bolt,
        clamp_load=clamp,
        is_open=external_load >= opens,
        yield_factor=proof / bolt if bolt > 0.0 else math.inf,
        load_factor=limit / external_load if pulls else math.inf,
        separation_factor=opens / external_load if pulls else math.inf,
    )


@quantities("Pa", clamp="N", face_area="m^2")
def face_stress(clamp: Any, face_area: Any, count: int = 1) -> Any:
    """Mean stress on a gasket or metal face, N Fm/A (Pa) [1, eq. 8-33 without its factor].

    ``clamp`` Fm left at each of ``count`` fasteners (N), ``face_area`` A (m²). An O-ring in a
    groove seals by its own squeeze; there this is the stress of metal on metal.

    >>> f"{face_stress('20 kN', '60 cm^2', 8).to('MPa').magnitude:.1f} MPa"
    '26.7 MPa'
    """
    return not_negative("clamp load", clamp) * count / positive("face area", face_area)


@quantities("", circle_diameter="m", diameter="m")
def spacing_ratio(circle_diameter: Any, count: int, diameter: Any) -> Any:
    """Spacing of fasteners in diameters, π Db/(N d) (1) [1, eq. 8-34]: 3 to 6 seals and wrenches.

    ``circle_diameter`` Db (m), ``count`` N, nominal ``diameter`` d of the fastener (m).

    >>> f"{spacing_ratio('180 mm', 8, '12 mm'):.2f}"
    '5.89'
    """
    if count < 1:
        raise ValueError(f"{count} fasteners have no spacing; give at least one")
    return math.pi * positive("circle", circle_diameter) / (count * positive("diameter", diameter))


def embedding(
    roughness: float,
    inner_faces: int,
    bearing_faces: int = 2,
    load: Literal["axial", "shear"] = "axial",
) -> float:
    """Settling of thread, bearing faces and joint faces, fz (m) [2, guide values from memory].

    ``roughness`` Rz (m), ``inner_faces`` between clamped parts (one for a cover straight on its
    housing), ``bearing_faces`` under heads and nuts. For metal faces; soft gaskets creep instead.

    >>> f"{embedding(16e-6, 1) * 1e6:.0f} µm"  # 3 + 2 × 3 + 2
    '11 µm'
    """
    positive("roughness", roughness)
    if roughness > ROUGHEST:
        raise ValueError(f"roughness is {roughness * 1e6:g} µm; the guide values end at Rz 160 µm")
    not_negative("inner faces", inner_faces)
    not_negative("bearing faces", bearing_faces)
    row = 0 if roughness < 10e-6 else 1 if roughness < 40e-6 else 2
    thread, bearing, inner = _EMBEDDING[load][row]
    return (thread + bearing * bearing_faces + inner * inner_faces) * MICROMETRE


@quantities("N", settling="m", fastener_stiffness="N/m", member_stiffness="N/m")
def settling_loss(settling: Any, fastener_stiffness: Any, member_stiffness: Any) -> Any:
    """Preload lost when the joint settles by fz, Fz = fz/(1/kb + 1/km) (N) [2].

    ``settling`` fz (m), ``fastener_stiffness`` kb and ``member_stiffness`` km (N/m). Long slender
    fasteners lose little, short stiff ones much.

    >>> f"{settling_loss('11 um', '400 kN/mm', '1400 kN/mm').to('kN').magnitude:.2f} kN"
    '3.42 kN'
    """
    positive("fastener stiffness", fastener_stiffness)
    positive("member stiffness", member_stiffness)
    both = fastener_stiffness * member_stiffness / (fastener_stiffness + member_stiffness)
    return settling * both


@quantities("m", expansion="1/K", length="m", warming="K")
def free_growth(expansion: Any, length: Any, warming: Any) -> Any:
    """Growth of a part left free, α l ΔT (m).

    ``expansion`` α (1/K), ``length`` l (m), ``warming`` ΔT from assembly to service, a difference
    in K: 30 °C of warming is "30 K", 54 °F is "30 K".

    >>> f"{free_growth('23e-6 1/K', '25 mm', '30 K').to('um').magnitude:.2f} µm"
    '17.25 µm'
    """
    return expansion * positive("length", length) * warming


@quantities(
    "N", fastener_growth="m", member_growth="m", fastener_stiffness="N/m", member_stiffness="N/m"
)
def thermal_change(
    fastener_growth: Any, member_growth: Any, fastener_stiffness: Any, member_stiffness: Any
) -> Any:
    """Change of preload when fastener and parts grow unlike, (Δm − Δb)/(1/kb + 1/km) (N) [2].

    ``fastener_growth`` and ``member_growth`` over the same grip (m; the latter the sum over the
    layers), stiffnesses kb and km (N/m). Positive when the parts outgrow the fastener: steel
    screws in aluminium gain on warming and lose in the cold. Moduli are taken as unchanged.

    >>> gain = thermal_change("9 um", "17.25 um", "400 kN/mm", "500 kN/mm")
    >>> f"{gain.to('kN').magnitude:.2f} kN"
    '1.83 kN'
    """
    difference = np.subtract(member_growth, fastener_growth)
    return settling_loss.si(difference, fastener_stiffness, member_stiffness)


@dataclass(frozen=True, slots=True)
class PreloadRange:
    """Least, nominal and greatest preload of a fastener in service (N)."""

    minimum: float
    nominal: float
    maximum: float


def preload_range(
    nominal: float,
    scatter: float,
    *,
    tool: float = 0.0,
    relaxation: float = 0.05,
    settling: float = 0.0,
    thermal: tuple[float, float] = (0.0, 0.0),
    shared_by: int = 1,
) -> PreloadRange:
    """Least and greatest preload by scatter, tool, loss and temperature [3, 4, from memory].

    max = (1 + Γ)(1 + tool) nominal + gain; min = (1 − Γ/√n)(1 − tool) nominal, less relaxation
    as a share of itself, settling and the thermal loss. ``scatter`` Γ of torque to preload
    (NASA: 0.35 dry, 0.25 lubricated), ``tool`` the wrench's accuracy, ``relaxation`` (5 % for
    metal on metal; more with a soft gasket), all shares; ``settling`` (N); ``thermal`` the least
    and greatest change (N, signed); ``shared_by`` n fasteners whose mean matters to leakage, 1
    where the weakest one does. Settling past zero clamp gives zero.

    >>> span = preload_range(10e3, 0.25, tool=0.04)
    >>> f"{span.minimum:.0f} to {span.maximum:.0f} N"
    '6840 to 13000 N'
    """
    positive("nominal preload", nominal)
    for name, share in (("scatter", scatter), ("tool accuracy", tool), ("relaxation", relaxation)):
        within(name, share, 0.0, 1.0)
    if shared_by < 1 or thermal[0] > thermal[1]:
        raise ValueError(
            f"shared by {shared_by} fasteners, thermal change {thermal}: give at least one "
            "fastener and the lesser change first"
        )
    high = (1.0 + scatter) * (1.0 + tool) * nominal
    low = (1.0 - scatter / math.sqrt(shared_by)) * (1.0 - tool) * nominal * (1.0 - relaxation)
    low -= not_negative("settling", settling) - min(thermal[0], 0.0)
    return PreloadRange(max(low, 0.0), nominal, high + max(thermal[1], 0.0))


def _check_constant(joint_constant: Any) -> None:
    if not np.all(np.greater(joint_constant, 0.0) & np.less(joint_constant, 1.0)):
        raise ValueError(f"joint constant is {joint_constant}; it must lie between 0 and 1")


def _check_joint(preload: Any, joint_constant: Any) -> None:
    not_negative("preload", preload)
    _check_constant(joint_constant)
