"""The report of a run, for other programs: what was asked, what came of each job."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from rebuildbook import __version__
from rebuildbook.batch.publish import write_whole

if TYPE_CHECKING:
    from rebuildbook.batch.run import Order, Outcome

NAME = "run.json"


def write_report(
    out: Path,
    orders: Sequence[Order],
    outcomes: Sequence[Outcome],
    problems: Sequence[str],
    began: datetime,
) -> None:
    """Write ``run.json`` into the output folder, in one step."""
    how = orders[0]
    jobs = [
        {
            "job": outcome.job,
            "card": order.card,
            "serial": order.serial,
            "state": _state(outcome),
            **{key: value for key, value in asdict(outcome).items() if key not in _SAID},
        }
        for order, outcome in zip(orders, outcomes, strict=True)
    ]
    report = {
        "schema": 1,
        "version": __version__,
        "began": began.isoformat(timespec="seconds"),
        "ended": datetime.now(UTC).isoformat(timespec="seconds"),
        "sheets": list(how.sheets),
        "settings": list(how.overrides),
        "refused": list(problems),
        "jobs": jobs,
    }
    write_whole(out / NAME, json.dumps(report, ensure_ascii=False, indent=1) + "\n")


_SAID = {"job", "unchanged", "lost"}


def _state(outcome: Outcome) -> str:
    if outcome.failure:
        return "failed"
    return "unchanged" if outcome.unchanged else "made"
