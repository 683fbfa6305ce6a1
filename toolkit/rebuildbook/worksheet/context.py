"""What every section needs: the case, the shop's unit system, and short ways to make values."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from rebuildbook.sheets import Case, JobCard, ModelSheet, ShopSheet
from rebuildbook.sheets.kept import keep
from rebuildbook.worksheet.model import System, Value, value

T = TypeVar("T")


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

    def keep(self, make: Callable[..., T], *given: Any, of: Hashable = "") -> T:
        """Give ``make(context, *given)``, taken over where it was made of the same before.

        ``make`` must hang on nothing else. ``of`` names the thing it is made for, if there are
        several.
        """
        return keep(self.case, make, self, *given, of=of)

    def keep_all(
        self, make: Callable[..., Iterable[T]], *given: Any, of: Hashable
    ) -> tuple[T, ...]:
        """Give all that ``make(context, *given)`` yields, taken over as `keep` does."""
        return keep(self.case, _all_of, make, self, *given, of=(make, of))

    def value(self, si: float, dimension: str, digits: int = 3, unit: str = "") -> Value:
        """Put a computed SI number into the shop's unit."""
        return value(si, dimension, self.system, digits, unit)

    def source(self, kind: str, field: str = "") -> str:
        """Name the sheet (and field) a given value comes from."""
        words = {"job": "job card", "model": "model sheet", "shop": "shop sheet"}
        name = self.case.files[kind][0]
        return f"{words[kind]} {name}" + (f": {field}" if field else "")


def _all_of(make: Callable[..., Iterable[T]], *given: Any) -> tuple[T, ...]:
    return tuple(make(*given))
