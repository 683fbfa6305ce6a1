"""A worksheet that takes over what no setting touched is the one worked out anew."""

import dataclasses
import functools
import math
import os
import signal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rebuildbook.sheets import SheetError, load_case
from rebuildbook.sheets.load import KINDS, SheetStore, read_sheets
from rebuildbook.sheets.paths import field_at
from rebuildbook.units import to_unit
from rebuildbook.worksheet import build, sweep_points
from rebuildbook.worksheet.build import Worksheet
from rebuildbook.worksheet.model import Picture, Section
from rebuildbook.worksheet.sweep import prepare, run
from rebuildbook.worksheet.sweep_points import Reader, made_sections

JOBS = sorted((Path(__file__).resolve().parents[2] / "parameters" / "jobs").glob("*.yaml"))
each_card = pytest.mark.parametrize("card", JOBS, ids=[path.stem for path in JOBS])
OTHERS = (
    "shop.units=us", "shop.units=metric", "test=", "measured={}", "tools={}",
    "consumables_used={}", "torque_readings={}", "relief_setting=",
)  # fmt: skip


def leaves(plain, path=()):
    if isinstance(plain, dict):
        for key, child in plain.items():
            yield from leaves(child, (*path, str(key)))
    else:
        yield path, plain


@functools.cache
def quantities(card: Path):
    """Every quantity of the sheets of a card: its path and what is written there."""
    sources, _ = read_sheets(card, [], SheetStore())
    sheets = {kind: (source, KINDS[kind]) for kind, source in sources.items()}
    found = {}
    for kind, source in sources.items():
        for path, _ in leaves(source.data):
            dotted = ".".join((kind, *path))
            try:
                field = field_at(dotted, sheets, dotted)
                if field.quantity is not None:
                    found[dotted] = field.quantity.read(str(field.plain))
            except (SheetError, ValueError):
                continue
    assert len(found) > 100
    return found


def scaled(card: Path, path: str, factor: float) -> str:
    amount = quantities(card)[path]
    low, middle, high = (
        to_unit(si, amount.unit) * factor for si in (amount.low, amount.nominal, amount.high)
    )
    if amount.form == "spread":
        return f"{path}=± {high:.6g} {amount.unit}"
    if amount.form == "single":
        return f"{path}={middle:.6g} {amount.unit}"
    return f"{path}={low:.6g} to {high:.6g} {amount.unit}"


def changes(card: Path):
    paths = st.sampled_from(sorted(quantities(card)))
    one = st.builds(functools.partial(scaled, card), paths, st.floats(0.8, 1.25))
    return st.lists(one | st.sampled_from(OTHERS), max_size=2)


def shown(case):
    """Every block of the worksheet; a picture by its words and by what it is drawn from."""
    try:
        made = Worksheet(case)
    except (ValueError, ArithmeticError) as refused:
        return str(refused)
    return {
        name: [
            (block.id, block.caption, block.alt) if isinstance(block, Picture) else block
            for block in section.blocks
        ]
        for name, section in made.sections.items()
    }


@each_card
@settings(max_examples=3)
@given(data=st.data())
def test_what_is_taken_over_is_what_is_made_anew(card, data):
    store, made = SheetStore(), 0
    for step in data.draw(st.lists(changes(card), min_size=2, max_size=4)):
        try:
            case = load_case(card, step, store)
        except SheetError:
            continue
        anew = shown(dataclasses.replace(case, kept=None))
        assert shown(case) == anew, step
        made += 1


@each_card
def test_no_section_reads_a_sheet_after_it_is_made(card, monkeypatch):
    """If one did, nothing would be wrong, but the worksheet would be made twice."""
    times = []
    usual = Worksheet._made
    monkeypatch.setattr(Worksheet, "_made", lambda *of: times.append(of) or usual(*of))
    store = SheetStore()
    for changed in ([], ["shop.units=us"], []):
        made = Worksheet(load_case(card, changed, store))
    for section in made.sections.values():
        for block in section.blocks:
            if isinstance(block, Picture):
                assert block.draw().startswith("<")
    assert len(times) == 3


def test_a_worksheet_with_a_section_that_reads_late_is_made_anew(monkeypatch):
    def late(context):
        duty = context.keep(lambda inner: inner.job.duty)
        return Section("sign-off", duty.working_pressure.canonical, ())

    monkeypatch.setattr(build, "sign_off", late)
    store = SheetStore()
    for pressure in ("3 bar", "4 bar", "3 bar"):
        made = Worksheet(load_case(JOBS[0], [f"duty.working_pressure={pressure}"], store))
        assert made.sections["sign-off"].title == f"{pressure} (gauge)"


SWEEPS = {
    "one field": ["joints.{joint}.torque={low} to {high} N*m"],
    "a map": ["joints.{joint}.torque={low} to {high} N*m", "duty.test_pressure=3 to 9 bar"],
    "some fail": ["fluid_end.rate_max=0.2 to 40 rpm", "joints.{joint}.count={count}, many"],
}


@each_card
@pytest.mark.parametrize("kind", SWEEPS)
def test_a_sweep_by_many_processes_is_the_one_point_by_point(card, kind, monkeypatch):
    monkeypatch.setattr(sweep_points, "ALONE", 1)
    monkeypatch.setattr(sweep_points, "_TOGETHER", 2)
    monkeypatch.setattr(sweep_points, "_processes", lambda: 3)
    case = load_case(card)
    name, joint = next(iter(case.model.joints.items()))
    low, high = 0.5 * joint.torque.nominal, 2.0 * joint.torque.nominal
    words = {"joint": name, "low": low, "high": high, "count": joint.count}
    overs = [one.format(**words) for one in SWEEPS[kind]]
    told = []
    sweep = run(prepare(card, overs, points=3), lambda: told.append(1))
    assert len(told) == len(sweep.plan)
    for place, steps in enumerate(sweep.plan.steps()):
        point = point_of(card, sweep.plan.settings(steps))
        if isinstance(point, str):
            assert sweep.errors[place]
            assert sweep.worst[place] == "error"
            continue
        levels = {id_: level for part in point for id_, level in part.levels}
        assert {id_: marks[place] for id_, marks in sweep.levels.items() if marks[place]} == levels
        numbers = {
            head.id: number
            for part in point
            for head, number in zip(part.heads, part.numbers, strict=True)
        }
        for column in sweep.columns:
            if column.kind == "line":
                cell = sweep.table[column.name][place]
                wanted = to_unit(numbers.get(column.id, math.nan), column.unit)
                assert cell == pytest.approx(wanted, rel=1e-13, nan_ok=True)


def point_of(card, changed):
    """One point, its sheets read anew and nothing taken over."""
    try:
        return Reader(()).read(
            made_sections(dataclasses.replace(load_case(card, changed), kept=None))
        )
    except SheetError as refused:
        return str(refused)


def test_what_a_process_that_died_has_not_done_is_done_here(monkeypatch):
    overs = ["duty.test_pressure=3 to 9 bar"]
    wanted = run(prepare(JOBS[0], overs, points=8))
    monkeypatch.setattr(sweep_points, "ALONE", 1)
    monkeypatch.setattr(sweep_points, "_TOGETHER", 2)
    monkeypatch.setattr(sweep_points, "_processes", lambda: 2)
    usual, here = sweep_points._point, os.getpid()

    def dies(prepared, reader, steps):
        if os.getpid() != here and steps[0] > 3:
            os.kill(os.getpid(), signal.SIGKILL)
        return usual(prepared, reader, steps)

    monkeypatch.setattr(sweep_points, "_point", dies)
    told = []
    sweep = run(prepare(JOBS[0], overs, points=8), lambda: told.append(1))
    assert len(told) == 8
    assert sweep.table.equals(wanted.table)
    assert sweep.levels == wanted.levels


def test_the_field_that_costs_most_is_outermost(monkeypatch):
    """A step of the pressure moves the balls anew, a step of a torque does not."""
    overs = ["duty.working_pressure=3 to 4 bar", "joints.{}.torque=20 to 30 N*m"]
    name = next(iter(load_case(JOBS[0]).model.joints))
    for order in (1, -1):
        prepared = prepare(JOBS[0], [one.format(name) for one in overs[::order]], points=20)
        steps = list(prepared.plan.steps())
        pressure = 0 if order == 1 else 1
        chunks = sweep_points._chunks(prepared)
        assert sorted(place for chunk in chunks for place in chunk) == list(range(400))
        assert all(len({steps[place][pressure] for place in chunk}) == 1 for chunk in chunks)
