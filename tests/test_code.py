"""The code keeps its own rules: format, lint, types, direction of imports, size of modules."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
MODULES = sorted((ROOT / "toolkit").rglob("*.py"))


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "format", "--check", "."],
        ["ruff", "check", "."],
        ["mypy"],
    ],
    ids=" ".join,
)
def test_a_tool_finds_nothing(command):
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_imports_run_in_one_direction_only():
    lint = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([lint], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.stem)
def test_a_module_stays_under_400_lines(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


def test_no_placeholder_is_left():
    for path in MODULES:
        text = path.read_text(encoding="utf-8")
        assert "TODO" not in text, path
        assert "NotImplementedError" not in text, path
