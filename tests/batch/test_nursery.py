"""A nursery that never comes to life is told of, and nobody waits for it."""

import subprocess
import sys
import time

import pytest

from rebuildbook.batch import forked

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="nothing is forked elsewhere")


def test_who_asks_a_nursery_that_cannot_live_is_refused(monkeypatch):
    def stillborn(self):
        return subprocess.Popen([sys.executable, "-S", "-c", "raise SystemExit(3)"],
                                stdin=subprocess.PIPE)  # fmt: skip

    monkeypatch.setattr(forked.Nursery, "_started", stillborn)
    nursery = forked.Nursery()
    try:
        monkeypatch.setenv(forked.ADDRESS, nursery.address)
        began = time.monotonic()
        with pytest.raises(forked.NurseryDied):
            forked.ForkedProcess({"call": "os:getpid"})
        assert time.monotonic() - began < forked.START / 2  # it was not waited for
    finally:
        nursery.close()
