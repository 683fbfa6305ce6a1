"""Units: one pint registry, shop spellings in, shop figures out."""

from rebuildbook.units.grammar import UnitProblem
from rebuildbook.units.parse import Amount, parse_amount, parse_quantity
from rebuildbook.units.registry import Formula, Quantity, quantities, registry
from rebuildbook.units.show import from_unit, number, shop_unit, show, to_unit, with_unit
from rebuildbook.units.table import DIMENSIONS, factor, shown_unit

__all__ = [
    "DIMENSIONS",
    "Amount",
    "Formula",
    "Quantity",
    "UnitProblem",
    "factor",
    "from_unit",
    "number",
    "parse_amount",
    "parse_quantity",
    "quantities",
    "registry",
    "shop_unit",
    "show",
    "shown_unit",
    "to_unit",
    "with_unit",
]
