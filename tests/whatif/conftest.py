"""A small board of the tests' own, and a parameters folder to play with."""

import shutil
from pathlib import Path

import pytest
from matplotlib.figure import Figure

from rebuildbook.sheets import SheetError
from rebuildbook.units import to_unit
from rebuildbook.whatif.question import Answer, Knob, Number, View
from rebuildbook.worksheet.model import Finding, Value

DEMO = Path(__file__).resolve().parents[2] / "parameters"
CLOSE = 20.0  # N·m of the window's lower end, below which the board finds something


class SmallBoard:
    """The torque window of a joint, the rate, and a condition; ``answers`` counts its work."""

    name = "small"
    title = "A <small> board"
    about = "For tests."

    def __init__(self):
        self.answers = 0

    def picks(self, case):
        return {"joint": ("fluid-cover", "tie-rods")}

    def knobs(self, case, picked):
        if picked["joint"] not in case.model.joints:
            raise ValueError(f"{case.model.name} has no {picked['joint']}")
        joint = case.model.joints[picked["joint"]]
        at = f"joints.{picked['joint']}"
        hours = case.job.running_hours
        return (
            Knob(
                "torque", "Torque", f"{at}.torque", joint.torque.text, 10.0, 80.0, "N*m", "ft*lbf"
            ),
            Knob("rate", "Rate", "duty.rate", case.job.duty.rate.text, 5.0, 60.0, "1/min"),
            Knob("nut", "Nut factor", f"{at}.nut_factor", "", 0.06, 0.5, ""),
            Knob("hours", "Hours", "running_hours", hours.text if hours else "", 0.0, 9000.0, "h"),
            Knob(
                "condition", "Condition", f"{at}.condition", joint.condition, 0.0, 0.0, "",
                choices=("greased", "oiled"), help="What is on it",
            ),
        )  # fmt: skip

    def views(self, case, picked):
        return (View("step", "Step", (), 1, 4), View("unit", "Unit", ("N*m", "ft*lbf")))

    def answer(self, case, picked, seen):
        self.answers += 1
        joint = case.model.joints[picked["joint"]]
        if joint.torque.low < 12.0:
            raise ValueError("too loose to be worked out")
        level = "hold" if joint.torque.low < CLOSE else "clear"
        numbers = (
            Number("middle", "Middle", Value(joint.torque.nominal, "torque", seen["unit"])),
            Number("rate", "Rate", Value(case.job.duty.rate.nominal, "rate", "1/min")),
            Number("on", "On it", joint.condition),
        )
        found = Finding("loose", level, "Tight <enough>", f"step {seen['step']}", action="Turn it.")
        return Answer(numbers, (found,), to_unit(joint.torque.nominal, "N*m"))

    def draw(self, after, before, seen):
        figure = Figure(figsize=(2.0, 1.0))
        figure.text(0.1, 0.5, f"{before.data:.4g} then {after.data:.4g} N·m")
        return figure


@pytest.fixture
def at_the_ends():
    """Set a knob to both ends of its slider, or to some of its words; count the answers.

    What has none has one clear message.
    """

    def tried(knob, answer):
        ends = [f"{end:.12g} {knob.unit}" for end in (knob.low, knob.high)]
        worked = 0
        for text in knob.choices[::8] or ends:
            try:
                made = answer(f"{knob.setting}={text}")
            except (SheetError, ValueError) as problem:
                assert len(str(problem)) > 10
                continue
            worked += 1
            assert all(number.value != "" for number in made.numbers)
        return worked

    return tried


@pytest.fixture
def board():
    return SmallBoard()


@pytest.fixture
def sheets(tmp_path):
    """A parameters folder with two job cards."""
    root = tmp_path / "parameters"
    for folder in ("models", "schema"):
        shutil.copytree(DEMO / folder, root / folder)
    (root / "jobs").mkdir()
    shutil.copy(DEMO / "shop.yaml", root)
    for name in ("TW-2601", "TW-2606"):
        shutil.copy(DEMO / "jobs" / f"{name}.yaml", root / "jobs")
    return root


@pytest.fixture
def card(sheets):
    return sheets / "jobs" / "TW-2601.yaml"
