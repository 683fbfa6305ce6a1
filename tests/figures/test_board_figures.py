"""The figures of the boards on check, relief and wear, for every demo card: legible as drawn."""

from pathlib import Path

import pytest

from rebuildbook.sheets import load_case
from rebuildbook.sheets.load import SheetStore
from rebuildbook.whatif.boards import check, relief, wear

JOBS = Path(__file__).resolve().parents[2] / "parameters" / "jobs"
CARDS = sorted(path.stem for path in JOBS.glob("*.yaml"))
STORE = SheetStore()


def case(card, *changes):
    return load_case(JOBS / f"{card}.yaml", changes, STORE)


def draw(board, card, picked, *changes):
    after, before = (board.answer(one, picked, {}) for one in (case(card, *changes), case(card)))
    return board.draw(after, before, {})


@pytest.mark.parametrize("card", CARDS)
def test_check(card, legible):
    name, valve = next(iter(case(card).model.check_valves.items()))
    size = 1e3 * valve.ball.diameter.nominal
    at = f"check_valves.{name}"
    figure = draw(
        check.BOARD, card, {"check": name}, f"{at}.ball.diameter={0.95 * size} mm",
        f"{at}.ball.material=PTFE",
    )  # fmt: skip
    legible(figure, figure.axes[0].texts)


@pytest.mark.parametrize("card", CARDS)
def test_relief(card, legible):
    now = case(card)
    changes = [f"duty.working_pressure={1.2 * now.job.duty.working_pressure.nominal} Pa"]
    if now.job.relief_setting is not None:
        changes.append(
            f"relief_setting.set_pressure={0.8 * now.model.relief.set_pressure.nominal} Pa"
        )
    figure = draw(relief.BOARD, card, {}, *changes)
    legible(figure, figure.axes[0].texts)


@pytest.mark.parametrize("card", CARDS)
def test_wear(card, legible):
    now = case(card)
    place = wear.BOARD.picks(now)["place"][0]
    if place.endswith(wear.SEAT):
        change = f"seat_defects.{place.removesuffix(wear.SEAT)}.ovality=0.1 mm"
    else:
        worn = now.model.wear_limits[place].reuse_limit
        change = f"measured.{place}={worn.canonical}"
    figure = draw(wear.BOARD, card, {"place": place}, change)
    legible(figure, figure.axes[0].texts)
