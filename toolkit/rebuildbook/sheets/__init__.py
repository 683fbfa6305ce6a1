"""Sheets: what people write, validated and unit-checked."""

from rebuildbook.sheets.job import JobCard
from rebuildbook.sheets.load import Case, load_case, load_sheet, parameters_root
from rebuildbook.sheets.model import ModelSheet
from rebuildbook.sheets.shop import ShopSheet
from rebuildbook.sheets.source import Problem, SheetError

__all__ = [
    "Case",
    "JobCard",
    "ModelSheet",
    "Problem",
    "SheetError",
    "ShopSheet",
    "load_case",
    "load_sheet",
    "parameters_root",
]
