"""Writers killed at any moment: what they were told is kept is kept, whole batches only."""

import os
import random
import signal
import subprocess
import sys
import time
from collections import Counter
from dataclasses import dataclass

import pytest

from rebuildbook.record.ledger import Ledger

KILLS = 200
PER_LEDGER = 10  # kills before a new file, so that reading it stays short
LONGEST = 0.08  # s, a few appends: some kills fall before the first is through

# Forks a writer for every line it reads, as a process of its own that has all it needs loaded, and
# says when the writer has ended. A writer says its id, then the ids of each batch once it is told
# that they are kept.
NURSERY = """
import os, sys
from rebuildbook.record.entry import Entry
from rebuildbook.record.ledger import Ledger
SAY = lambda *words: os.write(1, (" ".join(map(str, words)) + chr(10)).encode())
def write(path, name):
    ledger, batch = Ledger(path), 0
    while True:
        size = (3, 80, 1)[batch % 3]
        origin = f"{name}.{batch}"
        entries = [
            Entry("S", "J", "step", f"{n} of {size}", came_from=origin, text="x" * 200)
            for n in range(size)
        ]
        APPEND
        batch += 1
for line in sys.stdin:
    path, name = line.rstrip().split(chr(9))
    writer = os.fork()
    if not writer:
        SAY("writer", os.getpid())
        write(path, name)
    os.waitpid(writer, 0)
    SAY("ended")
"""
RIGHT = "SAY('kept', *(kept.id for kept in ledger.append(entries)))"
TOO_SOON = """first = ledger.head()[0] + 1
        SAY('kept', *range(first, first + size)); ledger.append(entries)"""
PIECEMEAL = """kept = [ledger.append([entry])[0] for entry in entries]
        SAY('kept', *(one.id for one in kept))"""


@dataclass
class Tally:
    """What became of the writers of one run."""

    kills: int = 0
    told: int = 0  # entries that a writer was told are kept
    unfinished: int = 0  # kills that left a transaction to be rolled back


def kill_writers(tmp_path, append, kills):
    """Kill writers one after the other, and check the ledger after each."""
    tally, chance = Tally(), random.Random(20260908)  # noqa: S311
    nursery = subprocess.Popen(
        [sys.executable, "-c", NURSERY.replace("APPEND", append)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    try:
        told: set[int] = set()
        for kill in range(kills):
            path = tmp_path / f"ledger-{kill // PER_LEDGER}.sqlite"
            if kill % PER_LEDGER == 0:
                told = set()
            print(path, f"writer {kill}", sep="\t", file=nursery.stdin, flush=True)
            writer = int(nursery.stdout.readline().removeprefix("writer "))
            time.sleep(chance.uniform(0.0, LONGEST))
            os.kill(writer, signal.SIGKILL)
            for line in iter(nursery.stdout.readline, "ended\n"):
                ids = set(map(int, line.split()[1:]))
                tally.told += len(ids)
                told |= ids
            tally.kills += 1
            tally.unfinished += path.with_name(f"{path.name}-journal").exists()
            check(Ledger(path), told)
    finally:
        os.killpg(nursery.pid, signal.SIGKILL)
        nursery.communicate()
    return tally


def check(ledger, told):
    """It opens, its chain holds, all that was told is there, and every batch is whole."""
    kept = ledger.entries()
    assert ledger.verify() is None
    assert told <= {one.id for one in kept}
    sizes = Counter(one.entry.came_from for one in kept)
    for one in kept:
        assert sizes[one.entry.came_from] == int(one.entry.subject.split(" of ")[1])


def test_a_killed_writer_loses_nothing_and_leaves_no_half_batch(tmp_path):
    tally = kill_writers(tmp_path, RIGHT, KILLS)
    assert tally.kills == KILLS
    assert tally.told > KILLS
    assert tally.unfinished > KILLS / 20  # the kills do fall into the writing


@pytest.mark.parametrize("append", [TOO_SOON, PIECEMEAL], ids=["too soon", "piecemeal"])
def test_a_writer_that_is_not_safe_would_be_caught(tmp_path, append):
    with pytest.raises(AssertionError):
        kill_writers(tmp_path, append, KILLS)
