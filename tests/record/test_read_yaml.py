"""Readings as YAML: the shape of a job card, each with its line."""

import datetime

import pytest

from rebuildbook.record.read import read_file

TODAY = datetime.date(2026, 9, 25)


@pytest.fixture
def read(bench, tmp_path):
    def read(text):
        path = tmp_path / "readings.yaml"
        path.write_text(text, encoding="utf-8")
        return read_file(path, bench, today=TODAY)

    return read


def messages(found):
    assert found.problems and not found.taken
    return "\n".join(str(problem) for problem in found.problems)


GOOD = """\
job: TW-2602
on: 2026-09-21
by: bench 1
torque_readings:
  plunger-screws: [21 ft-lb, 22 ft-lb, null]
measured:
  plunger-1: 0.7494 in
test:
  pressure: 1000 psi
  held_for: 5 min
  readings:
    flow: 2.6 gpm
"""


def test_each_reading_is_taken_with_its_place(read):
    found = read(GOOD)
    assert not found.problems
    entries = {(one.entry.subject, one.entry.number): one.entry for one in found.taken}
    screw = entries["plunger-screws", 2]
    assert (screw.given, screw.tool, screw.by) == ("22 ft-lb", "C-80ft", "bench 1")
    assert screw.came_from == "readings.yaml, torque_readings.plunger-screws.1"
    assert entries["readings.flow", None].dimension == "flow"
    assert entries["held_for", None].si == 300.0
    assert "torque_readings.plunger-screws.2 is empty; nothing was taken of it" in found.told
    told = {str(remark) for one in found.taken for remark in one.remarks}
    assert told == {"told: the tool is the one on the job card", "query: no gauge is named"}


def test_the_readings_of_a_job_card_itself_are_read(bench, card):
    found = read_file(card, bench, today=TODAY)
    assert not found.problems
    kinds = [one.entry.kind for one in found.taken]
    assert (kinds.count("torque"), kinds.count("measurement")) == (29, 5)
    assert all(one.entry.on == "2026-09-21" for one in found.taken)
    assert any("only measured, torque_readings and test were read" in text for text in found.told)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("job: TW-2602", "job: TW-2601", "readings.yaml:1: job: is another job than the card's"),
        ("on: 2026", "day: 2026", "is not read here"),
        ("[21 ft-lb", "[21", "has no unit"),
        ("[21 ft-lb, 22 ft-lb, null]", "21 ft-lb", "wanted a list, a reading for each fastener"),
        ("null]", "21 ft-lb, 21 ft-lb]", "plunger-screws has the numbers 1 to 3"),
        ("plunger-1: 0.7494 in", "plunger-9: 0.7494 in", "is not a wear limit of the model sheet"),
        ("0.7494 in", "{new: 1 in}", "wanted one reading with its unit"),
        ("flow: 2.6 gpm", "flow: 2.6 bar", "is not a flow"),
        ("flow: 2.6 gpm", "flew: 2.6 gpm", "did you mean readings.flow?"),
        ("1000 psi", "1000 psia", "is an absolute pressure"),
        ("measured:", "measured: 4\nmeasures:", "wanted a mapping of names to readings"),
    ],
)
def test_a_mistake_is_named_with_its_line(read, old, new, message):
    assert old in GOOD
    told = messages(read(GOOD.replace(old, new)))
    assert message in told
    assert told.startswith(str(read(GOOD).path) + ":")
