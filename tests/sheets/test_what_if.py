"""A what-if sheet is its card with settings, and its errors stand on its own lines."""

import pytest

from rebuildbook.batch.resume import digest, key_of
from rebuildbook.sheets import SheetError, load_case
from rebuildbook.sheets.load import SheetStore

TEXT = """kind: what-if
card: ../jobs/card.yaml
title: More on the cover
settings:
  joints.fluid-cover.torque: 40 to 44 N*m
  duty.supply_available: 90 psi
"""


@pytest.fixture
def what_if(sheets):
    folder = sheets / "what-if"
    folder.mkdir()

    def write(text: str = TEXT, name: str = "cover"):
        path = folder / f"{name}.yaml"
        path.write_text(text, encoding="utf-8")
        return path

    return write


def problems(path, *settings):
    with pytest.raises(SheetError) as caught:
        load_case(path, settings)
    return [str(problem) for problem in caught.value.problems]


def test_it_is_the_card_with_its_settings(sheets, what_if):
    path = what_if()
    case = load_case(path)
    settings = ("joints.fluid-cover.torque=40 to 44 N*m", "duty.supply_available=90 psi")
    as_set = load_case(sheets / "jobs" / "card.yaml", settings)
    assert (case.job, case.model, case.shop) == (as_set.job, as_set.model, as_set.shop)
    assert case.overrides == as_set.overrides == settings
    assert (case.what_if, as_set.what_if) == ("cover", "")
    assert case.paths[0].name == "card.yaml" and case.paths[-1] == path
    assert set(case.files) == {"job", "model", "shop", "what-if"}


def test_a_setting_of_the_command_comes_after_those_of_the_sheet(what_if):
    case = load_case(what_if(), ["duty.supply_available=95 psi"])
    assert case.job.duty.supply_available.text == "95 psi"
    assert case.overrides[-1] == "duty.supply_available=95 psi"


def test_what_lies_under_gives_way_and_makes_no_what_if(sheets, what_if):
    under = ["duty.supply_available=80 psi", "duty.rate=20 cycles/min"]
    case = load_case(what_if(), under=under)
    assert case.job.duty.supply_available.text == "90 psi"
    assert case.job.duty.rate.text == "20 cycles/min"
    assert len(case.overrides) == 2
    plain = load_case(sheets / "jobs" / "card.yaml", under=under)
    assert plain.overrides == ()


def test_a_store_gives_the_same_each_time(what_if):
    path, store = what_if(), SheetStore()
    assert load_case(path, store=store) == load_case(path, store=store) == load_case(path)


@pytest.mark.parametrize(
    ("old", "new", "line", "words"),
    [
        ("40 to 44 N*m", "40 to 44", 5, "no unit"),
        ("40 to 44 N*m", "44 to 40 N*m", 5, "backwards"),
        ("90 psi", "90 mm", 6, "not a pressure"),
        ("fluid-cover", "fluid-cver", 5, "joints.fluid-cver"),
        ("duty.supply", "dooty.supply", 6, "no sheet has a field"),
        ("../jobs/card.yaml", "../jobs/crad.yaml", 2, "cannot be read"),
        ("../jobs/card.yaml", "../shop.yaml", 2, "wanted 'job'"),
        ("../jobs/card.yaml", "cover.yaml", 2, "wanted 'job'"),
        ("title: More", "tilte: More", 3, "did you mean title"),
        ("40 to 44 N*m", "[40 N*m, 44 N*m]", 5, "wanted text; got a list"),
        ("duty.supply_available", "duty..supply", 6, "is not the path of a field"),
    ],
)
def test_an_error_stands_on_its_line(what_if, old, new, line, words):
    path = what_if(TEXT.replace(old, new))
    found = problems(path)
    assert any(one.startswith(f"{path}:{line}: ") and words in one for one in found), found


def test_an_error_of_the_command_is_the_commands(what_if):
    (found,) = problems(what_if(), "duty.rate=5 mm")
    assert found.startswith("--set duty.rate=5 mm: ")


def test_without_settings_it_is_none(what_if):
    path = what_if(TEXT.partition("settings:")[0])
    (found,) = problems(path)
    assert found.startswith(f"{path}:1: settings: is missing")


def test_its_name_is_fit_for_a_folder(what_if):
    (found,) = problems(what_if(name="Cover + lid"))
    assert "cannot name a what-if" in found


def test_the_key_of_what_was_made_hangs_on_the_sheet_and_on_its_card(sheets, what_if):
    def key():
        digest.cache_clear()
        return key_of(load_case(path).paths, path.parent / "none.ipynb", ())

    path = what_if()
    keys = [key(), key()]
    what_if(TEXT.replace("44 N*m", "43 N*m"))
    keys.append(key())
    card = sheets / "jobs" / "card.yaml"
    card.write_text(card.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    keys.append(key())
    assert keys[0] == keys[1]
    assert len(set(keys)) == 3
