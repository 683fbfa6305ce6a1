"""Materials of balls, seats, housings and clamped members: elasticity, density, what they bear.

References
----------
1. K. L. Johnson, Contact Mechanics: first yield below a Hertz contact by the greatest shear stress,
   p0 = 1.67 Y under a line, p0 = 1.60 Y under a point (Poisson ratio 0.3).
2. Brittle materials and plastics held to their compressive strength: common practice, no source.
The rows of the reference table ``materials`` carry their own sources.
"""

from __future__ import annotations

import difflib
import functools
import math
from dataclasses import dataclass
from typing import Literal

from rebuildbook.reference import rows

Kind = Literal["ductile", "brittle", "plastic", "elastomer"]
ContactShape = Literal["line", "point"]

FIRST_YIELD: dict[ContactShape, float] = {"line": 1.67, "point": 1.60}
_GIGA, _MEGA, _MICRO = 1e9, 1e6, 1e-6


@dataclass(frozen=True, slots=True)
class Material:
    """One material, at room temperature.

    ``elastic_modulus``, ``yield_strength``, ``tensile_strength``, ``compressive_strength`` and
    ``contact_limit`` (a peak contact pressure stated for the material itself) in Pa, ``density``
    in kg/m³, ``expansion`` (linear, thermal) in 1/K. What is not known is None. ``kind`` decides
    what limits a contact.
    """

    name: str
    kind: Kind
    elastic_modulus: float
    poisson_ratio: float
    density: float
    hardness: str = ""
    yield_strength: float | None = None
    tensile_strength: float | None = None
    compressive_strength: float | None = None
    contact_limit: float | None = None
    expansion: float | None = None
    source: str = ""

    def __post_init__(self) -> None:
        for what in ("elastic_modulus", "density"):
            size = getattr(self, what)
            if not 0.0 < size < math.inf:
                raise ValueError(f"{self.name}: {what} of {size:g}; it must be above zero")
        if not 0.0 <= self.poisson_ratio <= 0.5:
            raise ValueError(
                f"{self.name}: a Poisson ratio of {self.poisson_ratio:g}; it lies between 0 and 0.5"
            )


@functools.cache
def _by_name() -> dict[str, Material]:
    found: dict[str, Material] = {}
    for row in rows("materials"):
        material = _read(row)
        for name in (row["name"], *filter(None, row["also"].split("|"))):
            found[_key(name)] = material
    return found


def _read(row: dict[str, str]) -> Material:
    def megapascal(column: str) -> float | None:
        return float(row[column]) * _MEGA if row[column] else None

    kinds: dict[str, Kind] = {
        "ductile": "ductile", "brittle": "brittle", "plastic": "plastic", "elastomer": "elastomer",
    }  # fmt: skip
    return Material(
        name=row["name"],
        kind=kinds[row["kind"]],
        elastic_modulus=float(row["elastic_modulus_GPa"]) * _GIGA,
        poisson_ratio=float(row["poisson_ratio"]),
        density=float(row["density_kg_m3"]),
        hardness=row["hardness"],
        yield_strength=megapascal("yield_strength_MPa"),
        tensile_strength=megapascal("tensile_strength_MPa"),
        compressive_strength=megapascal("compressive_strength_MPa"),
        contact_limit=megapascal("contact_limit_MPa"),
        expansion=float(row["expansion_um_m_K"]) * _MICRO if row["expansion_um_m_K"] else None,
        source=row["source"],
    )


def _key(name: str) -> str:
    return " ".join(name.casefold().replace(",", " ").split())


def material(name: str) -> Material:
    """Give the material of that name, or of one of its other names, from the reference table.

    Raises LookupError naming the nearest ones.

    >>> material("316").name, material("Tungsten carbide").density
    ('stainless steel 316', 14950.0)
    >>> material("tungsten carbid")
    Traceback (most recent call last):
    ...
    LookupError: no material 'tungsten carbid' in the table; the nearest are tungsten carbide, ...
    """
    known = _by_name()
    if (key := _key(name)) in known:
        return known[key]
    near = difflib.get_close_matches(key, known, 6, 0.4)
    named = dict.fromkeys(known[one].name for one in near or list(known)[:6])
    raise LookupError(
        f"no material {name!r} in the table; the nearest are {'; '.join(list(named)[:3])}"
    )


def contact_limit(bearing: Material, shape: ContactShape) -> float | None:
    """Give the peak contact pressure, Pa, that ``bearing`` takes without harm; None if unknown.

    The limit stated for the material itself goes first. A ductile one yields below the surface at
    1.67 Y under a line and at 1.60 Y under a point [1]; a brittle one and a plastic are held to
    their compressive strength, or to the yield strength where that alone is known [2]. An elastomer
    has no such limit: it gives way and recovers.

    >>> round(contact_limit(material("stainless steel 316"), "line") / 1e6, 1)
    342.4
    """
    if bearing.contact_limit is not None:
        return bearing.contact_limit
    if bearing.kind == "ductile" and bearing.yield_strength is not None:
        return FIRST_YIELD[shape] * bearing.yield_strength
    if bearing.kind in {"brittle", "plastic"}:
        return bearing.compressive_strength or bearing.yield_strength
    return None
