"""One entry of the record: a reading, a finding, a document, a signature, as it was given."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "torque",  # subject: joint; number: which fastener
    "measurement",  # subject: wear limit
    "test",  # subject: name of a reading of the test card
    "step",  # subject: step of the traveller, done and ticked
    "signature",  # subject: hold point or role
    "deviation",  # subject: what it departs from
    "finding",  # subject: id of the finding; text: level and words
    "document",  # subject: file; text: its hash
    "photo",  # subject: step or part; text: hash of the original
    "release",  # subject: the unit
]
KINDS: tuple[Kind, ...] = Kind.__args__  # type: ignore[attr-defined]


@dataclass(frozen=True, slots=True)
class Entry:
    """What is put on record, for one unit and one job.

    ``given`` is the quantity as it was written ("48 ft-lb"), ``si`` and ``dimension`` what it was
    understood as; all three empty (None) where the entry is no quantity. ``on`` is the day it was
    taken, ISO 8601, ``by`` who took it, ``tool`` the wrench or gauge by its label. ``came_from``
    says where it was read: file, sheet and row. ``text`` is free.
    """

    serial: str
    job: str
    kind: Kind
    subject: str
    number: int | None = None
    given: str = ""
    si: float | None = None
    dimension: str = ""
    tool: str = ""
    on: str = ""
    by: str = ""
    came_from: str = ""
    text: str = ""
