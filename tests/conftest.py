"""Shared test settings: properties are tried on few examples, on many with REBUILDBOOK_LONG=1."""

import os
import shutil

import pytest
from hypothesis import settings

FEW, MANY = 25, 200
settings.register_profile("few", deadline=None, derandomize=True, max_examples=FEW)
settings.register_profile("many", deadline=None, derandomize=True, max_examples=MANY)
settings.load_profile("many" if os.environ.get("REBUILDBOOK_LONG") else "few")


@pytest.fixture(scope="module")
def browser():
    """Chromium without a window; skipped where it or Playwright is missing."""
    play = pytest.importorskip("playwright.sync_api")
    chromium = shutil.which("chromium") or shutil.which("google-chrome")
    if chromium is None:
        pytest.skip("no Chromium here")
    with play.sync_playwright() as browsers:
        opened = browsers.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield opened
        opened.close()
