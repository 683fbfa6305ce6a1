"""How stiff a fastener and the parts it clamps are, and how they share an outer load.

The fastener is a row of cylinders in series. The clamped parts are taken as two hollow cones that
spread from head and nut and meet where they are equally wide, cut off at the outside of each
part; or as a sleeve; or by a formula fitted to finite elements.

Sources: [1] Budynas and Nisbett, Shigley's Mechanical Engineering Design, 9th ed., sections 8-4
and 8-5. [2] Wileman, Choudhury and Green, the fit in [1], eq. 8-23 and table 8-8. [3] VDI 2230
part 1 (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from rebuildbook.calculators.bounds import positive, within
from rebuildbook.units import quantities

CONE_ANGLE = math.pi / 6.0  # rad, half-apex angle recommended by [1]

# (A, B) of k/(E d) = A exp(B d/l), by member material [2]
WILEMAN: dict[str, tuple[float, float]] = {
    "steel": (0.78715, 0.62873),
    "aluminium": (0.79670, 0.63816),
    "copper": (0.79568, 0.63553),
    "grey cast iron": (0.77871, 0.61616),
    "general": (0.78952, 0.62914),
}


@quantities("N/m", area="m^2", modulus="Pa", length="m")
def rod_stiffness(area: Any, modulus: Any, length: Any) -> Any:
    """Stiffness of a straight piece: bolt shank, sleeve, gasket; k = A E/l (N/m) [1, eq. 8-14].

    ``area`` A (m²), ``modulus`` E (Pa), ``length`` l along the load (m).

    >>> f"{rod_stiffness('78.5 mm^2', '207 GPa', '40 mm').to('kN/mm').magnitude:.0f} kN/mm"
    '406 kN/mm'
    """
    positive("length", length)
    return positive("area", area) * positive("modulus", modulus) / length


def series_stiffness(stiffnesses: Sequence[float]) -> float:
    """Stiffness of springs end to end, 1/k = Σ 1/kᵢ (N/m) [1, eq. 8-18].

    A gasket is one of them: being far softer than metal it governs the joint.

    >>> series_stiffness([30.80, 285.5, 14.15])  # [1] example 8-2: 9.378 Mlbf/in, from memory
    9.377...
    """
    if not stiffnesses:
        raise ValueError("no spring was given; a joint needs at least one")
    for stiffness in stiffnesses:
        positive("stiffness", stiffness)
    return 1.0 / sum(1.0 / stiffness for stiffness in stiffnesses)


@quantities(
    "N/m",
    shank_area="m^2",
    stress_area="m^2",
    shank_length="m",
    threaded_length="m",
    modulus="Pa",
)
def bolt_stiffness(
    shank_area: Any, stress_area: Any, *, shank_length: Any, threaded_length: Any, modulus: Any
) -> Any:
    """Stiffness of a bolt within its grip, kb = Ad At E/(Ad lt + At ld) (N/m) [1, eq. 8-17].

    ``shank_area`` Ad, ``stress_area`` At (m²); ``shank_length`` ld and ``threaded_length`` lt of
    the bolt inside the grip (m), either may be zero; ``modulus`` E (Pa).

    >>> kb = bolt_stiffness.si(  # [1] worked solutions, M12, 466.8 MN/m
    ...     113.0e-6, 84.3e-6, shank_length=0.030, threaded_length=0.015, modulus=207e9
    ... )
    >>> f"{kb / 1e6:.1f} MN/m"
    '466.8 MN/m'
    """
    positive("grip", np.add(shank_length, threaded_length))
    positive("modulus", modulus)
    positive("shank area", shank_area)
    positive("stress area", stress_area)
    return (
        shank_area
        * stress_area
        * modulus
        / (shank_area * threaded_length + stress_area * shank_length)
    )


@dataclass(frozen=True, slots=True)
class Segment:
    """One cylinder of a fastener: length (m), section (m²) and modulus (Pa)."""

    length: float
    area: float
    modulus: float


def fastener_stiffness(segments: Sequence[Segment]) -> float:
    """Stiffness of a fastener made of cylinders in series, such as a waisted stud (N/m).

    >>> stud = [Segment(0.030, 113.0e-6, 207e9), Segment(0.015, 84.3e-6, 207e9)]
    >>> f"{fastener_stiffness(stud) / 1e6:.1f} MN/m"  # the bolt of ``bolt_stiffness``
    '466.8 MN/m'
    """
    return series_stiffness([rod_stiffness.si(s.area, s.modulus, s.length) for s in segments])


def end_segments(
    diameter: float,
    minor_diameter: float,
    modulus: float,
    *,
    head: Literal["hexagon", "socket", "stud"] = "hexagon",
    tapped_modulus: float | None = None,
) -> tuple[Segment, ...]:
    """Give the parts of a fastener that stretch outside the grip: head and engaged thread [3].

    A hexagon head counts as 0.5 d and a socket head as 0.4 d of shank, the engaged core as 0.5 d
    of the ``minor_diameter``, the threads of a nut as 0.4 d of the fastener's modulus and those
    of a tapped hole as 0.33 d of the hole's ``tapped_modulus``. Lengths from memory of [3]. Add
    them to the segments in the grip for the finer count; [1] leaves them out. A stud has an
    engaged thread at both ends: call twice.

    >>> [round(part.length * 1e3, 2) for part in end_segments(0.012, 0.009853, 207e9)]
    [6.0, 6.0, 4.8]
    """
    positive("minor diameter", minor_diameter)
    positive("room for the thread", diameter - minor_diameter)
    nominal, core = _disc(diameter), _disc(minor_diameter)
    engaged = Segment(0.5 * diameter, core, modulus)
    threads = (
        Segment(0.4 * diameter, nominal, modulus)
        if tapped_modulus is None
        else Segment(0.33 * diameter, nominal, tapped_modulus)
    )
    heads = {"hexagon": 0.5, "socket": 0.4, "stud": 0.0}
    top = Segment(heads[head] * diameter, nominal, modulus)
    return (top, engaged, threads) if head != "stud" else (engaged, threads)


@quantities("N/m", modulus="Pa", hole="m", small_diameter="m", thickness="m", half_angle="rad")
def frustum_stiffness(
    modulus: Any, hole: Any, small_diameter: Any, thickness: Any, half_angle: Any = CONE_ANGLE
) -> Any:
    """Stiffness of one hollow cone frustum (N/m) [1, eq. 8-19 and, at 30°, 8-20].

    k = π E d tan α/ln[((2 t tan α + D − d)(D + d))/((2 t tan α + D + d)(D − d))]

    ``modulus`` E (Pa), ``hole`` d, ``small_diameter`` D at the narrow end, ``thickness`` t (m),
    ``half_angle`` α (rad).

    >>> cone = frustum_stiffness("30e6 psi", "0.5 in", "0.75 in", "0.5 in")
    >>> f"{cone.to('lbf/in').magnitude / 1e6:.2f} Mlbf/in"  # [1] worked solutions: 33.30
    '33.30 Mlbf/in'
    """
    positive("hole", hole)
    positive("width of the cone beyond the hole", np.subtract(small_diameter, hole))
    positive("thickness", thickness)
    spread = 2.0 * thickness * np.tan(half_angle)
    inner = (spread + small_diameter - hole) * (small_diameter + hole)
    outer = (spread + small_diameter + hole) * (small_diameter - hole)
    return (
        math.pi * positive("modulus", modulus) * hole * np.tan(half_angle) / np.log(inner / outer)
    )


@dataclass(frozen=True, slots=True)
class Layer:
    """One clamped part, from the head down: thickness (m), modulus (Pa), outer diameter (m).

    The outer diameter limits how far the load spreads: the boss, the washer, twice the distance
    from the hole to the nearest edge. Infinite where the part is wide.
    """

    thickness: float
    modulus: float
    outer_diameter: float = math.inf


def cone_stiffness(
    layers: Sequence[Layer],
    hole: float,
    head_diameter: float,
    nut_diameter: float | None = None,
    half_angle: float = CONE_ANGLE,
) -> float:
    """Stiffness of clamped layers by two cones, one from each end (N/m) [1, section 8-5].

    ``layers`` from the head down, ``hole`` diameter, ``head_diameter`` and ``nut_diameter`` of
    the bearing faces (m; the nut's as the head's unless given), ``half_angle`` (rad). The cones
    meet halfway, or nearer the wider face where the two differ.

    >>> plates = [Layer(0.020, 207e9), Layer(0.025, 100e9)]  # [1] worked solutions: 1379 MN/m
    >>> f"{cone_stiffness(plates, 0.012, 0.018) / 1e6:.0f} MN/m"
    '1379 MN/m'
    """
    nut_diameter = head_diameter if nut_diameter is None else nut_diameter
    for face in (head_diameter, nut_diameter):
        positive("width of the bearing face beyond the hole", face - positive("hole", hole))
    within("half angle", half_angle, math.radians(1.0), math.radians(60.0))
    grip = positive("grip", sum(positive("layer thickness", layer.thickness) for layer in layers))
    lean = (nut_diameter - head_diameter) / (4.0 * math.tan(half_angle))
    meet = min(max(grip / 2.0 + lean, 0.0), grip)
    slope = 2.0 * math.tan(half_angle)
    from_head = _down_to(layers, meet)
    from_nut = _down_to(tuple(reversed(layers)), grip - meet)
    return 1.0 / (
        _cone_compliance(from_head, hole, head_diameter, slope)
        + _cone_compliance(from_nut, hole, nut_diameter, slope)
    )


def tapped_layers(layers: Sequence[Layer], diameter: float) -> tuple[Layer, ...]:
    """Shorten the last layer, the tapped one, to what a cap screw grips of it [1, fig. 8-21].

    The effective grip reaches half the ``diameter`` (m) into the tapped part, or half that part's
    thickness where it is thinner than the screw. Take the cone at the tapped end 1.5 d wide.

    >>> cover, housing = tapped_layers([Layer(0.020, 207e9), Layer(0.025, 100e9)], 0.012)
    >>> round((cover.thickness + housing.thickness) * 1e3, 3)  # [1] worked solutions: l = 26 mm
    26.0
    """
    if not layers:
        raise ValueError("no layer was given; the last one is the tapped part")
    tapped = layers[-1]
    reach = min(tapped.thickness, positive("diameter", diameter)) / 2.0
    return (*layers[:-1], replace(tapped, thickness=reach))


@quantities("N/m", modulus="Pa", outer="m", hole="m", length="m")
def sleeve_stiffness(modulus: Any, outer: Any, hole: Any, length: Any) -> Any:
    """Stiffness of a clamped sleeve no wider than the head, k = E π/4 (D² − d²)/l (N/m) [3].

    ``modulus`` E (Pa), ``outer`` D, ``hole`` d, ``length`` l (m).

    >>> f"{sleeve_stiffness('70 GPa', '20 mm', '11 mm', '30 mm').to('kN/mm').magnitude:.0f} kN/mm"
    '511 kN/mm'
    """
    positive("wall of the sleeve", np.subtract(outer, hole))
    return rod_stiffness.si(math.pi / 4.0 * (outer**2 - hole**2), modulus, length)


@quantities("N/m", modulus="Pa", diameter="m", grip="m")
def wileman_stiffness(modulus: Any, diameter: Any, grip: Any, *, material: str = "general") -> Any:
    """Stiffness of members of one material, km = E d A exp(B d/l) (N/m) [2].

    ``modulus`` E (Pa), bolt ``diameter`` d and ``grip`` l (m); ``material`` is a key of
    ``WILEMAN``. Fitted for a washer face of 1.5 d and members much wider than that.

    >>> km = wileman_stiffness("207 GPa", "12 mm", "40 mm", material="steel")
    >>> f"{km.to('N/m').magnitude / 1e6:.0f} MN/m"  # [1] worked solutions: 2361
    '2361 MN/m'
    """
    if material not in WILEMAN:
        raise ValueError(f"{material!r} has no fit; take one of {', '.join(WILEMAN)}")
    a, b = WILEMAN[material]
    positive("modulus", modulus)
    return (
        modulus * positive("diameter", diameter) * a * np.exp(b * diameter / positive("grip", grip))
    )


@quantities("", fastener_stiffness="N/m", member_stiffness="N/m")
def joint_constant(fastener_stiffness: Any, member_stiffness: Any) -> Any:
    """Share of an outer load that the fastener feels, C = kb/(kb + km) (1) [1, section 8-7].

    ``fastener_stiffness`` kb and ``member_stiffness`` km (N/m).

    >>> f"{joint_constant('6.50e6 lbf/in', '13.8e6 lbf/in'):.3f}"  # [1] example 8-3: 0.320
    '0.320'
    """
    positive("fastener stiffness", fastener_stiffness)
    return fastener_stiffness / (
        fastener_stiffness + positive("member stiffness", member_stiffness)
    )


def cone_angle(
    grip: float, face_diameter: float, outer_diameter: float, *, tapped: bool = False
) -> float:
    """Half angle of the cone by the fit of VDI 2230 (rad) [3, from memory].

    tan φ = 0.362 + 0.032 ln(l/2dw) + 0.153 ln(D/dw) for a nut, 0.348 + 0.013 ln(l/dw) +
    0.193 ln(D/dw) for a tapped hole. ``grip`` l, ``face_diameter`` dw of the head,
    ``outer_diameter`` D of the parts (m), not below dw; beyond 3 dw the spread grows no more.

    >>> f"{math.degrees(cone_angle(0.040, 0.0166, 0.050)):.1f}°"
    '28.2°'
    """
    positive("grip", grip)
    wide = within("outside over face", outer_diameter / face_diameter, 1.0, math.inf)
    slender, spread = grip / face_diameter, math.log(min(wide, 3.0))
    if tapped:
        return math.atan(0.348 + 0.013 * math.log(slender) + 0.193 * spread)
    return math.atan(0.362 + 0.032 * math.log(slender / 2.0) + 0.153 * spread)


def _disc(diameter: float) -> float:
    return math.pi / 4.0 * diameter**2


def _down_to(layers: Sequence[Layer], depth: float) -> list[Layer]:
    """Cut a stack of layers off at ``depth`` from its first face."""
    out: list[Layer] = []
    for layer in layers:
        if depth <= 1e-12:
            break
        out.append(replace(layer, thickness=min(layer.thickness, depth)))
        depth -= layer.thickness
    return out


def _cone_compliance(layers: Sequence[Layer], hole: float, face: float, slope: float) -> float:
    """Compliance (m/N) of a cone walked layer by layer, a sleeve where a layer is no wider."""
    compliance, width = 0.0, face
    for layer in layers:
        width = min(width, layer.outer_diameter)
        positive("wall of a layer beyond the hole", width - hole)
        cone = min(layer.thickness, (layer.outer_diameter - width) / slope)
        if cone > 0.0:
            angle = math.atan(slope / 2.0)
            compliance += 1.0 / frustum_stiffness.si(layer.modulus, hole, width, cone, angle)
            width += slope * cone
        if layer.thickness - cone > 0.0:
            rest = layer.thickness - cone
            compliance += 1.0 / sleeve_stiffness.si(layer.modulus, width, hole, rest)
    return compliance
