"""A small set of sheets, copied from the demo, to break one piece at a time."""

import shutil
from pathlib import Path

import pytest

DEMO = Path(__file__).resolve().parents[2] / "parameters"


@pytest.fixture
def sheets(tmp_path: Path) -> Path:
    """A parameters folder with one job card, its model and the shop; gives the folder."""
    root = tmp_path / "parameters"
    (root / "jobs").mkdir(parents=True)
    shutil.copytree(DEMO / "models", root / "models")
    shutil.copy(DEMO / "shop.yaml", root / "shop.yaml")
    shutil.copy(DEMO / "jobs" / "TW-2601.yaml", root / "jobs" / "card.yaml")
    return root


@pytest.fixture
def edit(sheets: Path):
    """Replace text in a sheet; fails if the text is not there. Gives the sheet's path."""

    def change(name: str, old: str, new: str) -> Path:
        path = sheets / name
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {name}"
        path.write_text(text.replace(old, new, 1), encoding="utf-8")
        return path

    return change
