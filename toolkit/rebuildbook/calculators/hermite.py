"""Cubic Hermite functions, and a body made of elements of them condensed to a few places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import solveh_banded
from scipy.sparse.csgraph import reverse_cuthill_mckee

from rebuildbook.calculators.flange_model import Array, Bed

Numbers = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows that give the deflection at ``places`` (m)."""

    rows: Any
    places: Array


def condensed(body: Any, at_bolts: Rows, at_springs: Rows, stiffness: Array) -> Bed:
    """Put springs of ``stiffness`` (N/m) under ``body`` and condense it to bolts and springs."""
    bolts, springs = at_bolts.rows, at_springs.rows
    rows: Any = sparse.vstack([bolts, springs], "csr")  # type: ignore[no-untyped-call]
    whole = (body + springs.T @ (springs * stiffness[:, None])).tocsr()
    turn = reverse_cuthill_mckee(whole, symmetric_mode=True)
    upper = sparse.triu(whole[turn][:, turn], format="coo")  # type: ignore[no-untyped-call]
    band = np.zeros((int(np.max(upper.col - upper.row)) + 1, len(turn)))
    band[upper.row - upper.col - 1, upper.col] = upper.data
    solved = solveh_banded(band, rows[:, turn].T.toarray(), check_finite=False)
    found = rows[:, turn] @ solved
    found = (found + found.T) / 2.0
    n = bolts.shape[0]
    parts = found[:n, :n].copy(), found[n:, :n].copy(), found[n:, n:].copy()
    return Bed(*parts, stiffness, at_bolts.places, at_springs.places)


def hermite(t: Array) -> tuple[Array, Array, Array]:
    """Give the four cubic Hermite functions at ``t`` (0 to 1), their slopes and curvatures.

    In the order value and slope at 0, value and slope at 1; the last axis runs over the four.
    """
    one = np.ones_like(t)
    value = (1 - 3 * t**2 + 2 * t**3, t - 2 * t**2 + t**3, 3 * t**2 - 2 * t**3, t**3 - t**2)
    slope = (6 * t**2 - 6 * t, 1 - 4 * t + 3 * t**2, 6 * t - 6 * t**2, 3 * t**2 - 2 * t)
    bend = (12 * t - 6, 6 * t - 4, 6 - 12 * t, 6 * t - 2 * one)
    return np.stack(value, -1), np.stack(slope, -1), np.stack(bend, -1)


def gauss(count: int) -> tuple[Array, Array]:
    """Points and weights on 0 to 1."""
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1.0) / 2.0, weights / 2.0


def placed(values: Array, freedoms: Numbers, size: int) -> Any:
    """Sparse rows with ``values`` at ``freedoms``, a row for each row."""
    place = np.repeat(np.arange(len(values)), values.shape[1])
    return _sparse(values, place, freedoms, (len(values), size))


def assembled(parts: Array, freedoms: Numbers, size: int) -> Any:
    """Sum of the elements' matrices ``parts`` at their ``freedoms``."""
    across = np.broadcast_to(freedoms[:, None, :], parts.shape)
    down = np.broadcast_to(freedoms[:, :, None], parts.shape)
    return _sparse(parts, down, across, (size, size))


def _sparse(values: Array, down: Numbers, across: Numbers, shape: tuple[int, int]) -> Any:
    entries = (values.ravel(), (down.ravel(), across.ravel()))
    return sparse.csr_array(entries, shape=shape)  # type: ignore[no-untyped-call]
