"""Temporary folders of the living stay; those of the dead go."""

import subprocess
import sys
import tempfile

from rebuildbook.batch.scratch import Scratch, sweep_scratch

KILLED = """
import os, signal, tempfile
tempfile.tempdir = {place!r}
from rebuildbook.batch.scratch import Scratch
print(Scratch().path)
os.kill(os.getpid(), signal.SIGKILL)
"""


def test_only_folders_of_killed_processes_are_swept(tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    program = KILLED.format(place=str(tmp_path))
    subprocess.run([sys.executable, "-c", program], check=False, stdout=subprocess.DEVNULL)
    assert len(list(tmp_path.iterdir())) == 1
    ours = Scratch()
    (tmp_path / "rebuildbook-other").mkdir()
    sweep_scratch()
    left = {path.name for path in tmp_path.iterdir()}
    assert left == {ours.path.name, "rebuildbook-other"}
    ours.close()
    assert not ours.path.exists()
