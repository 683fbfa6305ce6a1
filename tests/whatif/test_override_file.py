"""A what-if sheet is written whole, reads back as it was set, and never over another unasked."""

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from rebuildbook.sheets import load_case, load_sheet
from rebuildbook.whatif.override_file import (
    AlreadyThere,
    NotWritten,
    quoted,
    sheet_text,
    usual_place,
    write_override,
)

SETTINGS = ("joints.fluid-cover.torque=40 to 44 N*m", "measured.inlet-balls=1 3/4 in")
NOW = datetime(2026, 3, 31, 14, 30)


def test_it_reads_back_as_it_was_set(card, sheets):
    place = usual_place(card, "TW-2601", "joint")
    assert place == sheets / "what-if" / "TW-2601" / "joint.yaml"
    write_override(place, card, SETTINGS, title="It's #1: {more}", board="joint", now=NOW)
    sheet = load_sheet(place)
    assert (sheet.title, sheet.board, sheet.written) == ("It's #1: {more}", "joint", NOW)
    assert sheet.card == "../../jobs/TW-2601.yaml"
    case = load_case(place)
    assert case.overrides == SETTINGS
    assert case.what_if == "joint"
    assert place.read_text(encoding="utf-8").startswith(
        "# yaml-language-server: $schema=../../schema/what-if.json\n"
    )
    assert usual_place(card, "TW-2601", "joint").name == "joint-2.yaml"
    assert [path.name for path in place.parent.iterdir()] == ["joint.yaml"]


def test_another_file_is_not_written_over_unless_asked(card, tmp_path):
    place = tmp_path / "mine.yaml"
    place.write_text("kept", encoding="utf-8")
    with pytest.raises(AlreadyThere, match="is there already"):
        write_override(place, card, SETTINGS)
    assert place.read_text(encoding="utf-8") == "kept"
    write_override(place, card, SETTINGS, over=True)
    assert load_case(place).overrides == SETTINGS


@pytest.mark.parametrize(
    ("name", "settings", "words"),
    [
        ("a.yaml", (), "nothing differs"),
        ("a.txt", SETTINGS, "ends in .yaml"),
        ("A b.yaml", SETTINGS, "lower-case"),
        ("a.yaml", ("duty.rate=5 mm",), "not a rate"),
        ("jobs.yaml/a.yaml", SETTINGS, "cannot be written"),
    ],
)
def test_what_cannot_be_written_is_told_and_leaves_nothing(card, tmp_path, name, settings, words):
    (tmp_path / "jobs.yaml").write_text("a file", encoding="utf-8")
    with pytest.raises(NotWritten, match=words):
        write_override(tmp_path / name, card, settings)
    assert {path.name for path in tmp_path.iterdir()} == {"jobs.yaml", "parameters"}


TEXTS = st.text(st.characters(codec="utf-8", exclude_categories=["C", "Zl", "Zp"]), max_size=40)


@given(text=TEXTS.map(lambda text: " ".join(text.split())))
def test_any_text_is_read_back_from_its_quotes(text):
    assert YAML(typ="safe").load(f"a: {quoted(text)}") == {"a": text}


@given(
    settings=st.dictionaries(
        st.from_regex(r"[a-z]{1,8}(\.[a-z0-9 -]{1,8}){0,3}", fullmatch=True), TEXTS, min_size=1
    ),
    title=TEXTS,
)
def test_any_settings_are_read_back(tmp_path_factory, settings, title):
    folder = tmp_path_factory.getbasetemp()
    text = sheet_text(folder / "a.yaml", folder / "b.yaml", settings, title, "joint", NOW)
    assert YAML(typ="safe").load(text)["settings"] == settings
