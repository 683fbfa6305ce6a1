"""The thread of a joint: a designation, or one that the model sheet itself describes."""

from __future__ import annotations

from rebuildbook.calculators.threads import Thread, parse_thread, special_thread
from rebuildbook.sheets.model import Joint, ModelSheet


def thread_of(model: ModelSheet, joint: Joint) -> Thread:
    """Give a joint's thread; raises ValueError for a name that is neither, and for no core."""
    own = model.special_threads.get(joint.thread)
    if own is not None:
        return special_thread(joint.thread, own.major.nominal, own.pitch.nominal, system=own.system)
    try:
        return parse_thread(joint.thread)
    except ValueError as problem:
        if not model.special_threads:
            raise
        names = ", ".join(model.special_threads)
        raise ValueError(f"{problem}; special threads of this sheet: {names}") from None
