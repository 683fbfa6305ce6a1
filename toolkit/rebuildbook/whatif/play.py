"""The state of an open board: its card, what is picked, seen and turned, and what comes of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rebuildbook.sheets import Case, SheetError, load_case
from rebuildbook.sheets.load import KINDS, SheetStore, read_sheets
from rebuildbook.sheets.paths import quantity_at
from rebuildbook.whatif.entry import Entry, Refused
from rebuildbook.whatif.question import Answer, Board, Knob, Number, View

MAIN = 3  # numbers that a tried case is remembered by


@dataclass(frozen=True, slots=True)
class Tried:
    """A case that was kept: what was picked and set (texts by knob), and its first numbers."""

    name: str
    picked: Mapping[str, str]
    texts: Mapping[str, str]
    settings: tuple[str, ...]
    numbers: tuple[Number, ...]


class Play:
    """A board on one job card.

    ``before`` and ``after`` are the answers for the card as it stands and with what is set; None
    where it cannot be worked out, and ``problem`` says why. ``refused`` says by knob why what was
    asked there last was not taken: entries and answers are then those of before.
    """

    def __init__(self, board: Board, card: Path) -> None:
        """Open the card; raises SheetError for the card, ValueError where it has nothing to try."""
        self.board, self.card = board, card
        self.store = SheetStore()
        self.plain: Case = load_case(card, store=self.store)
        sources, _ = read_sheets(card, [], self.store)
        self._sheets = {kind: (source, KINDS[kind]) for kind, source in sources.items()}
        self.offered = board.picks(self.plain)
        self.picked = {name: choices[0] for name, choices in self.offered.items() if choices}
        self.seen: dict[str, Any] = {}
        self.views: tuple[View, ...] = ()
        self.entries: dict[str, Entry] = {}
        self.refused: dict[str, str] = {}
        self.before: Answer | None = None
        self.after: Answer | None = None
        self.problem = ""
        self.pick({})

    # what is picked and seen

    def pick(self, picked: Mapping[str, str]) -> None:
        """Pick, and take the knobs that go with it; what is set of those that stay is kept."""
        for name, value in picked.items():
            _check_offered(name, value, self.offered.get(name, ()))
        chosen = {**self.picked, **picked}
        knobs = self.board.knobs(self.plain, chosen)
        turned = {one.knob.setting: one.text for one in self.entries.values() if one.changed}
        self.picked = chosen
        self.entries = {knob.name: self._entry(knob, turned) for knob in knobs}
        self._look(self.seen)

    def see(self, name: str, value: Any) -> None:
        """Change what is shown; raises ValueError for a view that there is not."""
        view = next((one for one in self.views if one.name == name), None)
        if view is None:
            raise ValueError(f"no view {name!r} here; there are {', '.join(self.seen) or 'none'}")
        if view.choices:
            _check_offered(name, str(value), view.choices)
        self._look({**self.seen, name: value})

    def _look(self, seen: Mapping[str, Any]) -> None:
        """Work out before and after anew."""
        before, self.views = self.views, self.board.views(self.plain, self.picked)
        stays = {view.name for view in self.views if not view.text or view in before}
        self.seen = {
            view.name: _inside(view, seen.get(view.name) if view.name in stays else None)
            for view in self.views
        }
        self.refused.clear()
        self.problem = ""
        self.before = self._or_problem(())
        self.after = self._or_problem(self.settings) if self.settings else self.before

    def _or_problem(self, settings: tuple[str, ...]) -> Answer | None:
        try:
            return self._answer(settings)
        except (SheetError, ValueError, ArithmeticError) as error:
            self.problem = why(error)
            return None

    def _entry(self, knob: Knob, turned: Mapping[str, str]) -> Entry:
        takes = None
        if not knob.choices:
            takes = quantity_at(knob.setting, self._sheets, f"knob {knob.name}")
        return Entry(knob, takes, turned.get(knob.setting, knob.text))

    # what is set

    @property
    def settings(self) -> tuple[str, ...]:
        """What differs from the sheets, as ``--set`` takes it."""
        return _settings(self.entries.values())

    def typed(self, name: str, text: str) -> bool:
        """Take what was typed into a knob; whether it could be taken."""
        return self._turn(name, lambda entry: entry.typed(text))

    def slid(self, name: str, value: float) -> bool:
        """Take a place of a knob's slider; whether it could be taken."""
        return self._turn(name, lambda entry: entry.slid(value))

    def reset(self, name: str = "") -> bool:
        """Put a knob back to what the sheets say, or all; whether it could be."""
        if name:
            return self._turn(name, Entry.reset)
        self.entries = {key: entry.reset() for key, entry in self.entries.items()}
        self.refused.clear()
        self.after = self.before
        return True

    def _turn(self, name: str, how: Callable[[Entry], Entry]) -> bool:
        try:
            turned = how(self.entries[name])
            if turned.text != self.entries[name].text:
                self._take({**self.entries, name: turned})
        except (Refused, SheetError, ValueError, ArithmeticError) as error:
            self.refused[name] = why(error)
            return False
        self.refused.pop(name, None)
        return True

    def _take(self, entries: dict[str, Entry]) -> None:
        settings = _settings(entries.values())
        after = self._answer(settings) if settings else self.before
        self.entries, self.after = entries, after
        if after is not None:
            self.problem = ""

    def _answer(self, settings: tuple[str, ...]) -> Answer:
        case = load_case(self.card, settings, self.store) if settings else self.plain
        return self.board.answer(case, self.picked, self.seen)

    # cases that were tried

    def keep(self, name: str) -> Tried:
        """Give the case as it is now set, to come back to."""
        numbers = self.after.numbers[:MAIN] if self.after else ()
        texts = {key: entry.text for key, entry in self.entries.items() if entry.changed}
        return Tried(name, dict(self.picked), texts, self.settings, numbers)

    def put_back(self, tried: Tried) -> None:
        """Set all as it was in a case that was kept; raises ValueError where it does not fit."""
        if dict(tried.picked) != self.picked:
            self.pick(tried.picked)
        back = {key: entry.reset() for key, entry in self.entries.items()}
        for key, text in tried.texts.items():
            back[key] = back[key].typed(text)
        self._take(back)
        self.refused.clear()


def why(error: Exception) -> str:
    """An error in words for the reader, without the setting that they just made themselves."""
    if isinstance(error, SheetError):
        told = (
            problem.message if problem.file.startswith("--set ") else str(problem)
            for problem in error.problems
        )
        return "; ".join(dict.fromkeys(told))
    return " ".join(str(error).split()) or type(error).__name__


def _settings(entries: Iterable[Entry]) -> tuple[str, ...]:
    return tuple(entry.as_set for entry in entries if entry.changed)


def _check_offered(name: str, value: str, offered: Iterable[str]) -> None:
    if value not in offered:
        raise ValueError(f"no {name} {value!r} here; there are {', '.join(offered) or 'none'}")


def _inside(view: View, now: Any) -> Any:
    """What a view shows: as it was where it still can be, else its first."""
    if view.choices:
        return now if now in view.choices else view.choices[0]
    if view.text:
        return now if isinstance(now, str) else view.text
    return min(max(now, view.low), view.high) if isinstance(now, int) else view.low
