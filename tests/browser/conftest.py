"""One JupyterLab with a browser for all tests of this folder; skipped where there is no browser."""

import importlib.util
import os
import sys
from pathlib import Path

import pytest


def _lab_module():
    spec = importlib.util.spec_from_file_location("board_lab", Path(__file__).parent / "lab.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["board_lab"] = module  # its dataclasses look themselves up there
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def lab(tmp_path_factory):
    pytest.importorskip("playwright.sync_api")
    module = _lab_module()
    if module.CHROMIUM is None:
        pytest.skip("no Chromium here")
    folder = tmp_path_factory.mktemp("lab")
    shots = Path(os.environ.get(module.SHOTS) or folder / "shots")
    with module.lab(folder, shots) as opened:
        yield opened
