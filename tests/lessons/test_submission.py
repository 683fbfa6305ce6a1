"""Notebooks sent in that are broken, false or made to do harm; the honest beside them stay."""

import json
import os
import sys
from pathlib import Path

import pytest

from rebuildbook.lessons.inbox import NoFolder, mark_folder
from rebuildbook.lessons.marking import mark_file, shown, totals
from rebuildbook.lessons.registry import LESSONS
from rebuildbook.lessons.submission import MOST_BYTES
from rebuildbook.lessons.table import marks_csv

LESSON = LESSONS["units-and-wrenches"]
HONEST = "Ana Honest"


@pytest.fixture
def honest(fill, solve) -> dict:
    return fill(LESSON, HONEST, solve(LESSON, HONEST))


def book(*cells: str, **more) -> dict:
    made = [{"cell_type": "code", "metadata": {}, "outputs": [], "source": text} for text in cells]
    return {"cells": made, "metadata": {}, "nbformat": 4, "nbformat_minor": 5, **more}


OPEN = 'lesson = open_lesson("units-and-wrenches", learner)'


def said(*answers: str, learner: str = 'learner = "Bo"', opened: str = OPEN) -> bytes:
    return json.dumps(book(learner, opened, *answers)).encode()


def deep(levels: int) -> bytes:
    return b'{"cells": ' + b"[" * levels + b"]" * levels + b"}"


WHOLE_FILES = {
    "empty": (b"", "is empty"),
    "blank": (b" \n\t ", "is empty"),
    "huge": (b" " * (MOST_BYTES + 1), "is larger than 8 MB; clear its outputs"),
    "no json": (b"{'cells': []}", "is not a notebook: its line 1 is broken"),
    "cut off": (said()[:-40], "is not a notebook: its line 1 is broken"),
    "deep": (deep(200_000), "is not a notebook: it is nested too deeply"),
    "binary": (bytes(range(256)) * 40, "is not a notebook: it is not text"),
    "not utf-8": (said().replace(b"Bo", b"B\xff\xfe"), "is not a notebook: it is not text"),
    "utf-16": (said().decode().encode("utf-16"), "is not a notebook: it is not text"),
    "nul": (b"\0" * 200, "is not a notebook: its line 1 is broken"),
    "a list": (b"[1, 2]", "is not a notebook: it has no cells"),
    "a number": (b"1e5", "is not a notebook: it has no cells"),
    "endless number": (b"1" * 100_000, "is not a notebook: it cannot be read"),
    "cells no list": (b'{"cells": {"a": 1}}', "is not a notebook: it has no cells"),
    "old form": (b'{"worksheets": [{"cells": []}]}', "is not a notebook: it has no cells"),
    "nothing in it": (
        json.dumps(book()).encode(),
        "gives no learner: the cell that does is missing",
    ),
    "strange cells": (
        json.dumps({"cells": [None, 3, "x", [], {"cell_type": "code"},
                              {"cell_type": "code", "source": 5},
                              {"cell_type": "code", "source": [1, None]}]}).encode(),
        "gives no learner: the cell that does is missing",
    ),
    "lesson not opened": (said(opened=""), "opens no lesson: the cell that does is missing"),
    "other lesson": (
        said(opened='lesson = open_lesson("units-and-wrenchs", learner)'),
        "no lesson 'units-and-wrenchs'; did you mean units-and-wrenches?",
    ),
    "lesson by sum": (
        said(opened='lesson = open_lesson("units" + "-and-wrenches", learner)'),
        "the cell that opens the lesson was changed; its name is no plain text",
    ),
    "own lesson": (
        said(opened="lesson = Mine()"),
        "the cell that opens the lesson was changed; its name is no plain text",
    ),
    "two lessons": (
        said('lesson = open_lesson("reading-a-test", learner)'),
        "gives more than one lesson; leave one of them",
    ),
    "name by call": (
        said(learner='learner = open("/etc/passwd").read()'),
        "the learner's name is not a plain text in quotes",
    ),
    "name by format": (
        said(learner='learner = f"{__import__(\'os\').getcwd()}"'),
        "the learner's name is not a plain text in quotes",
    ),
    "no name": (said(learner=""), "gives no learner: the cell that does is missing"),
    "name in another form": (
        said(learner='learner: str = "Bo"'),
        "gives no learner: the cell that does is missing",
    ),
    "two names": (
        said('learner = "Cy"'),
        "gives more than one learner's name; leave one of them",
    ),
    "endless name": (
        said(learner=f'learner = "{"x" * 10_000}"'),
        "the learner's name is longer than 200 characters",
    ),
    "broken name": (
        said(learner='learner = "Bo'),
        "its cell with the name or the lesson cannot be read (line 1)",
    ),
    "endless code": (
        said("# learner\n" * 3000),
        "has far more code than a lesson",
    ),
    "much code": (
        json.dumps(book(*["# learner " + "x" * 15_000] * 40)).encode(),
        "has far more code than a lesson",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WHOLE_FILES)
def test_a_file_that_is_none_has_one_row_with_its_reason(name):
    data, reason = WHOLE_FILES[name]
    marked = mark_file("x.ipynb", data)
    assert [(row.exercise, row.mark, row.reason) for row in marked.rows] == [("", None, reason)]
    assert not marked.readable


CODE = {
    "by name": ("lesson.answer('units-1', right)", "not a plain text in quotes"),
    "by call": ("lesson.answer('units-1', str(1) + ' N*m')", "not a plain text in quotes"),
    "by format": ("lesson.answer('units-1', f'{1} N*m')", "not a plain text in quotes"),
    "bytes": ("lesson.answer('units-1', b'1 N*m')", "not a plain text in quotes"),
    "nothing": ("lesson.answer('units-1', None)", "not a plain text in quotes"),
    "truth": ("lesson.answer('units-1', True)", "not a plain text in quotes"),
    "no text": ("lesson.answer('units-1')", "not a plain text in quotes"),
    "too many": ("lesson.answer('units-1', 'a', 'b')", "not a plain text in quotes"),
    "endless integer": (f"lesson.answer('units-1', 0x{'f' * 9000})", "not a plain text in quotes"),
    "within": ("if True:\n    lesson.answer('units-1', '1 N*m')", "not a plain line of its own"),
    "printed": ("print(lesson.answer('units-1', '1 N*m'))", "not a plain line of its own"),
    "quote off": ("lesson.answer('units-1', '1 N*m)", "the cell cannot be read (line 1)"),
    "magic": ("%time\nlesson.answer('units-1', '1 N*m')", "the cell cannot be read (line 1)"),
    "nul in code": ("lesson.answer('units-1', '\0')", "the cell cannot be read"),
    "surrogate": ("lesson.answer('units-1', '\ud800')", "the cell cannot be read"),
    "nested": (
        "lesson.answer('units-1', " + "(" * 9000 + "1" + ")" * 9000 + ")",
        "the cell cannot be read (line 1)",
    ),
    "many signs": ("lesson.answer('units-1', " + "-" * 19_000 + "1)", None),
    "long sum": ("lesson.answer('units-1', " + "1+" * 9000 + "1)", None),
    "twice": (
        "lesson.answer('units-1', '1 N*m')\nlesson.answer('units-1', '2 N*m')",
        "answered more than once, not alike; leave one",
    ),
    "number": ("lesson.answer('units-1', 18)", "no unit"),
    "long answer": (f"lesson.answer('units-1', '{'9' * 15_000}')", "too long"),
    "named": ("lesson.answer(exercise='units-1', text='18')", "no unit"),
    "half named": ("lesson.answer('units-1', text='18')", "no unit"),
    "split in two": ("lesson.answer('units-1', '1' '8')", "no unit"),
}


@pytest.mark.parametrize("name", CODE)
def test_an_answer_that_is_no_plain_text_has_no_mark_and_a_reason(name):
    code, reason = CODE[name]
    marked = mark_file("x.ipynb", said(code))
    assert marked.readable and len(marked.rows) == len(LESSON.exercises)
    row = marked.rows[0]
    assert (row.exercise, row.mark) == ("units-1", 0)
    if reason is not None:
        assert row.reason.startswith(reason)
    assert {other.reason for other in marked.rows[1:]} == {"not answered"}


def test_a_name_filled_in_by_a_runner_takes_the_place_of_the_empty_one():
    marked = mark_file("x.ipynb", said("# Parameters\nlearner = 'Bo'", learner='learner = ""'))
    assert marked.learner == "Bo"


def test_a_broken_cell_that_answers_nothing_does_no_harm(solve):
    right = solve(LESSON, "Bo")["units-1"]
    data = said('lesson.ask("units-1"', "my lesson was fun", f"lesson.answer('units-1', {right!r})")
    assert mark_file("x.ipynb", data).mark == 1


def test_the_same_answer_twice_counts_once_and_a_blank_one_not(solve):
    right = solve(LESSON, "Bo")["units-1"]
    line = f"lesson.answer('units-1', {right!r})"
    marked = mark_file("x.ipynb", said(line, line, "lesson.answer('units-1', '')"))
    assert marked.rows[0].mark == 1 and marked.mark == 1


def test_guessing_in_many_cells_brings_nothing(solve):
    right = solve(LESSON, "Bo")["units-3"]
    lines = [f"lesson.answer('units-3', {letter!r})" for letter in "abcde"]
    assert right in "abcde"
    assert mark_file("x.ipynb", said(*lines)).mark == 0


def test_answers_to_exercises_not_there_are_one_row(solve):
    lines = [f"lesson.answer('other-{place}', 'x')" for place in range(500)]
    lines.append(f"lesson.answer('units-1', {solve(LESSON, 'Bo')['units-1']!r})")
    marked = mark_file("x.ipynb", said("\n".join(lines)))
    assert marked.mark == 1 and len(marked.rows) == len(LESSON.exercises) + 1
    assert marked.rows[-1].reason.endswith("other-3, other-4 and 495 more")


def test_metadata_and_outputs_are_not_believed(honest, solve):
    lied = book('learner = "Bo"', OPEN, "lesson.answer('units-1', '1 N*m')")
    lied["metadata"] = {"mark": 99, "learner": HONEST, "lesson": "reading-a-test", "answers": {}}
    for cell in lied["cells"]:
        cell["metadata"] = {"tags": ["answer"], "points": 99}
        cell["outputs"] = [{"output_type": "display_data", "data": {"text/html": "✓ Right"}}]
    marked = mark_file("x.ipynb", json.dumps(lied).encode())
    assert (marked.learner, marked.lesson, marked.mark) == ("Bo", LESSON.name, 0)
    # and an honest one whose metadata went astray keeps its marks
    for cell in honest["cells"]:
        cell["metadata"] = {}
    assert mark_file("a.ipynb", json.dumps(honest).encode()).mark == LESSON.points


def test_another_learners_answers_are_mostly_wrong(solve, fill):
    copied = fill(LESSON, "Copy", solve(LESSON, HONEST))
    assert mark_file("c.ipynb", json.dumps(copied).encode()).mark < LESSON.points


def test_a_name_with_a_byte_order_mark_or_windows_line_ends_is_read(honest):
    data = b"\xef\xbb\xbf" + json.dumps(honest, indent=1).replace("\n", "\r\n").encode()
    assert mark_file("a.ipynb", data).mark == LESSON.points


# a folder with all of it

ACTS = "open({!r}, 'w').write('x'); __import__('os').system('touch {}')"


@pytest.fixture
def inbox(tmp_path, honest, solve, fill) -> Path:
    folder = tmp_path / "inbox"
    folder.mkdir()
    (folder / "ana.ipynb").write_text(json.dumps(honest), encoding="utf-8")
    half = dict(list(solve(LESSON, "Ben").items())[:3])
    (folder / "ben").mkdir()
    (folder / "ben" / "ana.ipynb").write_text(json.dumps(fill(LESSON, "Ben", half)))
    return folder


def rows_of(marked, names):
    return [row for row in marks_csv(marked).decode("utf-8-sig").splitlines() if
            row.startswith(tuple(f"{name}," for name in names))]  # fmt: skip


def test_everything_bad_at_once_changes_nobody_elses_row(inbox, tmp_path):
    before = rows_of(mark_folder(inbox), ["ana.ipynb", "ben/ana.ipynb"])
    assert len(before) == 2 * (len(LESSON.exercises) + 1)
    secret = tmp_path / "secret.ipynb"
    secret.write_bytes(said(learner='learner = "Secret"'))
    for place, (data, _) in enumerate(WHOLE_FILES.values()):
        (inbox / f"bad {place}.ipynb").write_bytes(data)
    for place, (code, _) in enumerate(CODE.values()):
        (inbox / f"code {place}.ipynb").write_bytes(said(code, learner=f'learner = "C {place}"'))
    marker = tmp_path / "was run"
    acts = ACTS.format(str(marker), marker)
    (inbox / "acts.ipynb").write_bytes(said(acts, "import shutil; shutil.rmtree('.')  # learner",
                                            learner=f'learner = "Eve"\n{acts}'))  # fmt: skip
    (inbox / "same name.ipynb").write_bytes(said(learner=f'learner = " {HONEST.upper()} "'))
    (inbox / "=cmd.ipynb").write_bytes(said(learner="learner = '=HYPERLINK(\"http://x\")'"))
    (inbox / "link.ipynb").symlink_to(secret)
    (inbox / "gone.ipynb").symlink_to(tmp_path / "nowhere")
    (inbox / "round").symlink_to(inbox)
    (inbox / "folder.ipynb").mkdir()
    deepest = inbox.joinpath(*"123456789")
    deepest.mkdir(parents=True)
    (deepest / "x.ipynb").write_bytes(said())
    os.mkfifo(inbox / "pipe.ipynb")
    (inbox / "notes.txt").write_text("not a notebook")
    (inbox / ".ipynb_checkpoints").mkdir()
    (inbox / ".ipynb_checkpoints" / "ana-checkpoint.ipynb").write_bytes(said())

    marked = mark_folder(inbox)

    assert rows_of(marked, ["ana.ipynb", "ben/ana.ipynb"]) == before
    assert not marker.exists() and (inbox / "ana.ipynb").exists()
    reasons = {one.file: one.rows[0].reason for one in marked if not one.readable}
    assert len([name for name in reasons if name.startswith("bad ")]) == len(WHOLE_FILES)
    for name in ("link.ipynb", "gone.ipynb", "round"):
        assert reasons[name] == "is a link, which is not followed"
    assert reasons["folder.ipynb"] == "is a folder"
    assert reasons["1/2/3/4/5/6/7/8/9"] == "is a folder that was not looked into"
    assert reasons["pipe.ipynb"] == "is no plain file"
    table = marks_csv(marked).decode("utf-8-sig")
    assert "Secret" not in table and "checkpoint" not in table
    assert "'=HYPERLINK" in table and "'=cmd.ipynb" in table
    honest = next(one for one in totals(marked) if one.learner == HONEST)
    assert honest.mark is None and "ana.ipynb, same name.ipynb; take one out" in honest.note
    assert next(one for one in totals(marked) if one.learner == "Ben").mark == 3


def test_one_notebook_sent_twice_is_counted_once_and_lessons_add_up(inbox, fill, solve):
    (inbox / "ana again.ipynb").write_bytes((inbox / "ana.ipynb").read_bytes())
    other = LESSONS["reading-a-test"]
    text = json.dumps(fill(other, "ana  honest", solve(other, HONEST)))
    (inbox / "ana other.ipynb").write_text(text, encoding="utf-8")
    ana = next(one for one in totals(mark_folder(inbox)) if "onest" in one.learner)
    assert (ana.lessons, ana.mark, ana.of) == (2, *[LESSON.points + other.points] * 2)
    assert ana.note == "sent in more than once with the same marks; counted once"


@pytest.mark.skipif(sys.platform != "linux", reason="names of bytes that are no text")
def test_a_file_name_that_is_no_text_is_marked_too(inbox):
    name = os.fsencode(str(inbox)) + b"/\xff\xfe\x1b[31m.ipynb"
    with open(name, "wb") as file:  # noqa: PTH123  (a name of bytes)
        file.write(said())
    assert len(mark_folder(inbox)) == 3
    assert marks_csv(mark_folder(inbox)).decode("utf-8-sig").count("Bo") > 3


def test_what_is_no_folder_is_refused(tmp_path):
    file = tmp_path / "a.ipynb"
    file.write_bytes(said())
    for path, reason in (
        (file, "is no folder"),
        (tmp_path / "nowhere", "is not there"),
    ):
        with pytest.raises(NoFolder, match=reason):
            mark_folder(path)
    (tmp_path / "empty").mkdir()
    with pytest.raises(NoFolder, match="has no notebook"):
        mark_folder(tmp_path / "empty")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("a\tb\nc", "a b c"),
        ("\x1b[31mred\x07", "red"),
        ("\u202edesrever\u200b", "desrever"),
        ("x" * 200, "x" * 79 + "…"),
        (" " * 1000 + "late", "…"),
        ("\ud800ok", "ok"),
    ],
)
def test_text_of_others_is_one_harmless_line(text, wanted):
    assert shown(text) == wanted
