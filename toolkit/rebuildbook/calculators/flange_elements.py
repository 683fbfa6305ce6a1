"""Finite elements of a flange or cover on its gasket, condensed to its bolts.

Both kinds are built on cubic Hermite functions, so that deflection and slope run on unbroken:

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
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rebuildbook.calculators.flange_model import (
    Array,
    Bar,
    Bed,
    Cover,
    Flange,
    Gasket,
    Outline,
    RingFlange,
    section_stiffness,
)
from rebuildbook.calculators.hermite import (
    Numbers,
    Rows,
    assembled,
    condensed,
    gauss,
    hermite,
    placed,
)

_VOID = 1e-6  # stiffness left to the part of a cell that lies outside the plate
_LEAST_ELEMENTS, _MOST_ELEMENTS = 16, 240
_LEAST_CELLS, _MOST_CELLS = 16, 48
Points = Sequence[tuple[float, float]]


def bed(flange: Flange, gasket: Gasket, positions: Points, *, mesh: int | None = None) -> Bed:
    """Assemble ``flange`` on ``gasket`` and condense it to bolts at ``positions`` (m).

    K = K_flange + Σ kᵢ gᵢ gᵢᵀ over the gasket's springs; the flexibilities are P K⁻¹ Pᵀ with the
    rows P of the bolts and springs. ``mesh`` is the number of elements round a ring, along a bar
    or along the longer side of a cover; left out it follows the bolts and the length
    (4EI/k)^¼ or (D/k)^¼ over which the gasket lets the flange bend.

    Raises ValueError for no bolts, for a bolt or gasket that misses the flange, and for a gasket
    stiffer than the flange itself is through its thickness, k > E/t, where no bending is left.

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
    if gasket.stiffness > flange.modulus / flange.thickness:
        raise ValueError(
            f"the gasket ({gasket.stiffness:.3g} Pa/m) is stiffer than the flange through its own "
            f"thickness ({flange.modulus / flange.thickness:.3g} Pa/m): the flange does not bend "
            "on it, and its own squeeze governs, which this model leaves out"
        )
    if isinstance(flange, Cover):
        return _cover_bed(flange, gasket, points, mesh)
    if isinstance(flange, RingFlange):
        return _ring_bed(flange, gasket, points, mesh)
    return _bar_bed(flange, gasket, points, mesh)


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
    def freedoms(self) -> Numbers:
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

    def rows(self, element: Numbers, t: Array, offset: Array) -> Rows:
        """Rows that give u = w + ρ φ at ``t`` of each ``element``, ``offset`` ρ outwards."""
        values = hermite(t)[0]
        values[:, 1::2] *= self.lengths[element][:, None]
        both = np.concatenate([values, values * offset[:, None]], 1)
        columns = self.freedoms[element].reshape(len(t), 8)
        return Rows(placed(both, columns, self.size), self._places(element, t, offset))

    def _places(self, element: Numbers, t: Array, offset: Array) -> Array:
        along = self.nodes[element] + t * self.lengths[element]
        if not self.closed:
            return np.stack([along, offset], -1)
        reach, turn = 1.0 / self.curvature + offset, along * self.curvature
        return np.stack([reach * np.cos(turn), reach * np.sin(turn)], -1)

    def locate(self, along: Array) -> tuple[Numbers, Array]:
        """Find the element and the part of it at which the places ``along`` lie."""
        element = np.clip(np.searchsorted(self.nodes, along, "right") - 1, 0, len(self.nodes) - 2)
        part = (along - self.nodes[element]) / self.lengths[element]
        return element, np.clip(part, 0.0, 1.0)

    def body(self, bending: float, torsion: float) -> Any:
        """Stiffness of the bare line for EI ``bending`` and GJ ``torsion`` (N·m²)."""
        t, weight = gauss(4)
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
        return assembled(parts, self.freedoms.reshape(count, 8), self.size)


def _line_bed(
    line: _Line, flange: RingFlange | Bar, bolts: Rows, gasket: Gasket, middle: float = 0.0
) -> Bed:
    """Lay 2 × 3 gasket springs under each element, ``middle`` (m) outwards of the centre line."""
    body = line.body(*section_stiffness(flange))
    (along, length), (across, width) = gauss(2), gauss(3)
    count = len(line.lengths)
    element, i, j = (
        part.ravel() for part in np.meshgrid(np.arange(count), [0, 1], [0, 1, 2], indexing="ij")
    )
    offset = middle + (across[j] - 0.5) * gasket.width
    area = line.lengths[element] * (1.0 + offset * line.curvature) * length[i]
    area *= gasket.width * width[j]
    springs = line.rows(element, along[i], offset)
    return condensed(body, bolts, springs, gasket.stiffness * area)


def _cut(stops: Array, size: float) -> Array:
    """Cut the way between each two ``stops`` into equal parts of at most ``size``."""
    pieces = [
        np.linspace(low, high, max(1, math.ceil((high - low) / size - 1e-6)) + 1)[:-1]
        for low, high in itertools.pairwise(stops)
    ]
    return np.append(np.concatenate(pieces), stops[-1])


def _apart(places: Array, slack: float) -> Array:
    places = np.sort(places)
    new: NDArray[np.bool_] = np.append(True, np.diff(places) > slack)
    return places[new]


def _element_size(
    flange: RingFlange | Bar, gasket: Gasket, length: float, stops: int, mesh: int | None
) -> float:
    """Length of elements (m): half of that over which the flange bends, a third of the pitch."""
    bending, _ = section_stiffness(flange)
    bend = (4.0 * bending / (gasket.stiffness * gasket.width)) ** 0.25
    if mesh is not None:
        return length / mesh
    wanted = min(0.5 * bend, length / (3.0 * stops))
    return length / float(np.clip(length / wanted, _LEAST_ELEMENTS, _MOST_ELEMENTS))


def _ring_bed(ring: RingFlange, gasket: Gasket, points: Array, mesh: int | None) -> Bed:
    radius = ring.radius
    reach = np.hypot(points[:, 0], points[:, 1])
    if np.any((reach < ring.inner_diameter / 2.0) | (reach > ring.outer_diameter / 2.0)):
        raise ValueError(
            "a bolt misses the ring: each must lie between the inner and the outer diameter"
        )
    middle = ring.gasket_diameter / 2.0 - radius
    if abs(middle) + gasket.width / 2.0 > ring.width / 2.0 * (1.0 + 1e-9):
        raise ValueError(f"a gasket {gasket.width} m wide reaches beyond the ring at its diameter")
    round_trip, slack = 2.0 * math.pi * radius, 1e-6 * radius
    along = np.mod(np.arctan2(points[:, 1], points[:, 0]) * radius, round_trip)
    along[along > round_trip - slack] = 0.0
    stops = _apart(along, slack)
    size = _element_size(ring, gasket, round_trip, len(stops), mesh)
    line = _Line(_cut(np.append(stops, stops[0] + round_trip), size), True, 1.0 / radius)
    bolts = line.rows(*line.locate(along), reach - radius)
    return _line_bed(line, ring, bolts, gasket, middle)


def _bar_bed(bar: Bar, gasket: Gasket, points: Array, mesh: int | None) -> Bed:
    half = np.array([bar.length, bar.width]) / 2.0
    if np.any(np.abs(points) > half * (1.0 + 1e-9)):
        raise ValueError("a bolt misses the bar: each must lie within its length and width")
    if gasket.width > bar.width * (1.0 + 1e-9):
        raise ValueError(f"the gasket ({gasket.width} m) is wider than the bar ({bar.width} m)")
    stops = _apart(np.concatenate([points[:, 0], [-half[0], half[0]]]), 1e-6 * bar.length)
    size = _element_size(bar, gasket, bar.length, len(stops), mesh)
    line = _Line(_cut(stops, size), False, 0.0)
    bolts = line.rows(*line.locate(points[:, 0]), points[:, 1])
    return _line_bed(line, bar, bolts, gasket)


# cover


@dataclass(frozen=True, slots=True)
class _Grid:
    """Regular cells over a plate of ``width`` and ``height`` (m) about its middle.

    The freedoms are those of a Hermite line across times those of one upright, slopes taken per
    cell: freedom ``i`` across and ``j`` upright is number ``i (2 rows + 2) + j``.
    """

    width: float
    height: float
    columns: int
    rows: int

    @property
    def size(self) -> int:
        return (2 * self.columns + 2) * (2 * self.rows + 2)

    @property
    def cell(self) -> tuple[float, float]:
        return self.width / self.columns, self.height / self.rows

    @property
    def corners(self) -> tuple[Array, Array]:
        """Lower left corner (m) of each cell, column by column."""
        across = np.linspace(-self.width / 2.0, self.width / 2.0, self.columns + 1)[:-1]
        up = np.linspace(-self.height / 2.0, self.height / 2.0, self.rows + 1)[:-1]
        return np.repeat(across, self.rows), np.tile(up, self.columns)

    def freedoms(self, cell: Any) -> Any:
        """Numbers of the 16 freedoms of each ``cell``."""
        column, row = np.divmod(np.asarray(cell), self.rows)
        across = 2 * column[:, None] + np.arange(4)
        up = 2 * row[:, None] + np.arange(4)
        return (across[:, :, None] * (2 * self.rows + 2) + up[:, None, :]).reshape(-1, 16)

    def spread(self, cell: Any, values: Array) -> Any:
        """Rows of 16 ``values`` in each ``cell`` as rows over all freedoms."""
        return placed(values, self.freedoms(cell), self.size)

    def at(self, points: Array) -> Rows:
        """Rows that give the deflection at ``points`` (m)."""
        width, height = self.cell
        across = (points[:, 0] + self.width / 2.0) / width
        up = (points[:, 1] + self.height / 2.0) / height
        column = np.clip(across.astype(int), 0, self.columns - 1)
        row = np.clip(up.astype(int), 0, self.rows - 1)
        values = _times(hermite(across - column)[0], hermite(up - row)[0])
        return Rows(self.spread(column * self.rows + row, values), points)


def _times(across: Array, up: Array) -> Array:
    return (across[:, :, None] * up[:, None, :]).reshape(-1, 16)


def _samples() -> tuple[Array, Array, Array]:
    """8 × 8 points and weights of a cell: exact for whole cells, fine enough for cut ones."""
    place, weight = gauss(4)
    place = np.concatenate([place / 2.0, place / 2.0 + 0.5])
    weight = np.tile(weight / 2.0, 2)
    return np.repeat(place, 8), np.tile(place, 8), np.outer(weight, weight).ravel()


def _plate(grid: _Grid, rigidity: float, poisson: float, solid: Array) -> Any:
    """Stiffness of the bare plate; ``solid`` says how much of D each sample of a cell has."""
    across, up, weight = _samples()
    width, height = grid.cell
    (x, x1, x2), (y, y1, y2) = hermite(across), hermite(up)
    bend_x, bend_y = _times(x2, y) / width**2, _times(x, y2) / height**2
    twist = _times(x1, y1) / (width * height)
    density = np.einsum("qi,qj->qij", bend_x, bend_x) + np.einsum("qi,qj->qij", bend_y, bend_y)
    mixed = np.einsum("qi,qj->qij", bend_x, bend_y)
    density += poisson * (mixed + mixed.transpose(0, 2, 1))
    density += 2.0 * (1.0 - poisson) * np.einsum("qi,qj->qij", twist, twist)
    density *= (rigidity * width * height * weight)[:, None, None]
    parts = (solid @ density.reshape(-1, 256)).reshape(-1, 16, 16)
    return assembled(parts, grid.freedoms(np.arange(len(parts))), grid.size)


def _cover_bed(cover: Cover, gasket: Gasket, points: Array, mesh: int | None) -> Bed:
    edge, hole = cover.gasket_edge or cover.outline, cover.gasket_hole(gasket)
    at = (points[:, 0], points[:, 1])
    if not np.all(cover.outline.contains(*at)) or np.any(_within(cover.opening, at)):
        raise ValueError("a bolt misses the cover: each must lie on the plate")
    rigidity = cover.modulus * cover.thickness**3 / (12.0 * (1.0 - cover.poisson**2))
    bend = (rigidity / gasket.stiffness) ** 0.25
    grid = _grid(cover.outline, bend, mesh)
    across, up, weight = _samples()
    left, low = grid.corners
    width, height = grid.cell
    place = (left[:, None] + across * width, low[:, None] + up * height)
    solid = cover.outline.contains(*place) & ~_within(cover.opening, place)
    body = _plate(grid, rigidity, cover.poisson, np.where(solid, 1.0, _VOID))
    pressed = (edge.contains(*place) & ~_within(hole, place)) * weight
    bearing = pressed.sum(1)
    cell = np.flatnonzero(bearing)
    share = pressed[cell] / bearing[cell, None]
    mean = grid.spread(cell, share @ _times(hermite(across)[0], hermite(up)[0]))
    middle = np.stack([(share * part[cell]).sum(1) for part in place], -1)
    area = edge.area - (hole.area if hole else 0.0)
    stiffness = gasket.stiffness * area * bearing[cell] / bearing.sum()
    return condensed(body, grid.at(points), Rows(mean, middle), stiffness)


def _within(outline: Outline | None, place: tuple[Array, Array]) -> Any:
    """Say which places lie inside; none where there is no outline."""
    return outline.contains(*place) if outline else np.zeros(place[0].shape, dtype=bool)


def _grid(outline: Outline, bend: float, mesh: int | None) -> _Grid:
    longer = max(outline.width, outline.height)
    if mesh is None:
        mesh = int(np.clip(math.ceil(longer / (0.5 * bend)), _LEAST_CELLS, _MOST_CELLS))
    size = longer / mesh * (1.0 + 1e-9)
    columns = max(4, math.ceil(outline.width / size))
    return _Grid(outline.width, outline.height, columns, max(4, math.ceil(outline.height / size)))
