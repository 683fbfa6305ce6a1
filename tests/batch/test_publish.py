"""A job's folder is put in place whole, or what stood there stays."""

import os
from pathlib import Path

import pytest

from rebuildbook.batch import publish
from rebuildbook.batch.publish import MAKING, prepare_output, staging, sweep, write_whole


def test_a_finished_folder_takes_the_place_of_the_old_one_whole(tmp_path):
    (tmp_path / "J").mkdir()
    (tmp_path / "J" / "old").write_text("old")
    with staging(tmp_path, "J") as made:
        (made / "new").write_text("new")
        assert (tmp_path / "J" / "old").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["J"]
    assert [path.name for path in (tmp_path / "J").iterdir()] == ["new"]


@pytest.mark.parametrize("failure", [ValueError, KeyboardInterrupt, SystemExit])
def test_after_a_failure_the_old_folder_stands_and_nothing_else(tmp_path, failure):
    (tmp_path / "J").mkdir()
    (tmp_path / "J" / "old").write_text("old")
    with pytest.raises(failure), staging(tmp_path, "J") as made:
        (made / "new").write_text("half")
        raise failure
    assert [path.name for path in tmp_path.iterdir()] == ["J"]
    assert [path.name for path in (tmp_path / "J").iterdir()] == ["old"]


@pytest.mark.skipif(os.name == "nt", reason="POSIX permissions")
def test_the_folder_may_be_read_as_any_other(tmp_path):
    (tmp_path / "plain").mkdir()
    with staging(tmp_path, "J"):
        pass
    assert (tmp_path / "J").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_sweep_takes_the_staging_folders_of_that_job_alone(tmp_path):
    mine = [".making.A-abcd_f12", ".making.A-xyz00000-old-abcd_f12"]
    others = [".making.A-1-abcd_f12", ".making.AB-abcd_f12"]
    keep = ["A", ".A-abcd_f12", ".making.A-short", ".making.A-longer_than_8"]
    for name in (*keep, *others, *mine):
        (tmp_path / name).mkdir()
    sweep(tmp_path, "A")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(keep + others)
    sweep(tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(keep)
    sweep(tmp_path / "none", "A")


def test_sweep_knows_the_names_that_staging_gives(tmp_path):
    with staging(tmp_path, "A.b-1", MAKING) as made:
        (made / "x").write_text("x")
        sweep(tmp_path, "A.b-1")
        assert not made.exists()
        made.mkdir()


def test_a_folder_that_was_about_to_be_replaced_when_its_run_was_killed_comes_back(
    tmp_path, monkeypatch
):
    class Killed(BaseException):
        pass

    def killed(*_):
        raise Killed

    (tmp_path / "J").mkdir()
    (tmp_path / "J" / "old").write_text("old")
    rename = Path.rename

    def then_killed(path, target):
        if path.name != "J":
            monkeypatch.setattr(Path, "rename", rename)
            raise Killed
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", then_killed)
    with monkeypatch.context() as at_death:  # one that is killed tidies nothing up
        at_death.setattr(publish, "_put_back", killed)
        at_death.setattr(publish.shutil, "rmtree", lambda *_, **__: None)
        with pytest.raises(Killed), staging(tmp_path, "J", MAKING) as made:
            (made / "new").write_text("new")
    assert not (tmp_path / "J").exists()
    sweep(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["J"]
    assert [path.name for path in (tmp_path / "J").iterdir()] == ["old"]


def test_an_interrupt_between_two_steps_leaves_the_old_folder(tmp_path, monkeypatch):
    (tmp_path / "J").mkdir()
    rename = Path.rename

    def interrupted(path, target):
        if path.name.startswith(MAKING) and target.name == "J":
            raise KeyboardInterrupt
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", interrupted)
    with pytest.raises(KeyboardInterrupt), staging(tmp_path, "J", MAKING):
        pass
    assert [path.name for path in tmp_path.iterdir()] == ["J"]


def test_a_file_written_whole_takes_the_old_one_s_place(tmp_path):
    (tmp_path / "J.failed.ipynb").write_text("old")
    write_whole(tmp_path / "J.failed.ipynb", "new")
    assert [path.name for path in tmp_path.iterdir()] == ["J.failed.ipynb"]
    assert (tmp_path / "J.failed.ipynb").read_text() == "new"


def test_an_out_folder_is_made_with_its_parents(tmp_path):
    assert prepare_output(tmp_path / "a" / "b") == ""
    assert list((tmp_path / "a" / "b").iterdir()) == []


@pytest.mark.parametrize("path", ["file", "file/inside"])
def test_an_out_folder_that_cannot_be_is_told(tmp_path, path):
    (tmp_path / "file").write_text("x")
    message = prepare_output(tmp_path / path)
    assert message.startswith(f"{tmp_path / path}: the output folder cannot be written: ")
