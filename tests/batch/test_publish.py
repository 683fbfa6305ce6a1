"""A job's folder is put in place whole, or what stood there stays."""

import os

import pytest

from rebuildbook.batch.publish import prepare_output, staging, sweep


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
    keep = [".A-1-abcd_f12", ".AB-abcd_f12", "A", ".A-short", ".A-longer_than_8"]
    for name in (*keep, ".A-abcd_f12", ".A-xyz00000"):
        (tmp_path / name).mkdir()
    sweep(tmp_path, "A")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(keep)
    sweep(tmp_path / "none", "A")


def test_sweep_knows_the_names_that_staging_gives(tmp_path):
    with staging(tmp_path, "A.b-1") as made:
        (made / "x").write_text("x")
        sweep(tmp_path, "A.b-1")
        assert not made.exists()
        made.mkdir()


def test_an_out_folder_is_made_with_its_parents(tmp_path):
    assert prepare_output(tmp_path / "a" / "b") == ""
    assert list((tmp_path / "a" / "b").iterdir()) == []


@pytest.mark.parametrize("path", ["file", "file/inside"])
def test_an_out_folder_that_cannot_be_is_told(tmp_path, path):
    (tmp_path / "file").write_text("x")
    message = prepare_output(tmp_path / path)
    assert message.startswith(f"{tmp_path / path}: the output folder cannot be written: ")
