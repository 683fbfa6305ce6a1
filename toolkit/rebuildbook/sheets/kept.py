"""What was worked out before, taken over as far as the sheets it stands on are the same.

A part of a worksheet is kept together with every field of the sheets that was looked at while it
was made. In the next case it is taken over if all those fields are the same there, and so is all
else that it was made from. Nobody has to say what a part depends on, so nobody can say it wrongly:
what was not looked at cannot have mattered.

The fields are told by a case that is looked at through `watched`: it passes on what the sheets
hold, and notes what was asked for. A value handed out while one part was made may not be read after
that part is finished, as nothing would note it; `LateReadError` says so, and who works a case out
then does so without taking anything over.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field, is_dataclass
from typing import Any, TypeVar

from pydantic import BaseModel

T = TypeVar("T")
Path = tuple[Hashable, ...]

MOST = 4  # makings kept of one part, for who goes to and fro between some settings
_DEPTH = 2  # steps from the case to the sheets' own fields, which are told one by one
_NOT_THERE = object()


class LateReadError(Exception):
    """A field of a sheet that is read through a part that is finished."""


@dataclass(frozen=True, slots=True)
class _Item:
    """The step from a mapping to the value of one of its names."""

    name: Hashable


class _Kind:
    """The step from a value to its type: whether it is there at all, and of which kind."""


_KIND = _Kind()


class _Making:
    """A part of a worksheet while it is made: what was looked at until now."""

    __slots__ = ("over", "reads")

    def __init__(self) -> None:
        self.reads: dict[Path, Any] = {}
        self.over = False


@dataclass(slots=True)
class _Made:
    """A finished part: what it was made from, what was looked at, what came of it.

    ``fields`` are the sheets' own fields that the reads lie in: the steps to each, its value then,
    and the reads. A sheet or a field that is the very one of then need not be read again.
    """

    given: tuple[Any, ...]
    reads: dict[Path, Any]
    result: Any
    case: Any
    fields: dict[Path, tuple[Any, list[tuple[Path, Any]]]] = field(init=False)

    def __post_init__(self) -> None:
        self.fields = {}
        for path, value in self.reads.items():
            near = path[:_DEPTH]
            if near not in self.fields:
                self.fields[near] = _look(self.case, near), []
            self.fields[near][1].append((path, value))

    def holds_for(self, given: tuple[Any, ...], case: Any) -> bool:
        """Whether the same would come of it today."""
        if not _same(self.given, given):
            return False
        for near, (whole, reads) in self.fields.items():
            first = str(near[0])
            if getattr(case, first) is getattr(self.case, first) or _look(case, near) is whole:
                continue
            if not all(_equal(value, _look(case, path)) for path, value in reads):
                return False
        return True


class Kept:
    """Finished parts of worksheets by what made them; empty again in another process."""

    def __init__(self) -> None:
        self._made: dict[Hashable, list[_Made]] = {}

    def __reduce__(self) -> tuple[type[Kept], tuple[()]]:
        return Kept, ()

    def find(self, what: Hashable, given: tuple[Any, ...], case: Any) -> _Made | None:
        """Give the part if it was made before from the same."""
        known = self._made.get(what, [])
        for made in known:
            if made.holds_for(given, case):
                if made is not known[0]:
                    known.remove(made)
                    known.insert(0, made)
                return made
        return None

    def add(self, what: Hashable, made: _Made) -> None:
        """Keep a part that was just made, in place of the one not asked for the longest."""
        known = self._made.setdefault(what, [])
        known.insert(0, made)
        del known[MOST:]


class _Book:
    """Where one case is worked out: the case, what is kept, and the parts being made now."""

    __slots__ = ("case", "kept", "making")

    def __init__(self, case: Any, kept: Kept) -> None:
        self.case, self.kept = case, kept
        self.making: list[_Making] = []

    def note(self, path: Path, value: Any) -> None:
        if self.making:
            self.making[-1].reads.setdefault(path, value)

    def hand_out(self, value: Any, path: Path) -> Any:
        """Pass a value on: a sheet, a part of one or a mapping is watched on, all else is noted."""
        if isinstance(value, Mapping):
            self.note((*path, _KIND), type(value))
            return _Names(self, value, path)
        if isinstance(value, BaseModel) and len(path) <= _DEPTH:
            self.note((*path, _KIND), type(value))
            return _Fields(self, value, path)
        self.note(path, value)
        return value


class _Watched:
    """A value of the sheets that notes what is asked of it; it passes for the value itself."""

    __slots__ = ("_book", "_making", "_path", "_value")

    def __init__(self, book: _Book, value: Any, path: Path) -> None:
        self._book, self._value, self._path = book, value, path
        self._making = book.making[-1] if book.making else None

    def _open(self) -> _Book:
        if self._making is not None and self._making.over:
            raise LateReadError(f"{self._path} is read after the part that asked for it was done")
        return self._book

    def _whole(self) -> Any:
        """The value itself, noted as such."""
        self._open().note(self._path, self._value)
        return self._value

    @property  # type: ignore[misc]
    def __class__(self) -> type:  # isinstance and match see the value
        return type(self._value)

    def __eq__(self, other: object) -> bool:
        return bool(self._whole() == (other._whole() if type(other) in _WATCHED else other))  # type: ignore[attr-defined]

    def __hash__(self) -> int:
        return hash(self._whole())


class _Fields(_Watched):
    """A sheet, or a part of one, field by field."""

    __slots__ = ("_handed",)

    def __init__(self, book: _Book, value: Any, path: Path) -> None:
        super().__init__(book, value, path)
        self._handed: dict[str, _Fields] = {}

    def __getattr__(self, name: str) -> Any:
        book = self._open()
        handed = self._handed.get(name)
        if handed is not None and book.making and handed._making is book.making[-1]:
            return handed  # noted when it was first asked for
        value = book.hand_out(getattr(self._value, name), (*self._path, name))
        if type(value) is _Fields:
            self._handed[name] = value
        return value


class _Names(_Watched, Mapping[Any, Any]):
    """A mapping in a sheet, name by name."""

    __slots__ = ()

    def _at(self, name: Hashable) -> Any:
        found = self._value.get(name, _NOT_THERE)
        self._open().note((*self._path, _Item(name)), found)
        return found

    def __getitem__(self, name: Any) -> Any:
        found = self._at(name)
        if found is _NOT_THERE:
            raise KeyError(name)
        return found

    def get(self, name: Any, default: Any = None) -> Any:
        found = self._at(name)
        return default if found is _NOT_THERE else found

    def __contains__(self, name: object) -> bool:
        return self._at(name) is not _NOT_THERE

    def __iter__(self) -> Iterator[Any]:
        return iter(self._whole())

    def __len__(self) -> int:
        return len(self._whole())

    def keys(self) -> Any:
        return self._whole().keys()

    def items(self) -> Any:
        return self._whole().items()

    def values(self) -> Any:
        return self._whole().values()

    def __or__(self, other: Any) -> Any:
        return self._whole() | other

    def __ror__(self, other: Any) -> Any:
        return other | self._whole()


_WATCHED = (_Fields, _Names)


def watched(case: T, kept: Kept) -> T:
    """Give a case to be looked at in place of ``case``, for `keep` to take over from ``kept``."""
    seen: Any = _Fields(_Book(case, kept), case, ())
    return seen  # type: ignore[no-any-return]


def keep(case: Any, make: Callable[..., T], *given: Any, of: Hashable = "") -> T:
    """Give what ``make`` makes of ``given``: made before of the same, or made now.

    ``case`` is the one that ``make`` looks at; where it is not watched, all is made now. ``of`` is
    the name of the thing, where the same function makes parts for several.
    """
    if type(case) is not _Fields:
        return make(*given)
    book: _Book = case._book
    what = (make, of)
    # a watched case among what is given stands for itself: what is read of it is noted
    plain = tuple(None if _is_of(one, case) else one for one in given)
    made = book.kept.find(what, plain, book.case)
    if made is None:
        now = _Making()
        book.making.append(now)
        try:
            result = make(*given)
        finally:
            book.making.pop()
            now.over = True
            if book.making:  # also what a refusal rests on has been looked at
                book.making[-1].reads |= now.reads
        made = _Made(plain, now.reads, result, book.case)
        book.kept.add(what, made)
    elif book.making:
        book.making[-1].reads |= made.reads
    return made.result  # type: ignore[no-any-return]


def _is_of(one: Any, case: Any) -> bool:
    """Whether something given is but a view of the watched case."""
    return one is case or getattr(one, "case", None) is case


def _look(case: Any, path: Path) -> Any:
    """Look a field up in a plain case; another object where there is none."""
    value = case
    for step in path:
        if type(step) is _Item:
            value = value.get(step.name, _NOT_THERE) if isinstance(value, Mapping) else _Item
        elif step is _KIND:
            value = type(value)
        else:
            value = getattr(value, str(step), _Item)
    return value


def _equal(one: Any, other: Any) -> bool:
    """Whether two fields are the same; what cannot be compared is not."""
    if one is other:
        return True
    if type(one) is not type(other):
        return False
    try:
        return bool(one == other)
    except (TypeError, ValueError):  # an array has no one answer
        return False


def _same(one: Any, other: Any) -> bool:
    """Whether two things given are the same: the thing itself, or plain values that are equal."""
    if one is other:
        return True
    if type(one) is not type(other) or type(one) in _WATCHED:
        return False
    if isinstance(one, dict):
        return _same(list(one.items()), list(other.items()))
    if isinstance(one, tuple | list):
        return len(one) == len(other) and all(map(_same, one, other))
    if isinstance(one, float):
        return one == other and math.copysign(1.0, one) == math.copysign(1.0, other)
    return (isinstance(one, str | int | None) or is_dataclass(one)) and _equal(one, other)
