"""Strength classes of threaded fasteners, and the proof load they give a thread.

Every row of the reference table carries its source: ISO 898-1, SAE J429, ISO 3506-1, ASTM F593.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass

from rebuildbook.calculators.threads import MILLIMETRE, Thread
from rebuildbook.reference import rows
from rebuildbook.units import quantities

MEGAPASCAL = 1e6
_SYSTEM_OF = {
    "ISO 898-1": "metric",
    "ISO 3506-1": "metric",
    "SAE J429": "unified",
    "ASTM F593": "unified",
}
_PREFIX = re.compile(
    r"(?:iso ?898-1|iso ?3506-1|sae(?= )|j429|astm(?= )|property|class|steel)[ ,:]*", re.IGNORECASE
)


@dataclass(frozen=True, slots=True)
class StrengthClass:
    """Least strengths of a fastener, Pa; build one by hand for a material no standard lists."""

    system: str
    name: str
    proof_strength: float
    yield_strength: float
    tensile_strength: float
    source: str


def strength_class(name: str, thread: Thread) -> StrengthClass:
    """Give the least strengths of class ``name`` at the size of ``thread``.

    ``name`` is a class such as "8.8", "grade 5", "A4-70" or "F593C". Where a class changes with
    size, the limit itself belongs to the smaller sizes (8.8 at M16). Stainless classes have no
    proof load: the 0.2 % yield stands in for it, as their source says. Raises ValueError for a
    class that is not known, is for the other thread system, or does not reach this size.

    >>> from rebuildbook.calculators.threads import parse_thread
    >>> strength_class("8.8", parse_thread("M10")).proof_strength / 1e6  # ISO 898-1
    580.0
    >>> strength_class("grade 5", parse_thread("M10"))
    Traceback (most recent call last):
    ...
    ValueError: grade 5 (SAE J429) is for unified threads, and M10×1.5 is metric; ...
    """
    wanted = _canonical(name)
    table = rows("strength_classes")
    of_class = [row for row in table if row["class"] == wanted]
    if not of_class:
        raise _unknown(name, wanted, thread)
    system = of_class[0]["system"]
    if _SYSTEM_OF[system] != thread.system:
        raise ValueError(
            f"{wanted} ({system}) is for {_SYSTEM_OF[system]} threads, and {thread.designation} "
            f"is {thread.system}; write one of {_offered(thread)}"
        )
    size = thread.major / MILLIMETRE
    for row in of_class:
        if float(row["size_min_mm"]) - 1e-6 <= size <= float(row["size_max_mm"]) + 1e-6:
            return StrengthClass(
                system,
                wanted,
                float(row["proof_strength_MPa"]) * MEGAPASCAL,
                float(row["yield_strength_MPa"]) * MEGAPASCAL,
                float(row["tensile_strength_MPa"]) * MEGAPASCAL,
                row["source"],
            )
    spans = " and ".join(f"{row['size_min_mm']} to {row['size_max_mm']} mm" for row in of_class)
    raise ValueError(
        f"{wanted} ({system}) is tabled for diameters of {spans}; "
        f"{thread.designation} has {size:g} mm"
    )


@quantities("N", stress_area="m^2", proof_strength="Pa")
def load_at_proof(stress_area: float, proof_strength: float) -> float:
    """Give the load at which the fastener must not yet have set, F = A·S (ISO 898-1).

    >>> load_at_proof("84.3 mm^2", "580 MPa").to("kN").magnitude  # ISO 898-1, M12 8.8: 48.9 kN
    48.89...
    """
    return stress_area * proof_strength


def proof_load(thread: Thread, strength: StrengthClass) -> float:
    """Give the proof load of a thread, N: its stress area times the proof strength.

    >>> from rebuildbook.calculators.threads import parse_thread
    >>> stud = parse_thread("3/4-16 UNF")  # Shigley example 8-3: 0.373 in² at 85 ksi, 31.7 kip
    >>> proof_load(stud, strength_class("grade 5", stud)) / 4448.2216
    31.70...
    """
    return float(load_at_proof.si(thread.stress_area, strength.proof_strength))


def _canonical(name: str) -> str:
    """Bring a class to the table's spelling: "SAE 5" to "grade 5", "a2 70" to "A2-70"."""
    text = " ".join(name.split())
    inch = re.search(r"\bgr(?:ade)?\b|sae|j429", text, re.IGNORECASE)
    bare = re.sub(r"\bgr(?:ade)?\b", "", _PREFIX.sub("", text), flags=re.IGNORECASE)
    bare = bare.strip(" .,:").upper().replace(" ", "-")
    return f"grade {bare}" if inch and re.fullmatch(r"\d(?:\.2)?", bare) else bare


def _offered(thread: Thread) -> str:
    names = (
        row["class"]
        for row in rows("strength_classes")
        if _SYSTEM_OF[row["system"]] == thread.system
    )
    return ", ".join(dict.fromkeys(names))


def _unknown(name: str, wanted: str, thread: Thread) -> ValueError:
    if re.fullmatch(r"\d+", wanted):
        return ValueError(
            f"{name!r} could be a nut's class or a screw's grade; write 'grade {wanted}' for "
            "SAE J429, or the screw's two figures such as 8.8 for ISO 898-1"
        )
    known = dict.fromkeys(row["class"] for row in rows("strength_classes"))
    close = difflib.get_close_matches(wanted, known, 1, 0.5)
    meant = f"perhaps {close[0]}; " if close else ""
    return ValueError(
        f"{name!r} is no strength class of the table; {meant}for {thread.system} threads "
        f"it has {_offered(thread)}"
    )
