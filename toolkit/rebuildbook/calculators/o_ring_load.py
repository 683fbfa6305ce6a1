"""What a squeezed O-ring presses with: load per length, contact pressure, force to close a flange.

Sources
-------
1. P. B. Lindley, Compression characteristics of laterally-unrestrained rubber O-rings, Journal of
   the Institution of the Rubber Industry 1 (1967): load per length w·E·(1.25 c^1.5 + 50 c^6), from
   memory.
2. K. L. Johnson, Contact Mechanics, line contact of a cylinder with a rigid flat, which gives width
   and peak pressure for that load at a Poisson ratio of 1/2.
3. A. N. Gent, On the relation between indentation hardness and Young's modulus, Rubber Chemistry
   and Technology 31 (1958), from memory.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from rebuildbook.calculators.bounds import positive, within
from rebuildbook.units import quantities

MOST_SQUEEZE = 0.40  # beyond it the groove's walls carry along and the form does not hold


@quantities("Pa", hardness="")
def rubber_modulus(hardness: Any) -> Any:
    """Young's modulus of rubber of ``hardness`` Shore A [3], for small strain.

    E = 0.0981 (56 + 7.62336 S)/(0.137505 (254 − 2.54 S)) MPa. For S from 20 to 90; recipes of one
    hardness differ by some 20 % (common practice, no source).

    >>> f'{rubber_modulus(70).to("MPa"):.2f~P}'
    '5.52 MPa'
    """
    within("hardness in Shore A", hardness, 20.0, 90.0)
    return 0.0981e6 * (56.0 + 7.62336 * hardness) / (0.137505 * (254.0 - 2.54 * hardness))


@quantities("N/m", section="m", squeeze="", modulus="Pa")
def line_load(section: Any, squeeze: Any, modulus: Any) -> Any:
    """Load on each metre of a ring squeezed between two flats [1].

    f = w E (1.25 c^1.5 + 50 c^6), with ``section`` w in m, ``squeeze`` c as a share of it from 0 to
    0.4, and ``modulus`` E in Pa. The ring is free to spread: once it fills its groove it presses
    harder.

    >>> f'{line_load("3.53 mm", 0.25, "5.5 MPa").to("N/mm"):.2f~P}'  # by hand: 3.53·5.5·0.16846
    '3.27 N/mm'
    """
    positive("section", section)
    positive("modulus", modulus)
    return section * modulus * _spring(squeeze)


@quantities("m", section="m", squeeze="")
def contact_width(section: Any, squeeze: Any) -> Any:
    """Width of the ring's contact with either face [1, 2]: b = w √(6/π (1.25 c^1.5 + 50 c^6)).

    ``section`` w in m, ``squeeze`` c as a share of it.

    >>> f'{contact_width("3.53 mm", 0.25).to("mm"):.2f~P}'
    '2.00 mm'
    """
    positive("section", section)
    return section * np.sqrt(6.0 / np.pi * _spring(squeeze))


@quantities("Pa", squeeze="", modulus="Pa")
def peak_contact_pressure(squeeze: Any, modulus: Any) -> Any:
    """Greatest pressure of the ring on either face, with no fluid pressure [1, 2].

    4f/(π b), which is E √(8/(3π) · (1.25 c^1.5 + 50 c^6)): it does not depend on the section.
    ``squeeze`` c as a share, ``modulus`` E in Pa. Fluid pressure adds to it, which is why a
    squeezed ring seals far more than this.

    >>> f'{peak_contact_pressure(0.25, "5.5 MPa").to("MPa"):.2f~P}'
    '2.08 MPa'
    """
    positive("modulus", modulus)
    return modulus * np.sqrt(8.0 / (3.0 * np.pi) * _spring(squeeze))


@quantities("N", load="N/m", midline="m")
def closing_force(load: Any, midline: Any) -> Any:
    """Force the fasteners give to squeeze the ring before the faces meet: F = f π D.

    ``load`` f per length in N/m, ``midline`` D, the mean diameter of the squeezed ring, in m.

    >>> f'{closing_force("3.27 N/mm", "28.5 mm").to("N"):.0f~P}'
    '293 N'
    """
    positive("midline", midline)
    return load * np.pi * midline


def _spring(squeeze: Any) -> Any:
    within("squeeze", squeeze, 0.0, MOST_SQUEEZE)
    return 1.25 * squeeze**1.5 + 50.0 * squeeze**6
