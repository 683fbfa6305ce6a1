"""``rebuildbook new``: a commented sheet to fill in."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

from rebuildbook.commands import Refused

_PLACES = {"model": "models", "job": "jobs", "shop": "."}
_NAMES = {
    "model": r"[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?",
    "job": r"[^\W_](?:[\w.-]{0,46}[^\W_])?",
    "shop": r"[a-z0-9](?:[a-z0-9-]{0,46}[a-z0-9])?",
}


def new_sheet(kind: str, name: str | None, folder: Path) -> str:
    """Write a commented sheet; raises Refused for a bad kind or name, or an existing file."""
    if kind not in _PLACES:
        raise Refused(f"{kind!r} is not a kind of sheet; wanted model, job or shop")
    name = name or {"model": "new-model", "job": "NEW-1", "shop": "shop"}[kind]
    if not re.fullmatch(_NAMES[kind], name):
        raise Refused(f"{name!r} is not a usable name: letters, digits and hyphens, as slip-pump-2")
    path = folder / _PLACES[kind] / f"{name}.yaml"
    text = (resources.files("rebuildbook.sheets") / "blank" / f"{kind}.yaml").read_text("utf-8")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        (folder / "models").mkdir(exist_ok=True)
        if kind == "job":
            text = _with_a_model(text, folder)
        with path.open("x", encoding="utf-8") as file:
            file.write(text.replace("@name@", name))
    except FileExistsError:
        raise Refused(f"{path} is there already; it is not overwritten") from None
    except OSError as error:
        raise Refused(f"{path}: cannot be written: {error.strerror}") from None
    return f"{path} written; fill it in, then: rebuildbook check {path}"


def _with_a_model(text: str, folder: Path) -> str:
    """Name a model sheet that is there, so that the new card can be checked at once."""
    models = sorted((folder / "models").glob("*.yaml"))
    return text.replace("new-model", models[0].stem) if models else text
