"""Steps of an assembly on the sheets: what points nowhere, what goes in a ring, what is read."""

from datetime import datetime
from pathlib import Path

import pytest

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.sheets.assembly import assembly_graph, joint_steps

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
CARD = JOBS / "TW-2601.yaml"


def problem_of(*settings: str) -> str:
    with pytest.raises(SheetError) as caught:
        load_case(CARD, settings)
    (problem,) = caught.value.problems
    return str(problem)


@pytest.mark.parametrize(
    ("setting", "words"),
    [
        ("assembly.enter-piston.after=[clamp-pistn]", "did you mean clamp-piston"),
        ("assembly.enter-piston.joint=tie-rod", "did you mean tie-rods"),
        ("assembly.set-inlets.valves=[upper-inlett]", "did you mean upper-inlet"),
        ("assembly.fill-box.seals=[rod-packng]", "fill-box → rod-packng: 'rod-packng'"),
        ("assembly.fill-box.consumable=[assembly-greas]", "did you mean assembly-grease"),
        ("assembly.fill-box.measure=[gland-bushing]", "did you mean gland-bush"),
        ("assembly.fill-box.parts=[no-such-part]", "fill-box → no-such-part"),
        ("assembly.fill-box.joint=tie-rods", "tightened by the step"),
        ("assembly.fill-box.duration=0 min", "above zero"),
        ("joints.fluid-cover.follows=[tie-rod]", "did you mean tie-rods"),
        ("consumables.high-locker.slower_in_cold=0.5", "between 1 and 10"),
        ("consumables.high-locker.times_at=-300 °C", "absolute zero"),
        ("assembly_started=2026-09-08", "as 2026-03-31 14:30"),
        ("assembly_started=2026-13-08 07:30", "as 2026-03-31 14:30"),
        ("test.started=yesterday", "as 2026-03-31 14:30"),
    ],
)  # fmt: skip
def test_what_a_step_cannot_mean_is_told(setting, words):
    assert words in problem_of(setting)


@pytest.mark.parametrize(
    ("settings", "path"),
    [
        (["assembly.dress-piston.after=[dress-piston]"], "dress-piston → dress-piston"),
        # through a joint's own follows: tie rods after the piston nut
        (
            ["assembly.clamp-piston.after=[close-cylinder]", "assembly.enter-piston.after=[]"],
            "clamp-piston → close-cylinder → clamp-piston",
        ),
        (
            ["assembly.set-inlets.after=[cap-chambers]"],
            "set-inlets → cap-chambers → set-inlets",
        ),
        (
            ["assembly.dress-piston.after=[tie-rods]", "joints.tie-rods.follows=[]"],
            "dress-piston → clamp-piston → enter-piston → close-cylinder → dress-piston",
        ),
    ],
)
def test_a_ring_is_named_as_a_path_in_the_order_of_work(settings, path):
    assert f"in a ring: {path} " in problem_of(*settings) + " "


def test_joints_alone_make_a_ring_too():
    told = problem_of("assembly={}", "joints.tie-rods.follows=[motor-flange]")
    assert "in a ring: tie-rods → motor-flange → tie-rods" in told
    assert "joints.tie-rods.follows" in told


def test_a_step_with_a_joint_s_name_has_to_tighten_it():
    told = problem_of("assembly={tie-rods: {what: Draw them, station: stand}}")
    assert "write joint: tie-rods" in told
    fine = "assembly={tie-rods: {what: Draw them, station: stand, joint: tie-rods}}"
    model = load_case(CARD, [fine]).model
    assert joint_steps(model)["tie-rods"] == "tie-rods"
    assert assembly_graph(model)["tie-rods"] == ["piston-nut"]


def test_a_joint_without_a_step_is_one_under_its_own_name():
    model = load_case(CARD, ["assembly={dress: {what: Dress it, station: rod}}"]).model
    graph = assembly_graph(model)
    assert list(graph) == ["dress", *model.joints]
    assert graph["fluid-cover"] == ["tie-rods"]


def test_steps_and_joints_name_each_other_freely():
    model = load_case(CARD).model
    graph = assembly_graph(model)
    # follows of the joint tie-rods, and after of its step
    assert graph["close-cylinder"] == ["enter-piston", "clamp-piston"]
    by_joint = load_case(CARD, ["assembly.turn-over.after=[packing-gland]"]).model
    assert assembly_graph(by_joint)["turn-over"] == ["nip-gland"]


@pytest.mark.parametrize("written", ["2026-09-08 07:30", "2026-09-08T07:30"])
def test_a_moment_is_read_on_the_shop_s_clock(written):
    case = load_case(CARD, [f"assembly_started={written}"])
    assert case.job.assembly_started == datetime(2026, 9, 8, 7, 30)
