"""Every lesson by its name. A lesson is a module with ``LESSON``; add it here."""

from __future__ import annotations

import difflib

from rebuildbook.lessons import (
    friction_and_locker,
    reading_a_test,
    relief_and_stall,
    seals_and_lubricants,
    the_check_valve,
    units_and_wrenches,
    what_torque_does,
    why_order_matters,
)
from rebuildbook.lessons.lesson import Lesson

_MODULES = (
    units_and_wrenches,
    what_torque_does,
    friction_and_locker,
    why_order_matters,
    the_check_valve,
    relief_and_stall,
    seals_and_lubricants,
    reading_a_test,
)

LESSONS: dict[str, Lesson] = {
    lesson.name: lesson
    for lesson in sorted((module.LESSON for module in _MODULES), key=lambda one: one.number)
}


def lesson_named(name: str) -> Lesson:
    """Give the lesson of that name; LookupError with the names there are.

    >>> lesson_named("units-and-wrenches").number
    1
    """
    if name in LESSONS:
        return LESSONS[name]
    near = difflib.get_close_matches(name[:80], LESSONS, 1)
    hint = f"; did you mean {near[0]}?" if near else f"; there are {', '.join(LESSONS)}"
    raise LookupError(f"no lesson {name[:80]!r}{hint}")
