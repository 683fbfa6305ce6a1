"""Find the job cards that a board can start from."""

from __future__ import annotations

from pathlib import Path

from rebuildbook.batch.run import template_path
from rebuildbook.sheets import parameters_root
from rebuildbook.sheets.kinds import kind_of, sheets_in

FOLDER = "parameters"
_KINDS = {"job", "what-if"}


def find_card(card: str) -> Path:
    """The job card meant: as seen from here, else from the folder of the notebooks.

    Without a name it is the first card of the parameters folder. Raises ValueError where there
    is none.
    """
    if not card.strip():
        root = _nearest_parameters()
        cards = cards_in(root) if root else ()
        if not cards:
            raise ValueError("no parameters folder with job cards is near; type a card's path")
        return cards[0]
    path = Path(card.strip()).expanduser()
    beside = template_path("whatif_joint").parent / path
    found = next((one for one in (path, beside) if one.is_file()), None)
    if found is None:
        what = "is a folder; wanted a job card in it" if path.is_dir() else "is not there"
        raise ValueError(f"{path} {what}")
    return found


def cards_beside(card: Path) -> tuple[Path, ...]:
    """All job cards and what-if sheets of the parameters folder that a card lies in, sorted."""
    root = parameters_root(card)
    return cards_in(root) if root else (card,)


def cards_in(root: Path) -> tuple[Path, ...]:
    """All job cards and what-if sheets of a parameters folder: the cards first, by their names."""
    found = [path for place in ("jobs", "what-if") for path in sheets_in(root / place)]
    return tuple(path for path in found if kind_of(path) in _KINDS)


def _nearest_parameters() -> Path | None:
    here = Path.cwd()
    places = [up / FOLDER for up in (here, *here.parents)]
    places.append(template_path("whatif_joint").parent.parent / FOLDER)
    return next((place for place in places if (place / "models").is_dir()), None)
