"""What a check between sheets yields, and the words for a name that points nowhere."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Iterator

from rebuildbook.sheets.source import PathKey

# (sheet, path in it, what is wrong there)
Found = Iterator[tuple[str, PathKey, str]]


def nowhere(name: str, kind: str, offered: Collection[str]) -> str:
    """Say that a name is none of those offered, with the nearest or all of them."""
    near = difflib.get_close_matches(name, offered, 1, 0.5)
    listed = ", ".join(sorted(offered)) or "none"
    hint = f"did you mean {near[0]}?" if near else f"there are {listed}"
    return f"{name!r} is not a {kind}; {hint}"


def known(
    path: PathKey, look_up: Callable[[str], object], name: str, sheet: str = "model"
) -> Found:
    """A name that a reference table must have; the table's own words say what is near."""
    try:
        look_up(name)
    except (ValueError, LookupError) as problem:
        # a KeyError would show its words in quotes
        yield sheet, path, str(problem.args[0])
