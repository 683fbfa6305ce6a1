"""A flange or cover on its gasket as finite elements, condensed to its bolts.

Three shapes: a ring (flange or head with a large bore), a straight bar (row or narrow manifold)
and a cover (rectangular or elliptical plate, with or without an opening). Each lies on a gasket
of distributed springs, k = E/t per unit area, on a body that does not yield. The flange takes
up no shear and no squeeze through its own thickness; bolt holes, hubs and pipes are left out.
Two equal flexible flanges bolted together are half of this: give half the gasket's thickness
and twice the stiffness of the bolts.

Elements, all built on cubic Hermite functions, so that deflection and slope run on unbroken:

- Ring and bar: deflection w and twist φ of a stiff cross-section along the centre line s of
  curvature 1/R, u = w + ρ φ at the distance ρ outwards of it. Energy per length
  ½ EI (w″ + φ/R)² + ½ GJ (φ′ − w′/R)² [1]; zero for any tilt of the whole ring. The section is
  taken to stay straight: good for radial widths up to about a third of the mean diameter.
- Cover: thin plate, D = E t³/(12 (1 − ν²)), in Bogner–Fox–Schmit rectangles [2] on a regular
  grid; cells cut by an edge are integrated over the part inside, the rest is given a millionth
  of the stiffness. Good for a thickness up to about a fifth of the bolt spacing; the gasket in
  each cell is one spring on the mean deflection there.

References
----------
1. S. P. Timoshenko, Strength of Materials Part II; M. Hetényi, Beams on Elastic Foundation:
   bending and twist of a circular ring, beam on springs (from memory).
2. F. K. Bogner, R. L. Fox and L. A. Schmit: the bicubic plate rectangle (from memory).
3. R. J. Roark, Formulas for Stress and Strain: torsion of a rectangle (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from rebuildbook.calculators.bounds import positive, within

Array = NDArray[np.float64]
Points = Sequence[tuple[float, float]]

_VOID = 1e-6  # stiffness left to the part of a cell that lies outside the plate
_LEAST_ELEMENTS, _MOST_ELEMENTS = 16, 240
_LEAST_CELLS, _MOST_CELLS = 16, 48


@dataclass(frozen=True, slots=True)
class Gasket:
    """A flat gasket: modulus in compression (Pa, at the working stress), thickness and width (m).

    Rubber between plates is far stiffer than its Young's modulus: give the modulus of the strip
    as it is squeezed. A real gasket gives back less than it took; this one is elastic.
    """

    modulus: float
    thickness: float
    width: float

    def __post_init__(self) -> None:
        positive("gasket modulus", self.modulus)
        positive("gasket thickness", self.thickness)
        positive("gasket width", self.width)

    @property
    def stiffness(self) -> float:
        """Pressure per compression, k = E/t (Pa/m)."""
        return self.modulus / self.thickness


@dataclass(frozen=True, slots=True)
class Outline:
    """An edge about the joint's middle: a rectangle or an ellipse of ``width``, ``height`` (m)."""

    shape: Literal["rectangle", "ellipse"]
    width: float
    height: float

    def __post_init__(self) -> None:
        if self.shape not in {"rectangle", "ellipse"}:
            raise ValueError(f"outline {self.shape!r} is not known; use rectangle or ellipse")
        positive("outline width", self.width)
        positive("outline height", self.height)

    @property
    def area(self) -> float:
        """Area inside (m²)."""
        return self.width * self.height * (1.0 if self.shape == "rectangle" else math.pi / 4.0)

    def contains(self, x: Any, y: Any) -> Any:
        """Say which points (m) lie inside or on the edge."""
        across, up = np.abs(x) * 2.0 / self.width, np.abs(y) * 2.0 / self.height
        if self.shape == "rectangle":
            return np.maximum(across, up) <= 1.0 + 1e-9
        return across**2 + up**2 <= 1.0 + 1e-9

    def holds(self, other: Outline) -> bool:
        """Say whether ``other`` lies inside."""
        if self.shape == "ellipse" and other.shape == "rectangle":
            return bool(self.contains(other.width / 2.0, other.height / 2.0))
        slack = 1.0 + 1e-9
        return other.width <= self.width * slack and other.height <= self.height * slack

    def inset(self, distance: float) -> Outline | None:
        """Move the edge inwards by ``distance`` (m); None where nothing is left."""
        width, height = self.width - 2.0 * distance, self.height - 2.0 * distance
        return Outline(self.shape, width, height) if min(width, height) > 0.0 else None


@dataclass(frozen=True, slots=True)
class RingFlange:
    """A flat ring: modulus (Pa), thickness, inner, outer and mean gasket diameter (m)."""

    modulus: float
    thickness: float
    inner_diameter: float
    outer_diameter: float
    gasket_diameter: float
    poisson: float = 0.3

    def __post_init__(self) -> None:
        _check_body(self.modulus, self.thickness, self.poisson)
        positive("inner diameter", self.inner_diameter)
        if not self.inner_diameter < self.outer_diameter < math.inf:
            raise ValueError(
                f"the ring runs from {self.inner_diameter} to {self.outer_diameter} m; "
                "the outer diameter must be the larger"
            )
        within("gasket diameter", self.gasket_diameter, self.inner_diameter, self.outer_diameter)


@dataclass(frozen=True, slots=True)
class Bar:
    """A straight bar along x about the middle: modulus (Pa), thickness, length and width (m).

    The gasket lies under its whole length, along the middle of its width.
    """

    modulus: float
    thickness: float
    length: float
    width: float
    poisson: float = 0.3

    def __post_init__(self) -> None:
        _check_body(self.modulus, self.thickness, self.poisson)
        positive("bar length", self.length)
        positive("bar width", self.width)


@dataclass(frozen=True, slots=True)
class Cover:
    """A flat plate: modulus (Pa), thickness (m), its outline, and an opening if it has one.

    The gasket lies inside ``gasket_edge`` (its outer edge; the plate's own if not given), a
    band of the gasket's width; a width of half the plate or more is a full-face sheet.
    """

    modulus: float
    thickness: float
    outline: Outline
    gasket_edge: Outline | None = None
    opening: Outline | None = None
    poisson: float = 0.3

    def __post_init__(self) -> None:
        _check_body(self.modulus, self.thickness, self.poisson)
        for name, inner in (("gasket", self.gasket_edge), ("opening", self.opening)):
            if inner is not None and not self.outline.holds(inner):
                raise ValueError(f"the {name}'s edge reaches beyond the cover's outline")


Flange = RingFlange | Bar | Cover


@dataclass(frozen=True, slots=True, eq=False)
class Bed:
    """A flange on its gasket seen from n bolts and m gasket springs, gasket as if glued.

    ``bolts`` (n×n), ``across`` (m×n) and ``springs`` (m×m) are flexibilities (m/N): deflection
    toward the body at the row for a unit force at the column. ``stiffness`` (m) is that of each
    gasket spring (N/m).
    """

    bolts: Array
    across: Array
    springs: Array
    stiffness: Array


def bed(flange: Flange, gasket: Gasket, positions: Points, *, mesh: int | None = None) -> Bed:
    """Assemble ``flange`` on ``gasket`` and condense it to bolts at ``positions`` (m).

    K = K_flange + Σ kᵢ gᵢ gᵢᵀ over the gasket's springs; the flexibilities are P K⁻¹ Pᵀ with the
    rows P of the bolts and springs. ``mesh`` is the number of elements round a ring, along a bar
    or along the longer side of a cover; left out it follows the bolts and the length
    (4EI/k)^¼ or (D/k)^¼ over which the gasket lets the flange bend.

    Raises ValueError for a bolt that misses the flange, no bolts, or a gasket that does.

    >>> rubber = Gasket(modulus=30e6, thickness=3e-3, width=30e-3)
    >>> bar = Bar(modulus=200e9, thickness=20e-3, length=0.4, width=30e-3)
    >>> low = bed(bar, rubber, [(-0.15, 0.0), (0.0, 0.0), (0.15, 0.0)]).bolts
    >>> bool(low[0, 0] > low[0, 1] > 0.0 > low[0, 2])  # the far end rises
    True
    """
    points = np.asarray(positions, dtype=float).reshape(-1, 2)
    if not len(points) or not np.all(np.isfinite(points)):
        raise ValueError("no positions are given, or one is no number; give each bolt as (x, y)")
    if mesh is not None and mesh < 4:
        raise ValueError(f"a mesh of {mesh} elements is given; at least 4 are needed")
    if isinstance(flange, Cover):
        return _cover_bed(flange, gasket, points, mesh)
    if isinstance(flange, RingFlange):
        return _ring_bed(flange, gasket, points, mesh)
    return _bar_bed(flange, gasket, points, mesh)


def _check_body(modulus: float, thickness: float, poisson: float) -> None:
    positive("flange modulus", modulus)
    positive("flange thickness", thickness)
    within("Poisson's ratio", poisson, 0.0, 0.5)


def _condense(body: Any, bolts: Any, springs: Any, stiffness: Array) -> Bed:
    rows = sparse.vstack([bolts, springs]).tocsr()
    whole = body + springs.T @ sparse.diags_array(stiffness) @ springs
    found = rows @ splu(whole.tocsc()).solve(rows.T.toarray())
    found = (found + found.T) / 2.0
    n = bolts.shape[0]
    return Bed(found[:n, :n].copy(), found[n:, :n].copy(), found[n:, n:].copy(), stiffness)


def hermite(t: Array) -> tuple[Array, Array, Array]:
    """Give the four cubic Hermite functions at ``t`` (0 to 1), their slopes and curvatures.

    In the order value and slope at 0, value and slope at 1; the last axis runs over the four.
    """
    one = np.ones_like(t)
    value = (1 - 3 * t**2 + 2 * t**3, t - 2 * t**2 + t**3, 3 * t**2 - 2 * t**3, t**3 - t**2)
    slope = (6 * t**2 - 6 * t, 1 - 4 * t + 3 * t**2, 6 * t - 6 * t**2, 3 * t**2 - 2 * t)
    bend = (12 * t - 6, 6 * t - 4, 6 - 12 * t, 6 * t - 2 * one)
    return np.stack(value, -1), np.stack(slope, -1), np.stack(bend, -1)


def _gauss(count: int) -> tuple[Array, Array]:
    """Points and weights on 0 to 1."""
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1.0) / 2.0, weights / 2.0


# ring and bar


@dataclass(frozen=True, slots=True, eq=False)
class _Line:
    """Centre line cut at ``nodes`` (m along it); a closed one ends where it begins."""

    nodes: Array
    closed: bool
    curvature: float

    @property
    def lengths(self) -> Array:
        return np.diff(self.nodes)

    @property
    def freedoms(self) -> Array:
        """Numbers of w, w′ and of φ, φ′ at both ends of each element (elements × 2 × 4)."""
        count = len(self.lengths)
        ends = np.stack([np.arange(count), np.arange(1, count + 1)], -1)
        if self.closed:
            ends %= count
        deflection = (4 * ends[:, :, None] + np.arange(2)).reshape(count, 4)
        return np.stack([deflection, deflection + 2], 1)

    @property
    def size(self) -> int:
        return 4 * (len(self.nodes) - self.closed)

    def rows(self, element: Array, t: Array, offset: Array) -> Any:
        """Rows that give u = w + ρ φ at ``t`` of each ``element``, ``offset`` ρ outwards."""
        values = hermite(t)[0]
        values[:, 1::2] *= self.lengths[element][:, None]
        both = np.concatenate([values, values * offset[:, None]], 1)
        columns = self.freedoms[element].reshape(len(t), 8)
        place = np.repeat(np.arange(len(t)), 8)
        return sparse.csr_array(
            (both.ravel(), (place, columns.ravel())), shape=(len(t), self.size)
        )

    def locate(self, along: Array) -> tuple[Array, Array]:
        """Find the element and the part of it at which the places ``along`` lie."""
        element = np.clip(np.searchsorted(self.nodes, along, "right") - 1, 0, len(self.nodes) - 2)
        part = (along - self.nodes[element]) / self.lengths[element]
        return element, np.clip(part, 0.0, 1.0)

    def body(self, bending: float, torsion: float) -> Any:
        """Stiffness of the bare line for EI ``bending`` and GJ ``torsion`` (N·m²)."""
        t, weight = _gauss(4)
        count = len(self.lengths)
        length = self.lengths[:, None, None]
        scale = np.ones((count, 1, 4))
        scale[:, :, 1::2] = length
        value, slope, bend = (part[None] * scale for part in hermite(t))
        curve = np.concatenate([bend / length**2, value * self.curvature], -1)
        twist = np.concatenate([-slope / length * self.curvature, slope / length], -1)
        share = self.lengths[:, None] * weight
        parts = bending * np.einsum("eq,eqi,eqj->eij", share, curve, curve)
        parts += torsion * np.einsum("eq,eqi,eqj->eij", share, twist, twist)
        return _assembled(parts, self.freedoms.reshape(count, 8), self.size)


def _assembled(parts: Array, freedoms: Array, size: int) -> Any:
    across = np.broadcast_to(freedoms[:, None, :], parts.shape)
    down = np.broadcast_to(freedoms[:, :, None], parts.shape)
    entries = (parts.ravel(), (down.ravel(), across.ravel()))
    return sparse.csr_array(entries, shape=(size, size))


def _line_bed(
    line: _Line, flange: RingFlange | Bar, width: float, bolts: Any, gasket: Gasket, middle: float
) -> Bed:
    """Lay 2 × 2 gasket springs under each element, ``middle`` (m) outwards of the centre line."""
    shear = flange.modulus / (2.0 * (1.0 + flange.poisson))
    body = line.body(
        flange.modulus * width * flange.thickness**3 / 12.0,
        shear * _torsion_constant(width, flange.thickness),
    )
    place, weight = _gauss(2)
    count = len(line.lengths)
    element, along, across = (
        part.ravel() for part in np.meshgrid(np.arange(count), [0, 1], [0, 1], indexing="ij")
    )
    offset = middle + (place[across] - 0.5) * gasket.width
    area = line.lengths[element] * (1.0 + offset * line.curvature) * weight[along]
    area *= gasket.width * weight[across]
    springs = line.rows(element, place[along], offset)
    return _condense(body, bolts, springs, gasket.stiffness * area)


def _torsion_constant(width: float, thickness: float) -> float:
    """Torsion constant of a rectangle (m⁴) [3]."""
    long, short = max(width, thickness), min(width, thickness)
    ratio = short / long
    return long * short**3 * (1.0 / 3.0 - 0.21 * ratio * (1.0 - ratio**4 / 12.0))


def _size(flange: RingFlange | Bar, width: float, gasket: Gasket) -> float:
    """Half the length over which the bar bends on its gasket, ½ (4EI/k)^¼ (m)."""
    bending = flange.modulus * width * flange.thickness**3 / 12.0
    return 0.5 * (4.0 * bending / (gasket.stiffness * gasket.width)) ** 0.25


def _cut(stops: Array, size: float) -> Array:
    """Cut the way between each two ``stops`` into equal parts of at most ``size``."""
    pieces = [
        np.linspace(low, high, max(1, math.ceil((high - low) / size - 1e-6)) + 1)[:-1]
        for low, high in zip(stops[:-1], stops[1:], strict=True)
    ]
    return np.append(np.concatenate(pieces), stops[-1])


def _apart(places: Array, slack: float) -> Array:
    places = np.sort(places)
    return places[np.append(True, np.diff(places) > slack)]


def _element_size(length: float, bolts: int, size: float, mesh: int | None) -> float:
    if mesh is not None:
        return length / mesh
    wanted = min(size, length / (3.0 * bolts))
    return length / float(np.clip(length / wanted, _LEAST_ELEMENTS, _MOST_ELEMENTS))


def _ring_bed(ring: RingFlange, gasket: Gasket, points: Array, mesh: int | None) -> Bed:
    width = (ring.outer_diameter - ring.inner_diameter) / 2.0
    radius = (ring.outer_diameter + ring.inner_diameter) / 4.0
    reach = np.hypot(points[:, 0], points[:, 1])
    if np.any((reach < ring.inner_diameter / 2.0) | (reach > ring.outer_diameter / 2.0)):
        raise ValueError(
            "a bolt misses the ring: each must lie between the inner and the outer diameter"
        )
    middle = ring.gasket_diameter / 2.0 - radius
    if abs(middle) + gasket.width / 2.0 > width / 2.0 * (1.0 + 1e-9):
        raise ValueError(f"a gasket {gasket.width} m wide reaches beyond the ring at its diameter")
    along = np.mod(np.arctan2(points[:, 1], points[:, 0]), 2.0 * math.pi) * radius
    round_trip = 2.0 * math.pi * radius
    stops = _apart(along, 1e-6 * radius)
    size = _element_size(round_trip, len(stops), _size(ring, width, gasket), mesh)
    line = _Line(_cut(np.append(stops, stops[0] + round_trip), size), True, 1.0 / radius)
    along = np.where(along < stops[0], along + round_trip, along)
    bolts = line.rows(*line.locate(along), reach - radius)
    return _line_bed(line, ring, width, bolts, gasket, middle)


def _bar_bed(bar: Bar, gasket: Gasket, points: Array, mesh: int | None) -> Bed:
    half = np.array([bar.length, bar.width]) / 2.0
    if np.any(np.abs(points) > half * (1.0 + 1e-9)):
        raise ValueError("a bolt misses the bar: each must lie within its length and width")
    if gasket.width > bar.width * (1.0 + 1e-9):
        raise ValueError(f"the gasket ({gasket.width} m) is wider than the bar ({bar.width} m)")
    stops = _apart(np.concatenate([points[:, 0], [-half[0], half[0]]]), 1e-6 * bar.length)
    size = _element_size(bar.length, len(stops), _size(bar, bar.width, gasket), mesh)
    line = _Line(_cut(stops, size), False, 0.0)
    bolts = line.rows(*line.locate(points[:, 0]), points[:, 1])
    return _line_bed(line, bar, bar.width, bolts, gasket, 0.0)


# cover
