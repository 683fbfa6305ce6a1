"""Print what a complete recompute takes for each demo card: python recompute_table.py [CARD …].

Every change is measured after the first build, as the median of some further values: reading the
sheets, then the worksheet, and what took most of that. Times are of the processor, in ms.
"""

from __future__ import annotations

import collections
import itertools
import statistics
import sys
import time
from pathlib import Path

from rich.console import Console

from rebuildbook.sheets import SheetError, kept, load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.worksheet.build import Worksheet

sys.path.insert(0, str(Path(__file__).parent))
from test_recompute_speed import JOBS, changes  # found beside this file

ROUNDS = 7
OUT = Console(highlight=False, soft_wrap=True)
Spent = dict[str, list[float]]


def spying(spent: Spent) -> None:
    """Note the time that each part takes which is made anew."""

    def add(self: kept.Kept, what: tuple[object, str], made: object) -> None:
        added(self, what, made)
        begin = begun.pop()
        name = getattr(what[0], "__name__", str(what[0]))
        spent.setdefault(name, []).append(time.process_time() - begin)

    added, found = kept.Kept.add, kept.Kept.find
    begun: list[float] = []

    def find(self: kept.Kept, what: object, given: tuple[object, ...], case: object) -> object:
        made = found(self, what, given, case)
        if made is None:
            begun.append(time.process_time())
        return made

    kept.Kept.add, kept.Kept.find = add, find


def measure(card: Path, change, spent: Spent) -> tuple[float, float]:
    store, loads, builds = SheetStore(), [], []
    Worksheet(load_case(card, [], store))
    for step in range(ROUNDS):
        if step == 2:
            spent.clear()
        begin = time.process_time()
        case = load_case(card, [change(0.95 + 0.007 * step)], store)
        middle = time.process_time()
        Worksheet(case)
        loads.append(middle - begin)
        builds.append(time.process_time() - middle)
    return statistics.median(loads[2:]), statistics.median(builds[2:])


def main(cards: list[Path]) -> None:
    spent: Spent = collections.OrderedDict()
    spying(spent)
    for card, what in itertools.product(cards, ("torque", "pressure", "viscosity", "measured")):
        change = changes(card).get(what)
        if change is None:
            continue
        try:
            load, build = (1e3 * one for one in measure(card, change, spent))
        except SheetError as error:
            OUT.print(f"{card.stem} {what:9}  {error}")
            continue
        most = sorted(spent.items(), key=lambda item: -sum(item[1]))[:4]
        told = ", ".join(f"{name} {1e3 * sum(times) / (ROUNDS - 2):.1f}" for name, times in most)
        OUT.print(f"{card.stem} {what:9} {load:5.1f} + {build:6.1f} = {load + build:6.1f}   {told}")


if __name__ == "__main__":
    main([card for card in JOBS if not sys.argv[1:] or card.stem in sys.argv[1:]])
