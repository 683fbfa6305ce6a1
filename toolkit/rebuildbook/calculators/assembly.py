"""In which order the steps of an assembly can be done, how it comes apart, what its chains are.

An assembly is given as what must come before what: a mapping of every step to the steps that it
waits for. Everything here is the graph alone; it knows nothing of pumps.

References
----------
1. T. H. Cormen, C. E. Leiserson, R. L. Rivest and C. Stein, Introduction to Algorithms, the chapter
   on elementary graph algorithms: topological order, longest path in a graph without rings (from
   memory).
"""

from __future__ import annotations

import graphlib
from collections.abc import Collection, Iterator, Mapping

# every step, in the order of its sheet, with the steps that must be done before it
Waits = Mapping[str, Collection[str]]


def find_ring(after: Waits) -> tuple[str, ...]:
    """Give a ring of steps that wait for each other; empty where there is none.

    It runs in the order of work and ends where it began: each stands before the next.

    >>> find_ring({"a": ["c"], "b": ["a"], "c": ["b"]})
    ('a', 'b', 'c', 'a')
    >>> find_ring({"a": [], "b": ["a"]})
    ()
    """
    try:
        graphlib.TopologicalSorter(after).prepare()
    except graphlib.CycleError as error:
        ring: list[str] = error.args[1][:-1]
        first = ring.index(min(ring, key=list(after).index))
        return (*ring[first:], *ring[:first], ring[first])
    return ()


def work_order(after: Waits, station: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Put steps in an order in which each comes after all that it waits for [1].

    ``after`` gives the steps in the order of their sheet, which breaks ties. With ``station``
    (step: where it is done) the work stays at one station while a step there is free; then it
    goes on where it can be finished, else where the sheet's next free step is.

    Raises ValueError for a ring, and for a step that waits for one that is not there.

    >>> work_order({"lid": ["box"], "box": [], "label": []})
    ('box', 'lid', 'label')
    >>> work_order({"a": [], "x": [], "b": ["a"]}, {"a": "bench", "x": "press", "b": "bench"})
    ('a', 'b', 'x')
    """
    check(after)
    place = {name: index for index, name in enumerate(after)}
    at = station or {}
    sorter = graphlib.TopologicalSorter(after)
    sorter.prepare()
    free = set(sorter.get_ready())
    done: list[str] = []
    while free:
        name = min(free, key=place.__getitem__)
        if station is not None:
            here = [one for one in free if done and at.get(one) == at.get(done[-1])]
            ending = here or [one for one in free if _ends(at.get(one), at, after, done)]
            name = min(ending or free, key=place.__getitem__)
        done.append(name)
        free.remove(name)
        sorter.done(name)
        free |= set(sorter.get_ready())
    return tuple(done)


def _ends(station: str | None, at: Mapping[str, str], after: Waits, done: Collection[str]) -> bool:
    """Whether all that is left at a station waits for nothing that is left elsewhere."""
    past = set(done)
    left = [name for name in after if at.get(name) == station and name not in past]
    inside = past | set(left)
    return all(before in inside for name in left for before in after[name])


def check(after: Waits) -> None:
    """Raise ValueError for a ring, and for a step that waits for one that is not there."""
    for name, befores in after.items():
        for before in befores:
            if before not in after:
                raise ValueError(f"{name} → {before}: there is no step {before!r}")
    ring = find_ring(after)
    if ring:
        raise ValueError(f"the steps wait for each other in a ring: {' → '.join(ring)}")


def levels(after: Waits) -> dict[str, int]:
    """Count, for every step, the longest chain of steps that must be done before it [1].

    Raises ValueError as `work_order` does.

    >>> levels({"a": [], "b": ["a"], "c": ["a", "b"], "d": []})
    {'a': 0, 'b': 1, 'c': 2, 'd': 0}
    """
    found: dict[str, int] = {}
    for name in work_order(after):
        found[name] = 1 + max((found[before] for before in after[name]), default=-1)
    return {name: found[name] for name in after}


def longest_chain(
    after: Waits, length: Mapping[str, float] | None = None
) -> tuple[tuple[str, ...], float]:
    """Give the chain of steps that takes longest, and how long it takes [1].

    ``length`` of each step, in any unit; each counts 1 where none is given. However many hands
    there are, the assembly does not take less. Raises ValueError as `work_order` does, and for a
    length below zero.

    >>> longest_chain({"a": [], "b": ["a"], "c": ["a"]}, {"a": 2.0, "b": 1.0, "c": 5.0})
    (('a', 'c'), 7.0)
    """
    own = dict.fromkeys(after, 1.0) if length is None else length
    below = [name for name in after if own[name] < 0.0]
    if below:
        raise ValueError(f"{below[0]} takes {own[below[0]]}; a step takes no less than nothing")
    total: dict[str, float] = {}
    last: dict[str, str | None] = {}
    for name in work_order(after):
        last[name] = max(after[name], key=total.__getitem__, default=None)
        before = last[name]
        total[name] = own[name] + (total[before] if before is not None else 0.0)
    end = max(total, key=total.__getitem__, default=None)
    if end is None:
        return (), 0.0
    return tuple(_back(end, last))[::-1], total[end]


def _back(end: str, last: Mapping[str, str | None]) -> Iterator[str]:
    name: str | None = end
    while name is not None:
        yield name
        name = last[name]


def direct(after: Waits) -> dict[str, tuple[str, ...]]:
    """Leave out what is said twice: a step does not name what one that it waits for waits for.

    This is what a drawing needs: the fewest arrows that say the same. Raises ValueError as
    `work_order` does.

    >>> direct({"a": [], "b": ["a"], "c": ["a", "b"]})
    {'a': (), 'b': ('a',), 'c': ('b',)}
    """
    reach: dict[str, set[str]] = {}
    for name in work_order(after):
        reach[name] = set(after[name]).union(*(reach[before] for before in after[name]))
    return {
        name: tuple(
            before
            for before in dict.fromkeys(befores)
            if not any(before in reach[other] for other in befores)
        )
        for name, befores in after.items()
    }
