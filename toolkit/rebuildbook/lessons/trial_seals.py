"""What to try in lesson 7: a ring in the face of a cover, with sizes and swelling to choose."""

from __future__ import annotations

from rebuildbook.calculators.o_ring import assess_o_ring, squeeze_limits
from rebuildbook.calculators.o_ring_gland import FaceGland, Service
from rebuildbook.calculators.o_ring_sizes import o_ring, plus_minus
from rebuildbook.figures.o_ring_gland import o_ring_gland
from rebuildbook.lessons.show import Drawn, drawn
from rebuildbook.units import parse_amount, show


def ring_in_groove(
    ring: str = "45 mm x 3.5 mm",
    depth: str = "2.65 mm",
    width: str = "4.8 mm",
    wall: str = "51.8 mm",
    swell: str = "0 %",
) -> Drawn:
    """Draw ``ring`` in a groove in the face of a cover; all are texts with their units.

    ``depth`` and ``width`` are the groove's, ``wall`` the diameter of its outer wall, ``swell``
    what the rubber grows by in its fluid, of its volume. Raises UnitProblem for a text that is no
    size, and ValueError for a ring or a groove that cannot be.
    """
    found = o_ring(ring)
    deep, wide, outer = (
        parse_amount(text, "length", allow=("single",)).nominal for text in (depth, width, wall)
    )
    gland = FaceGland(plus_minus(deep), plus_minus(wide), plus_minus(outer))
    share = parse_amount(swell, "fraction", allow=("single",)).nominal
    at = assess_o_ring(found, gland, Service(swell=share))
    low, high = squeeze_limits(found.section.nominal, "face")
    words = (
        f"Squeeze {show(at.squeeze_share.nominal, '%')}, with the ring's tolerance "
        f"{show(at.squeeze_share.low, '%', 2)} to {show(at.squeeze_share.high, '%', 2)}; as fitted "
        f"{show(low, '%', 2)} to {show(high, '%', 2)} is wanted. Groove filled to "
        f"{show(at.fill.nominal, '%')}, at most {show(at.fill.high, '%', 2)}."
    )
    remarks = [f"{one.text[0].upper()}{one.text[1:]}." for one in at.remarks]
    return drawn(o_ring_gland(found, gland, at), " ".join([words, *remarks]))
