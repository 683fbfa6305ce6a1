"""The pages of the site in their order, each as Markdown."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from rebuildbook.lessons.inbox import MOST_FILES
from rebuildbook.lessons.registry import LESSONS
from rebuildbook.lessons.submission import MOST_BYTES
from rebuildbook.sheets.load import KINDS
from rebuildbook.sheets.schema import schemas
from rebuildbook.site.calculators import modules
from rebuildbook.site.commands import commands_of
from rebuildbook.site.demo import results_of_sheet, sheets_of, worksheets
from rebuildbook.site.fields import Field, fields_of
from rebuildbook.site.formulas import gather
from rebuildbook.site.shown_boards import shown_boards
from rebuildbook.site.text import Pages
from rebuildbook.worksheet.document import JobSheet
from rebuildbook.worksheet.model import Caution
from rebuildbook.worksheet.results_schema import results_schema

FILES, FORMULAS, CALCULATORS = "Files", "Formulas", "Calculators"
_KINDS = {
    "job": (
        "Job card",
        "One rebuild of one unit, `jobs/<number>.yaml`. `rebuildbook new job` writes one to "
        "fill in.",
    ),
    "model": (
        "Model sheet",
        "One pump model, filled in once, `models/<name>.yaml`. `rebuildbook new model` writes one "
        "to fill in.",
    ),
    "shop": (
        "Shop sheet",
        "The tools and consumables of a workshop, `shop.yaml`. `rebuildbook new shop` writes one "
        "to fill in.",
    ),
    "columns": (
        "Column map",
        "How a file of readings is laid out that a tool or a person writes; for "
        "`rebuildbook read --map`.",
    ),
    "what-if": (
        "What-if sheet",
        "A job card with some values changed, `what-if/<name>.yaml`. It goes wherever a job card "
        "goes.",
    ),
    "results": (
        "Results",
        "What the tool writes beside each worksheet as `results.json`, for other programs to read.",
    ),
}


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its title in the contents, its file, its Markdown, the group it stands in."""

    title: str
    file: str
    text: str
    group: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """What the site is made from: a checkout, and the command line as a click program."""

    checkout: Path
    program: Any

    @property
    def parameters(self) -> Path:
        """The demo's folder of sheets."""
        return self.checkout / "parameters"


def pages_of(source: Source) -> Iterator[Page]:
    """Make every page."""
    pages = Pages(source.checkout)
    sheets = list(worksheets(source.parameters))
    first = source.parameters / "jobs" / f"{sheets[0].head['job']}.yaml"
    limits = {"most_bytes": MOST_BYTES // 1_000_000, "most_files": MOST_FILES}
    yield Page("Start", "index.md", pages.filled("text/index.md"))
    yield Page("A tour", "tour.md", pages.filled("text/tour.md"))
    yield Page("What-ifs", "what-ifs.md", pages.filled("text/what-ifs.md"))
    boards = shown_boards(first)
    yield Page("Boards", "boards.md", pages.filled("text/boards.md", boards=boards))
    yield Page("Many jobs", "batch.md", pages.filled("text/batch.md"))
    lessons = list(LESSONS.values())
    yield Page("Lessons", "teaching.md", pages.filled("text/teaching.md", lessons=lessons))
    yield Page("For the teacher", "teacher.md", pages.filled("text/teacher.md", **limits))
    yield Page("Safety", "safety.md", _safety(pages, sheets))
    commands = list(commands_of(source.program, "rebuildbook"))
    text = pages.filled("templates/commands.md.j2", commands=commands)
    yield Page("Commands", "commands.md", text)
    yield from _files(pages, source, sheets[0])
    yield from _formulas(pages, sheets)
    yield from _calculators(pages)
    text = pages.filled("text/contributing.md")
    yield Page("For those who change it", "contributing.md", text)


def _safety(pages: Pages, sheets: list[JobSheet]) -> str:
    """The words on safety, with what the worksheets say for each kind of drive."""
    drives: dict[str, list[str]] = {}
    for sheet in sheets:
        if sheet.case.model.drive.kind in drives:
            continue
        section = sheet.sections["make-safe"]
        said = [block.text for block in section.blocks if isinstance(block, Caution)]
        drives[sheet.case.model.drive.kind] = said
    return pages.filled("text/safety.md", drives=drives.items(), make_safe=section)


def _index(
    pages: Pages, title: str, file: str, about: str, below: list[Page], words: list[str]
) -> Page:
    rows = [(page.title, page.file, told) for page, told in zip(below, words, strict=True)]
    text = pages.filled("templates/index.md.j2", title=title, about=about, rows=rows)
    return Page("Overview", file, text, title)


def _files(pages: Pages, source: Source, sheet: JobSheet) -> Iterator[Page]:
    """Every field of every kind of file."""
    below = []
    for kind, schema in {**schemas(), "results": results_schema()}.items():
        examples = sheets_of(kind, source.parameters)
        if kind not in KINDS:
            examples.insert(0, results_of_sheet(sheet))
        title, about = _KINDS[kind]
        groups = list(_grouped(fields_of(schema, examples)))
        text = pages.filled(
            "templates/fields.md.j2", title=title, about=about, kind=kind, groups=groups
        )
        below.append(Page(title, f"file-{kind}.md", text, FILES))
    about = (
        "What you write, and what the tool writes for other programs. Every quantity carries its "
        "unit, written as you say it: `18 ft-lb`, `5/16 in`, `63.5 mm ± 0.05 mm`, `21 to 24 N*m`."
    )
    words = [_KINDS[page.file.removeprefix("file-").removesuffix(".md")][1] for page in below]
    yield _index(pages, FILES, "files.md", about, below, words)
    yield from below


def _grouped(fields: Iterable[Field]) -> Iterator[tuple[str, list[Field]]]:
    """Fields under headings: one for each field that has others below it, none for the rest."""
    plain: list[Field] = []
    for top, own in groupby(fields, lambda field: field.top):
        found = list(own)
        if len(found) == 1:
            plain += found
            continue
        if plain:
            yield "", plain
            plain = []
        yield top, found
    if plain:
        yield "", plain


def _formulas(pages: Pages, sheets: list[JobSheet]) -> Iterator[Page]:
    """Every formula of the worksheets, a page for each section."""
    parts = gather(sheets)
    below = [
        Page(
            part.title,
            f"formulas-{part.id}.md",
            pages.filled("templates/formulas.md.j2", part=part),
            FORMULAS,
        )
        for part in parts
    ]
    about = (
        "What the sheets work out, section by section: formula, source, and an example from the "
        "demo. They are gathered from the worksheets themselves."
    )
    words = [f"{len(part.formulas)} quantities of the {part.sheet.lower()}" for part in parts]
    yield _index(pages, FORMULAS, "formulas.md", about, below, words)
    yield from below


def _calculators(pages: Pages) -> Iterator[Page]:
    """Every calculator with its formulas."""
    found = list(modules())
    below = [
        Page(
            one.name,
            f"calculator-{one.name.replace('_', '-')}.md",
            pages.filled("templates/calculator.md.j2", module=one),
            CALCULATORS,
        )
        for one in found
    ]
    about = (
        "The physics by itself, for a notebook of your own. A formula takes quantities as text, "
        "checks their units and gives a quantity; its `.si` takes and gives plain SI numbers or "
        "numpy arrays. The examples are run by the tests."
    )
    words = [one.title for one in found]
    yield _index(pages, CALCULATORS, "calculators.md", about, below, words)
    yield from below
