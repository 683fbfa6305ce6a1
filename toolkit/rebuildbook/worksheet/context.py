"""What every section needs: the case, the shop's unit system, and short ways to make values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rebuildbook.sheets import Case, JobCard, ModelSheet, ShopSheet
from rebuildbook.worksheet.model import System, Value, value


@dataclass(frozen=True, slots=True)
class Context:
    """A case, seen the way its shop reads units."""

    case: Case

    @property
    def job(self) -> JobCard:
        """The job card."""
        return self.case.job

    @property
    def model(self) -> ModelSheet:
        """The model sheet."""
        return self.case.model

    @property
    def shop(self) -> ShopSheet:
        """The shop sheet."""
        return self.case.shop

    @property
    def system(self) -> System:
        """The unit system of the shop."""
        return self.case.shop.units

    @property
    def day(self) -> date:
        """The day the tools are used: the work date, else the day the job was opened."""
        return self.case.job.work_date or self.case.job.opened

    def value(self, si: float, dimension: str, digits: int = 3, unit: str = "") -> Value:
        """Put a computed SI number into the shop's unit."""
        return value(si, dimension, self.system, digits, unit)

    def source(self, kind: str, field: str = "") -> str:
        """Name the sheet (and field) a given value comes from."""
        words = {"job": "job card", "model": "model sheet", "shop": "shop sheet"}
        name = self.case.files[kind][0]
        return f"{words[kind]} {name}" + (f": {field}" if field else "")
