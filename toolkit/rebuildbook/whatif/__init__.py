"""What-if boards: move a slider or type a value, and see at once what it does to a job.

`open_board` shows one; boards work with the same calculators and sheets as the worksheet.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from rebuildbook.whatif.shell import Shell

NAMES = ("joint", "order", "wrench", "check", "relief", "wear", "mixup")


def open_board(name: str, card: str = "", **picked: Any) -> Shell:
    """Open the board ``name`` on a job card; give a widget that a notebook shows.

    ``picked`` chooses what the board asks for first (``joint="fluid-cover"``) and what it shows.
    """
    from rebuildbook.whatif.shell import open_shell  # noqa: PLC0415  (widgets load slowly)

    return open_shell(name, card, **picked)
