"""The PDF shows every text as itself, in both paper sizes, and the same each time."""

import importlib.util
import io
import re
from pathlib import Path

import nbformat
import pypdf
import pytest

from rebuildbook.worksheet.paper import page_pdf

_SPEC = importlib.util.spec_from_file_location("hostile", Path(__file__).parent / "hostile.py")
hostile = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(hostile)


def pages(made: bytes):
    return pypdf.PdfReader(io.BytesIO(made)).pages


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b]+", "", text)


def read(made: bytes) -> str:
    return squeezed("".join(page.extract_text() for page in pages(made)))


@pytest.mark.parametrize("text", hostile.TEXTS)
def test_every_text_stands_on_paper_as_itself(text):
    seen = read(page_pdf(hostile.notebook([text])))
    assert seen.count(squeezed(text)) >= 25


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("letter", (612, 792))])
def test_the_paper_asked_for_is_the_paper_set(paper, size):
    for page in pages(page_pdf(hostile.notebook(["plain"], paper))):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            size, abs=0.1
        )


def test_the_same_notebook_gives_the_same_bytes():
    assert page_pdf(hostile.notebook(["plain"])) == page_pdf(hostile.notebook(["plain"]))


def test_a_demo_job_is_short_and_small(demo):
    made = page_pdf(demo)
    assert len(made) < 1_000_000
    assert len(pages(made)) <= 28
    head = next(iter(demo.cells)).outputs[0].data["application/vnd.rebuildbook.section+json"]
    assert squeezed(head["head"]["job"]) in read(made)


def test_other_outputs_and_markdown_are_set():
    output = nbformat.v4.new_output
    book = hostile.notebook(
        ["plain"],
        outputs=[
            output("stream", name="stdout", text="\x1b[31mred #x\x1b[0m\n"),
            output("error", ename="ValueError", evalue="$y$", traceback=[]),
            output("display_data", data={"image/png": hostile.png()}),
            output("display_data", data={"image/svg+xml": hostile._SVG}),
            output("execute_result", data={"text/plain": "<object at 1>"}),
        ],
    )
    source = (
        "## Notes\n\nfirst\nsecond [list](https://example.org/l)\n\n- one *two*\n\n```\n#let a\n```"
    )
    book.cells.append(nbformat.v4.new_markdown_cell(source))
    seen = read(page_pdf(book))
    for words in ("red#x", "ValueError:$y$", "<objectat1>", "Notes", "–onetwo", "#leta",
                  "firstsecondlist(https://example.org/l)"):  # fmt: skip
        assert words in seen


def test_a_notebook_that_shows_nothing_still_makes_a_page():
    assert len(pages(page_pdf(nbformat.v4.new_notebook()))) == 1
