"""Shared test settings: properties are tried on few examples, on many with REBUILDBOOK_LONG=1."""

import os

from hypothesis import settings

FEW, MANY = 25, 200
settings.register_profile("few", deadline=None, derandomize=True, max_examples=FEW)
settings.register_profile("many", deadline=None, derandomize=True, max_examples=MANY)
settings.load_profile("many" if os.environ.get("REBUILDBOOK_LONG") else "few")
